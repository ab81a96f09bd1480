"""Another hatch cut into the skull, where a servo cannot come out or only after many others."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import combinations
from typing import Final

from marotte.basis.contracts.common import Unknown
from marotte.basis.contracts.finding import Grade
from marotte.basis.contracts.fit import Access, Fit, WayOut
from marotte.basis.frames import Vec
from marotte.basis.given import Ref
from marotte.creature.hatches import WAYS
from marotte.creature.naming import several
from marotte.creature.schema.means import Servo
from marotte.mech.fit.access import access
from marotte.verdict.graph_fit import hatches
from marotte.verdict.remedies.proposal import Case, Proposal, once
from marotte.verdict.remedies.words import both
from marotte.verdict.requirements.access import ACCESS, OTHERS_OUT

SEAMS: Final[dict[str, tuple[float, str]]] = {
    "nape": (3.0, "a plate on magnets, and a seam to hide in the fur at the nape"),
    "cap": (3.0, "a cap on magnets, and a seam to hide in the hair all round the crown"),
    "throat": (3.5, "the head must come off its neck or stand, and a seam to hide in the fur under the chin"),
    "left": (4.0, "a seam to hide in the fur behind the cheek, where the camera sees it in profile"),
    "right": (4.0, "a seam to hide in the fur behind the cheek, where the camera sees it in profile"),
    "face": (5.0, "the face comes off whole: a seam all round it, and every tab of the skin to undo and set again"),
}
"""Where a skull may be cut, with what that costs and what goes with it (common practice, no source)."""
FURTHER: Final = 1.0
"""What each further hatch adds (a rule of this project)."""
SAME_WAY: Final = 0.99
"""Cosine between the ways of two hatches that are one (8 deg)."""


def another_hatch(case: Case) -> tuple[Proposal, ...]:
    """The hatch, not yet there, or else the two, through which every servo comes out after two others at most; the best two such.

    Where a box names a hatch that the skull does not have, that one is cut.
    """
    found, skull = case.results.fitted, case.creature.build.skull
    if case.finding.id != "fit.access" or skull is None or not skull.ref("hatch").startswith("/"):
        return ()
    if isinstance(found.fit, Unknown) or isinstance(found.access, Unknown):
        return ()
    missing = tuple(dict.fromkeys(hatch for _, hatch in found.access.missing_hatches))
    if missing:
        out = _freed(case, found.fit, [missing], least=OTHERS_OUT, asked=True)
    else:
        new = [name for name in SEAMS if _new(name, found.access)]
        least = min(OTHERS_OUT, _worst(found.access.ways) - 1)
        out = _freed(case, found.fit, [(name,) for name in new], least=least)
        out = out or _freed(case, found.fit, list(combinations(new, 2)), least=least)
    out.sort(key=lambda pair: (pair[1].cost, pair[0]))
    best = min(out, key=lambda pair: (pair[0], pair[1].cost), default=None)
    return once([one for _, one in [*out[:1], *([best] if best is not None else [])]])


def _freed(
    case: Case, placed: Fit, rows: Sequence[tuple[str, ...]], *, least: int, asked: bool = False
) -> list[tuple[int, Proposal]]:
    """Return the hatches with which no servo wants more than so many others out first, each with how many that then are."""
    names, wanted, points, centre = hatches(case.creature)
    out: list[tuple[int, Proposal]] = []
    for row in rows:
        allowed: Mapping[str, Sequence[str]] = wanted
        after = access(placed, (*names, *row), allowed, points, centre)
        shut = [way.servo for way in after.ways if way.servo in wanted and _graded(_worst([way])) != "performs"]
        if shut:
            allowed = {**wanted, **{servo: (*wanted[servo], *row) for servo in shut}}
            after = access(placed, (*names, *row), allowed, points, centre)
        if _worst(after.ways) <= least:
            out.append((_worst(after.ways), _proposal(case, after, row, shut, asked=asked)))
    return out


def _new(name: str, found: Access) -> bool:
    """Return whether no hatch opens that way yet."""
    return not any(_cosine(WAYS[name], way) > SAME_WAY for way in found.hatches.values())


def _cosine(one: Vec, other: Vec) -> float:
    return sum(a * b for a, b in zip(one, other, strict=True))


def _worst(ways: Sequence[WayOut]) -> int:
    """Return how many others come out before the worst servo; more than all of them where it cannot come out."""
    return max((len(ways) + OTHERS_OUT + 1 if way.hatch is None else len(way.first) for way in ways), default=0)


def _proposal(case: Case, after: Access, row: tuple[str, ...], shut: Sequence[str], *, asked: bool) -> Proposal:
    """Return the hatches cut, and written at the boxes of those that may come out only through others."""
    skull = case.creature.build.skull
    assert skull is not None
    boxes: dict[Ref, list[str]] = {}
    for servo in shut:
        means = case.creature.means[servo]
        assert isinstance(means, Servo)
        assert means.box is not None  # it names hatches
        boxes.setdefault(means.box.ref("access"), [*means.box.access, *row])
    names = (skull.hatch,) if isinstance(skull.hatch, str) else skull.hatch or ()
    edits = [case.edit(skull.ref("hatch"), [*names, *row]), *(case.edit(ref, to) for ref, to in boxes.items())]
    if asked:
        what = f"cut the {'hatch' if len(row) == 1 else 'hatches'} {both(row)}, as boxes of the file have it"
    else:
        what = f"cut {'another hatch' if len(row) == 1 else 'two more hatches'}, at the {' and at the '.join(row)}"
    through = f", and let what drives {several(shut)} come out there" if shut else ""
    seams = [_seam(after.hatches[name]) for name in row]
    return Proposal(
        edits=tuple(edits), says=what + through, then="; ".join(dict.fromkeys(says for _, says in seams)),
        cost=max(cost for cost, _ in seams) + FURTHER * (len(row) - 1), hopes=_graded(_worst(after.ways)),
    )  # fmt: skip


def _graded(others: int) -> Grade:
    margin = ACCESS.rule.margin(float(others), float(OTHERS_OUT))
    assert margin is not None
    return ACCESS.thresholds.grade(margin)


def _seam(way: Vec) -> tuple[float, str]:
    """Return what the place of a hatch costs, by the way that it opens."""
    return SEAMS[max(SEAMS, key=lambda name: _cosine(WAYS[name], way))]
