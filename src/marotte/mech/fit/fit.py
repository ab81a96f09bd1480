"""What sits in the skull and what is in the way of what. docs/methods/fit.md."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np

from marotte.basis.contracts.common import F64, I64, Told, Unknown
from marotte.basis.contracts.fit import Clash, Fit, How, OffLinkage, Placed
from marotte.basis.contracts.mech import Mechs
from marotte.basis.frames import Vec
from marotte.basis.given import Ref
from marotte.creature.anatomy import PARTS
from marotte.creature.creature import Creature, Mechanism
from marotte.creature.naming import of_all, several
from marotte.creature.schema.functions import Function
from marotte.creature.schema.means import Hand, Means
from marotte.mech.fit.bodies import Eyes, eye_solids, hand_solid, mouth_solid, servo_solids, wearer_solid, worn_room
from marotte.mech.fit.placement import OFF, Proposal, propose
from marotte.mech.fit.places import eye_spacing
from marotte.mech.fit.seat import Pose, Seat, pose_of, seats
from marotte.mech.fit.skull import Shell
from marotte.mech.fit.solids import Solid, gaps_of, pack
from marotte.mech.fit.wants import off_of

CLEAR: Final = 1e-3
"""Gap that two bodies should have [m] (common practice, no source)."""
TURNED: Final = math.radians(10.0)
"""Angle between the shaft's axis and the nearest that the linkage can use from which it is told: ball joints bear it, the stroke loses 1.5 %."""
HAND_HEIGHT: Final = 0.05
"""Fingers over thumb with foam above and below [m] (common practice, no source)."""
HAND_DEPTH: Final = 0.12
"""Of a hand from its fingertips to where the wrist leaves the head [m] (common practice, no source)."""
EYES: Final = ("eyes",)
KINDS: Final = ("servo", "horn", "rod", "eye", "mouth", "hand", "wearer")
"""What moves comes first, and the rod last of it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FitParts:
    """All that fit reads: geometry alone, so that no edit of a load, a servo's torque or a pose fits anew."""

    seats: tuple[Seat, ...]
    on_jaw: tuple[str, ...]
    """Servos that ride on the jaw and are not fitted."""
    eyes: Eyes | None
    mouth: bool
    """Whether something in the mouth moves."""
    hand: tuple[str, float] | None
    """The means of a hand that works inside the head, and its breadth with foam [m]."""
    wearer: tuple[str, Vec, Vec] | None
    """Whose head is in it, where its middle is, and its breadth, height and length with padding [m]."""
    rests_on: frozenset[Ref]

    @classmethod
    def of(
        cls, creature: Creature, mechs: Mechs, hand_breadth: float | None, wearer: tuple[str, Vec, Vec] | None = None
    ) -> FitParts:
        """Return what fit reads of a creature; the breadth [m] of the hand that works it, with foam; and the head that wears it."""
        c, eye = creature, creature.build.eye
        spacing = eye_spacing(c.build)
        found, on_jaw = seats(c.functions, c.mechs, c.means, c.servos, mechs.transmissions, c.points, spacing)
        hand = hand_inside(c.functions, c.mechs, c.means)
        refs: set[Ref] = set(c.build.refs())
        for seat in found:
            refs.update(seat.record.refs())
            refs.update(seat.box.refs() if seat.box is not None else ())
        return cls(
            seats=found, on_jaw=on_jaw, eyes=None if eye is None else Eyes.of(c.functions, eye.diameter, spacing),
            mouth=any(PARTS[function.part].group == "mouth" for function in c.functions.values()),
            hand=None if hand is None or hand_breadth is None else (hand, hand_breadth), wearer=wearer,
            rests_on=frozenset(ref for ref in refs if not ref.startswith("default:")),
        )  # fmt: skip


def hand_inside(
    functions: Mapping[str, Function], mechs: Mapping[str, Mechanism], means: Mapping[str, Means]
) -> str | None:
    """Return the means of a hand that works inside the head: it opens the mouth or works the face itself."""
    for mech in mechs.values():
        group = PARTS[functions[mech.outputs[0]].part].group
        for name in mech.inputs:
            if isinstance(means[name], Hand) and group in ("mouth", "eyes", "brows", "face"):
                return name
    return None


def fit(parts: FitParts, shell: Shell | Unknown, told: tuple[Told, ...] = ()) -> Fit | Unknown:
    """Return what sits in the skull: written boxes where they are written, a proposed place for every other servo.

    Args:
        parts: what it reads.
        shell: the inside of the skull.
        told: what was told about the shell.
    """
    if isinstance(shell, Unknown):
        return shell
    notes = list(told)
    found = parts.seats
    if parts.on_jaw:
        one = len(parts.on_jaw) == 1
        sentence = (
            f"{'the servo' if one else 'the servos'} of {several(parts.on_jaw)} {'rides' if one else 'ride'} on the jaw: "
            f"not fitted into the skull"
        )
        notes.append(Told(code="fit_on_jaw", sentence=sentence))
    solids = _fixed(parts, shell, notes)
    written = {seat.name: pose_of(seat.box, seat.side) for seat in found if seat.box is not None}
    for seat in found:
        if seat.name in written:
            solids.extend(servo_solids(seat, written[seat.name], "written"))
    proposal = propose(tuple(seat for seat in found if seat.name not in written), solids, shell)
    for seat in found:
        if seat.name in proposal.poses:
            solids.extend(servo_solids(seat, proposal.poses[seat.name], "proposed"))
    notes.extend(_proposed_notes(proposal, written))
    off = _off(found, {**written, **proposal.poses}, written)
    notes.extend(_off_notes(off, found))
    eye_fed = {seat.name for seat in found if PARTS[seat.part].group in EYES}
    mouth_fed = {seat.name for seat in found if PARTS[seat.part].group == "mouth"}
    clashes, least = _clashes(solids, shell, eye_fed, mouth_fed)
    return Fit(
        skull=shell.says, volume=shell.volume, inner_width=shell.shape[0], placed=tuple(placed for placed, _ in solids),
        unplaced=proposal.unplaced, clashes=clashes, least=least, off=off,
        worn=0.0 if parts.wearer is None else worn_room(parts.wearer[2], parts.wearer[1], shell), told=tuple(notes),
        rests_on=parts.rests_on,
    )  # fmt: skip


def fixed_solids(parts: FitParts, shell: Shell) -> list[tuple[Placed, Solid]]:
    """Return all that is no servo: eyes, a mouth or the hand that is one, the wearer's head."""
    return _fixed(parts, shell, [])


def _fixed(parts: FitParts, shell: Shell, notes: list[Told]) -> list[tuple[Placed, Solid]]:
    """Return eyes, a mouth or the hand that is one, and the wearer's head."""
    solids: list[tuple[Placed, Solid]] = []
    radius = 0.0
    if parts.eyes is not None:
        solids.extend(eye_solids(parts.eyes))
        radius = 0.5 * solids[0][0].sides[0]
    if parts.hand is not None:
        sides = (parts.hand[1], HAND_HEIGHT, HAND_DEPTH)
        solids.append(hand_solid(parts.hand[0], shell.shape, shell.centre, sides))
    elif parts.mouth:
        solids.append(mouth_solid(shell.shape, shell.centre, radius))
        wide, high, deep = (f"{side * 1e3:.0f}" for side in solids[-1][0].sides)
        sentence = f"the mouth is taken as a room of {wide} x {high} x {deep} mm, low in the front of the skull (a rule of this project)"
        notes.append(Told(code="fit_mouth", sentence=sentence, ref="/build/skull/shape"))
    if parts.wearer is not None:
        solids.append(wearer_solid(*parts.wearer))
    return solids


def _proposed_notes(proposal: Proposal, written: Mapping[str, Pose]) -> list[Told]:
    if not proposal.poses:
        return []
    count, whole = len(proposal.poses), len(proposal.poses) + len(proposal.unplaced) + len(written)
    have, their = ("has", "its place is") if count == 1 else ("have", "their places are")
    of = of_all(count, whole, "servo", "servos")
    nowhere = f"; for {len(proposal.unplaced)} more no place was found" if proposal.unplaced else ""
    sentence = f"{of} in the skull {have} no box written: {their} proposed, not measured{nowhere}"
    return [Told(code="fit_proposed", sentence=sentence)]


def _off(found: tuple[Seat, ...], poses: Mapping[str, Pose], written: Mapping[str, Pose]) -> tuple[OffLinkage, ...]:
    """Return the servos that do not sit where their linkage wants them."""
    out = []
    for seat in found:
        off = off_of(seat, poses[seat.name]) if seat.name in poses else None
        if off is not None and (off.far > OFF or off.turned > TURNED):
            how: How = "written" if seat.name in written else "proposed"
            out.append(OffLinkage(servo=seat.name, far=off.far, turned=off.turned, wants=off.says, how=how))
    return tuple(out)


def _off_notes(off: tuple[OffLinkage, ...], found: tuple[Seat, ...]) -> list[Told]:
    """Return a note for each written box (both of a pair at once) that its linkage does not want there, and one for all proposed places."""
    boxes = {seat.name: seat.box for seat in found if seat.box is not None}
    groups: dict[tuple[How, str, Ref], list[str]] = {}
    for item in off:
        ref = boxes[item.servo].ref("at" if item.far > OFF else "axis") if item.how == "written" else ""
        groups.setdefault((item.how, _apart(item), ref), []).append(item.servo)
    notes, rest = [], []
    for (how, apart, ref), names in groups.items():
        one = len(names) == 1
        if how == "written":
            boxed = "box puts its shaft" if one else "boxes put their shafts"
            sentence = f"{several(names)}: the {boxed} {apart}"
            notes.append(Told(code="fit_off_linkage", sentence=sentence, ref=ref))
        else:
            rest.append(f"{several(names)} {apart}")
    if rest:
        sentence = f"in their proposed places some shafts are not where their linkages want them: {', '.join(rest)}"
        notes.append(Told(code="fit_off_linkage", sentence=sentence))
    return notes


def _apart(item: OffLinkage) -> str:
    parts = []
    if item.far > OFF:
        parts.append(f"{item.far * 1e3:.0f} mm from where the linkage wants it")
    if item.turned > TURNED:
        parts.append(f"{math.degrees(item.turned):.0f} deg askew to its horn's swing")
    return f"{' and '.join(parts)} ({item.wants})"


def _clashes(
    solids: list[tuple[Placed, Solid]], shell: Shell, eye_fed: set[str], mouth_fed: set[str]
) -> tuple[tuple[Clash, ...], Clash | None]:
    """Return what is closer than it should be, the worst first, and the closest of all."""
    if not any(placed.kind == "servo" for placed, _ in solids):
        return (), None
    placed = [one for one, _ in solids]
    packed = pack([solid for _, solid in solids])
    pairs = _pairs(placed, eye_fed, mouth_fed)
    measured = gaps_of(packed, pairs, 10.0 * CLEAR)
    near = np.flatnonzero(measured[:, 0] <= max(CLEAR, measured[:, 0].min(initial=np.inf))).tolist()
    rows = [(float(measured[k, 0]), *pairs[k].tolist(), _vec(measured[k, 1:])) for k in near]
    outs = [-float(out) for out in shell.reaches_out(packed)]
    rows += [(outs[i], i, -1, (0.0, 0.0, 0.0)) for i, one in enumerate(placed) if one.kind in ("servo", "horn")]
    found = [
        Clash(first=placed[i].name, second="skull" if j < 0 else placed[j].name, gap=gap, way=way)
        for gap, i, j, way in rows
    ]
    found.sort(key=lambda clash: (clash.gap, clash.first, clash.second))
    return tuple(clash for clash in found if clash.gap < CLEAR), found[0] if found else None


def _vec(row: F64) -> Vec:
    return (float(row[0]), float(row[1]), float(row[2]))


def _pairs(placed: list[Placed], eye_fed: set[str], mouth_fed: set[str]) -> I64:
    """Return (n, 2) the pairs that must keep apart.

    What belongs to one servo may touch; two rods are bent past each other; what moves an eye or a lid reaches the eye, what moves the
    mouth reaches the mouth; eyes and mouth have their room.
    """
    kind = np.array([KINDS.index(one.kind) for one in placed])
    owner = np.unique([one.of for one in placed], return_inverse=True)[1]
    moving, rod, eye, mouth = kind < 3, kind == 2, kind == 3, (kind == 4) | (kind == 5)
    passes_eye = rod & np.array([one.of in eye_fed for one in placed])
    passes_mouth = rod & np.array([one.of in mouth_fed for one in placed])
    apart = moving[:, None] | moving[None, :]
    apart &= ~(moving[:, None] & moving[None, :] & (owner[:, None] == owner[None, :]))
    apart &= ~(rod[:, None] & rod[None, :])
    for passes, thing in ((passes_eye, eye), (passes_mouth, mouth)):
        free = passes[:, None] & thing[None, :]
        apart &= ~(free | free.T)
    return np.ascontiguousarray(np.argwhere(np.triu(apart, 1)), dtype=np.int64)


def how_placed(found: Fit) -> dict[How, int]:
    """Return how many servos sit in written and in proposed places."""
    out: dict[How, int] = {"written": 0, "proposed": 0, "anatomy": 0}
    for placed in found.placed:
        if placed.kind == "servo":
            out[placed.how] += 1
    return out
