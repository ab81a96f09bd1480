"""The standing line: where the creature stands, in one sentence, one place for each mechanism that is at fault, worst first."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Final

from marotte.basis.contracts.common import Unknown
from marotte.basis.contracts.finding import Grade
from marotte.basis.given import Source
from marotte.verdict.judge import Judged

MOST: Final = 3
"""Places at most."""
JOINED: Final = 2
"""Clauses in a place: what falls short of one mechanism falls short together, and its worst two say enough."""
STARTS: Final[dict[Grade, str]] = {
    "fails": "Does not perform yet", "undecided": "Not decided yet", "only_just": "Performs, only just",
    "performs": "Performs", "unknown": "Cannot say", "not_applicable": "Nothing to say",
}  # fmt: skip


def standing_line(
    grade: Grade, findings: Sequence[Judged], counts: Mapping[Grade, int], inputs: Mapping[Source, int],
    moved_by: Mapping[str, str],
) -> str:  # fmt: skip
    """Return the line that always says where the creature stands.

    ``moved_by`` is the mechanism of each function.
    """
    clauses = _clauses(grade, findings, moved_by)
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


def _clauses(grade: Grade, findings: Sequence[Judged], moved_by: Mapping[str, str]) -> list[str]:
    """Return a place for each mechanism with findings of the overall grade, a pair's two sides in one; worst first."""
    if grade not in ("fails", "undecided", "only_just"):
        return []
    chosen = [item for item in findings if item.finding.grade == grade]
    if grade == "only_just":
        worst = sorted(
            chosen, key=lambda item: (item.finding.margin if item.finding.margin is not None else 0.0, item.finding.id)
        )
    else:
        worst = sorted(chosen, key=lambda item: (-item.order, item.finding.id))
    alike = {item.finding.id for item in chosen}
    places: dict[str, dict[str, str]] = {}
    done: set[str] = set()
    for item in worst:
        name = item.finding.id
        if name in done:
            continue
        other = _other_side(name)
        clause = item.clause
        if other in alike:
            done.add(other)
            clause = clause.replace("the left ", "each ", 1).replace("the right ", "each ", 1)
        places.setdefault(_place(item, moved_by), {})[name] = clause
    order = [item.finding.id for item in findings]  # of the registry: causes before what follows from them
    return [
        ", and ".join(few[name] for name in sorted(few, key=order.index))
        for place in places.values()
        for few in [dict(list(place.items())[:JOINED])]
    ]


def _place(item: Judged, moved_by: Mapping[str, str]) -> str:
    """Return the mechanism that a finding is about, its side left out; a finding about no mechanism stands for itself."""
    about = item.finding.about
    mech = moved_by.get(about, about if about in moved_by.values() else "")
    return mech.removesuffix("_left").removesuffix("_right") or item.finding.id


def _other_side(name: str) -> str:
    about, _, requirement = name.rpartition(".")
    for mine, other in (("_left", "_right"), ("_right", "_left")):
        if about.endswith(mine):
            return f"{about.removesuffix(mine)}{other}.{requirement}"
    return ""
