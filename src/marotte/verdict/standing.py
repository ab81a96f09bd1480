"""The standing line: where the creature stands, in one sentence, worst first."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Final

from marotte.basis.contracts.common import Unknown
from marotte.basis.contracts.finding import Grade
from marotte.basis.given import Source
from marotte.verdict.judge import Judged

MOST: Final = 3
"""Clauses at most."""
STARTS: Final[dict[Grade, str]] = {
    "fails": "Does not perform yet", "undecided": "Not decided yet", "only_just": "Performs, only just",
    "performs": "Performs", "unknown": "Cannot say", "not_applicable": "Nothing to say",
}  # fmt: skip


def standing_line(
    grade: Grade, findings: Sequence[Judged], counts: Mapping[Grade, int], inputs: Mapping[Source, int]
) -> str:
    """Return the line that always says where the creature stands."""
    clauses = _clauses(grade, findings)
    text = STARTS[grade]
    if clauses:
        text += ": " + "; ".join(clauses[:MOST])
        if len(clauses) > MOST:
            text += f"; and {len(clauses) - MOST} more"
    if counts["unknown"]:
        text += f"; {counts['unknown']} could not be computed{_shared_reason(findings)}"
    doubtful, every = inputs["typical"] + inputs["guess"], sum(inputs.values())
    if every:
        text += f"; {doubtful} of {every} inputs are typical or guessed"
    return text + "."


def _shared_reason(findings: Sequence[Judged]) -> str:
    """Return why, where one reason stands behind most of what could not be computed: a cue that nobody has, say."""
    whys = Counter(item.finding.has.why for item in findings if isinstance(item.finding.has, Unknown))
    why, times = whys.most_common(1)[0] if whys else ("", 0)
    if times < MOST or 2 * times < sum(whys.values()):
        return ""
    return f", {'' if times == sum(whys.values()) else 'most of them '}because {why}"


def _clauses(grade: Grade, findings: Sequence[Judged]) -> list[str]:
    """Return a clause for each finding of the overall grade, a pair's two sides in one."""
    if grade not in ("fails", "undecided", "only_just"):
        return []
    chosen = [item for item in findings if item.finding.grade == grade]
    if grade == "only_just":
        chosen.sort(key=lambda item: (item.finding.margin if item.finding.margin is not None else 0.0, item.finding.id))
    else:
        chosen.sort(key=lambda item: (-item.order, item.finding.id))
    alike = {item.finding.id for item in chosen}
    clauses: list[str] = []
    done: set[str] = set()
    for item in chosen:
        name = item.finding.id
        if name in done:
            continue
        done.add(name)
        clause, other = item.clause, _other_side(name)
        if other in alike:
            done.add(other)
            clause = clause.replace("the left ", "each ", 1).replace("the right ", "each ", 1)
        clauses.append(clause)
    return clauses


def _other_side(name: str) -> str:
    about, _, requirement = name.rpartition(".")
    for mine, other in (("_left", "_right"), ("_right", "_left")):
        if about.endswith(mine):
            return f"{about.removesuffix(mine)}{other}.{requirement}"
    return ""
