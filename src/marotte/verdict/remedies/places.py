"""Servos moved or turned in the skull, where something overlaps, sticks out or does not come out again."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from marotte.basis.contracts.common import F64, Unknown
from marotte.basis.contracts.finding import Edit
from marotte.basis.contracts.fit import Access, Fit, Placed
from marotte.basis.units import number_text
from marotte.creature.naming import several
from marotte.creature.schema.means import MOVE_BOX, Box
from marotte.mech.fit.access import access
from marotte.mech.fit.bodies import servo_solids
from marotte.mech.fit.fit import CLEAR, FitParts, fit
from marotte.mech.fit.moves import free_place, in_one_box, nearest_place, too_near, with_boxes, written_as
from marotte.mech.fit.seat import Pose, Seat, pose_of
from marotte.mech.fit.skull import Shell
from marotte.verdict.graph_fit import fit_parts, hatches, skull_shell
from marotte.verdict.remedies.proposal import Case, Proposal
from marotte.verdict.requirements.access import OTHERS_OUT

MOST: Final = 4
"""Boxes that one remedy moves."""
FIRST: Final = 2
"""Servos with which one may begin."""
ALONE: Final = (("to its left", "to its right"), ("up", "down"), ("forward", "back"))
"""Words along x, y and z; of a pair, of the left one."""
PAIR: Final = (("outward", "inward"), *ALONE[1:])
COARSE: Final = 4
"""Steps at once where a servo must get out of the way, which a millimetre never does."""
TRIES: Final = 150
"""Free places of one servo from which it is tried whether all come out."""


def moved_boxes(case: Case) -> tuple[Proposal, ...]:
    """Return proposals that move or turn the fewest cases; none for another finding."""
    found = case.results.fitted
    shell, _ = skull_shell(case.creature, case.results.cache)
    if (
        case.finding.id not in ("fit.skull", "fit.access")
        or isinstance(found.fit, Unknown)
        or isinstance(shell, Unknown)
    ):
        return ()
    parts = fit_parts(case.creature, case.results.mechs, shell)
    boxes = {name: ref for ref, names in in_one_box(parts).items() if ref.startswith("/") for name in names}
    out: dict[tuple[str, ...], Proposal] = {}
    if case.finding.id == "fit.skull":
        starts: Sequence[str] = [name for name in too_near(found.fit) if name in boxes]
        for start in starts[:FIRST]:
            moves = _apart(parts, shell, start)
            if moves:
                out.setdefault(tuple(moves), _proposal(case, parts, moves))
    elif isinstance(found.access, Access):
        for start in [name for name in _shut_in(found.access, found.fit) if name in boxes][:FIRST]:
            moves = _out(case, parts, found.fit, shell, start)
            if moves:
                out.setdefault(tuple(moves), _proposal(case, parts, moves))
    return tuple(out.values())


def _shut_in(found: Access, placed: Fit) -> list[str]:
    """Return the servo that is hardest to take out and the servos in its way."""
    worst = max(found.ways, key=lambda way: (way.hatch is None, len(way.first), way.servo), default=None)
    if worst is None:
        return []
    owner = {item.name: item.of for item in placed.placed if item.kind == "servo"}
    return list(
        dict.fromkeys([worst.servo, *(owner[name] for name in worst.blocked_by if name in owner), *worst.first])
    )


def _moved(parts: FitParts, names: Sequence[str], pose: Pose) -> FitParts:
    seat = next(seat for seat in parts.seats if seat.name == names[0])
    box = written_as(seat, pose)
    return with_boxes(parts, dict.fromkeys(names, box))


def _apart(parts: FitParts, shell: Shell, start: str) -> dict[str, Box]:
    """Return boxes (by ref) with which nothing overlaps: the start moved first, then whatever overlaps most; none where that fails."""
    moves: dict[str, Box] = {}
    name = start
    while len(moves) < MOST:
        groups = in_one_box(parts)
        ref = next((ref for ref, names in groups.items() if name in names), "")
        if not ref.startswith("/") or ref in moves:
            return {}
        pose = nearest_place(parts, shell, groups[ref], MOVE_BOX.high, MOVE_BOX.step, lambda pose: True)
        if pose is None:  # not near where it is: where a servo without a box would go
            pose = free_place(parts, shell, groups[ref])
        if pose is None:
            return {}
        parts = _moved(parts, groups[ref], pose)
        moves[ref] = _box(parts, groups[ref][0])
        found = fit(parts, shell)
        if isinstance(found, Unknown) or found.least is None:
            return {}
        if found.least.gap >= CLEAR:
            return moves
        count = too_near(found)
        name = max(count, key=lambda one: count[one], default="")
    return {}


def _solids(seat: Seat) -> Iterator[Placed]:
    if seat.box is not None:
        yield from (one for one, _ in servo_solids(seat, pose_of(seat.box, seat.side), "written"))


def _out(case: Case, parts: FitParts, placed: Fit, shell: Shell, start: str) -> dict[str, Box]:
    """Return the box (by ref) of one servo moved so that every servo comes out after few others; none where no place does."""
    groups = in_one_box(parts)
    ref, names = next((ref, names) for ref, names in groups.items() if start in names)
    tries = 0

    def comes_out(pose: Pose) -> bool:
        nonlocal tries
        tries += 1
        if tries > TRIES:
            return False
        made = [one for seat in _moved(parts, names, pose).seats if seat.name in names for one in _solids(seat)]
        rest = [one for one in placed.placed if one.of not in names or one.kind not in ("servo", "horn", "rod")]
        ways = access(replace(placed, placed=(*rest, *made)), *hatches(case.creature)).ways
        return all(way.hatch is not None and len(way.first) <= OTHERS_OUT for way in ways)

    pose = nearest_place(parts, shell, names, MOVE_BOX.high, COARSE * MOVE_BOX.step, comes_out)
    return {} if pose is None else {ref: _box(_moved(parts, names, pose), names[0])}


def _box(parts: FitParts, name: str) -> Box:
    box = next(seat.box for seat in parts.seats if seat.name == name)
    assert box is not None  # it has just been moved
    return box


def _proposal(case: Case, parts: FitParts, moves: dict[str, Box]) -> Proposal:
    edits: list[Edit] = []
    says: list[str] = []
    groups = in_one_box(parts)
    for ref, box in moves.items():
        seat = next(seat for seat in parts.seats if seat.name == groups[ref][0])
        assert seat.box is not None  # it is one of those with a box
        edits.append(case.edit(f"{ref}/at", [f"{number_text(1e3 * x, 5)} mm" for x in box.at]))
        before, after = pose_of(seat.box, None), pose_of(box, None)
        turned = bool(np.abs(before.frame - after.frame).max() > 1e-6)
        if turned:
            edits += [case.edit(f"{ref}/{name}", _row(after.frame, k)) for name, k in (("axis", 2), ("along", 0))]
        servos = f"{'servos' if len(groups[ref]) > 1 else 'servo'} of {several(groups[ref])}"
        way = _way(after.at - before.at, pair=len(groups[ref]) > 1)
        says.append(
            f"the {servos} {way}{' and turn it' if turned and len(groups[ref]) == 1 else ' and turn them' if turned else ''}"
        )
    then = "drill new holes, and see that rod and loom still reach"
    return Proposal(
        edits=tuple(edits), says=f"move {', and '.join(says)}", then=then, cost=MOVE_BOX.cost + 0.5 * (len(moves) - 1)
    )


def _row(frame: F64, k: int) -> list[float | int]:
    """Return a direction as it is written: whole numbers as such."""
    return [int(x) if float(x).is_integer() else float(x) for x in np.round(frame[k], 6) + 0.0]


def _way(by: F64, pair: bool) -> str:
    """Return a move in words: 4 mm up and 2 mm back."""
    words = [
        f"{number_text(1e3 * abs(float(x)), 3)} mm {more if x > 0.0 else less}"
        for x, (more, less) in zip(by, PAIR if pair else ALONE, strict=True)
        if abs(float(x)) > 1e-6
    ]
    return " and ".join(words) or "where it is"
