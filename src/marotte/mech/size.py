"""Lengths and clocking for one function: docs/methods/sizing.md.

Starts: what is written; what is written with its clocking swept; and, for a planar four-bar, the three-position syntheses
whose horn follows the function as evenly as can be. From each, a bounded least squares with a fixed count of steps; then
round to what can be made, and judge by the transmission itself. No clock, no chance: the same file gives the same answer.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import cast

import numpy as np
from scipy.optimize import least_squares

from marotte.basis.contracts.common import F64, Told, Unknown
from marotte.basis.contracts.finding import Edit
from marotte.basis.contracts.mech import MechFault, Transmission
from marotte.basis.units import DEG
from marotte.creature.anatomy import PARTS
from marotte.creature.creature import Creature
from marotte.creature.naming import named
from marotte.creature.schema.base import quantity
from marotte.creature.schema.mechs import BallRod, CrankSlider, FourBar, Linkage, Mech
from marotte.mech.asked_of import Ask, asked_of, use_of
from marotte.mech.case import Case
from marotte.mech.chain import Link
from marotte.mech.kernels import POSITION, RATE, REACH, SIN_FAR, SIN_NEAR
from marotte.mech.kinds import KINDS, ball_rod, crank_slider, four_bar
from marotte.mech.mechs import eye_spacing
from marotte.mech.sizing import Lengths, chebyshev_points, freudenstein

GOOD_ANGLE = 40.0 * DEG
"""Least angle of a rod that is aimed for (textbook rule; R. L. Norton, *Design of Machinery*, from memory)."""
GOOD_USE = 0.5
"""Share of the real torque, at the operating point, that is aimed for (common practice, no source)."""
STEPS = 40
"""Evaluations of each least squares' direction."""
LENGTH_STEP = 0.5e-3
CLOCK_STEP = 1.0 * DEG

FREE: dict[type[Linkage], tuple[tuple[str, ...], str]] = {
    FourBar: (("horn", "rod", "arm"), "arm_at_neutral"),
    CrankSlider: (("horn", "rod"), "horn_at_neutral"),
    BallRod: (("horn", "rod", "arm"), "arm_at_neutral"),
}
"""Record -> the lengths that may change, and its clocking. Axles stay where they are."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """One set of lengths and clocking, judged."""

    what: str
    """"as written", "clocked anew", "new lengths"."""
    record: Linkage
    changes: dict[str, tuple[float | None, float]]
    """Field -> (from, to), SI."""
    least_angle: float
    """Worst angle of a rod over the travel [rad]."""
    use: float
    """Largest share of the servo's real torque at the operating point."""
    use_at: float
    """Position of the function there."""
    swing: float
    """Of the horn [rad]."""
    horn_at_neutral: float
    """Where the horn stands [rad], as the kind counts it."""
    play: float
    """Lost motion at the function by its ball joints, at the worst place [rad or m]."""
    faults: tuple[MechFault, ...]
    performs: bool

    @property
    def angle_margin(self) -> float:
        """Least angle over what is aimed for, less 1."""
        return self.least_angle / GOOD_ANGLE - 1.0

    @property
    def torque_margin(self) -> float:
        """Torque that is there over what is asked, at the operating point, less 1."""
        return 1.0 / max(self.use, 1e-9) - 1.0

    @property
    def score(self) -> float:
        """How far the worse of angle and torque is from its aim; 1 or less is there, smaller is better."""
        return max(GOOD_ANGLE / max(self.least_angle, 1e-6), self.use / GOOD_USE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Sizing:
    """What was found for one function."""

    function: str
    mechanism: str
    now: Candidate | None
    """As it is written; None where that does not go together."""
    candidates: tuple[Candidate, ...]
    """Best first: those that perform by least change, then the others by how near they come."""
    ask: Ask
    told: tuple[Told, ...]


def size(creature: Creature, function: str, ask: Ask | None = None, count: int = 4) -> Sizing | Unknown:
    """Return the best few lengths and clockings for one function.

    Args:
        creature: as loaded; nothing in it is changed.
        function: its name.
        ask: what is asked of it, where the caller knows (the part's own speeds); else its whole travel in 0.25 s.
        count: how many at most.

    Returns:
        Candidates with their margins; Unknown where the function has no servo, or a mech that has nothing to size.
    """
    case = _case(creature, function)
    if isinstance(case, Unknown):
        return case
    wanted = ask if ask is not None else asked_of(creature, function)
    if isinstance(wanted, Unknown):
        return wanted
    search = _Search(case, wanted)
    now = search.judged("as written", case.mechanism.record)
    found = [candidate for what, start in search.starts() if (candidate := search.from_start(what, start)) is not None]
    picked = _best(found, now, count)
    return Sizing(
        function=function, mechanism=case.mechanism.name, now=now, candidates=picked, ask=wanted,
        told=wanted.told + _why_none(function, wanted, now, picked),
    )  # fmt: skip


def as_written(creature: Creature, function: str, ask: Ask) -> Candidate | None:
    """Return the linkage as it is written, judged by what is asked; None where it does not go together or has no sizes."""
    case = _case(creature, function)
    return None if isinstance(case, Unknown) else _Search(case, ask).judged("as written", case.mechanism.record)


def _case(creature: Creature, function: str) -> Case | Unknown:
    mechanism = next((m for m in creature.mechs.values() if m.outputs == (function,) and len(m.inputs) == 1), None)
    if mechanism is None or type(mechanism.record) not in FREE:
        kinds = ", ".join(sorted(cast(str, kind.model_fields["kind"].default) for kind in FREE))
        what = (
            f"a {mechanism.record.kind} cannot be sized"
            if mechanism is not None and mechanism.record.kind != "direct"
            else "there is nothing to size"
        )
        return Unknown(why=f"{named(function)}: {what}; what can be sized are {kinds}")
    record = creature.functions[function]
    return Case(
        mechanism=mechanism, functions=(record,), parts=(PARTS[record.part],), points=creature.points,
        stock=creature.stock_tables, eye_spacing=eye_spacing(creature),
    )  # fmt: skip


def edits(creature: Creature, candidate: Candidate) -> tuple[Edit, ...]:
    """Return the edits of the written file that make one candidate the creature's own."""
    made = []
    for field, (_, to) in sorted(candidate.changes.items()):
        ref = candidate.record.ref(field)
        if ref.startswith("default:"):
            block = candidate.record.ref(FREE[type(candidate.record)][0][0]).rpartition("/")[0]
            ref = f"{block}/{field}"
        given = creature.given.get(ref)
        kind = quantity(type(candidate.record), field)
        angle = kind is not None and kind.kinds[0].name == "angle"
        text = f"{to / DEG:.0f} deg" if angle else f"{to * 1e3:.1f}".rstrip("0").rstrip(".") + " mm"
        made.append(Edit(path=ref, from_=given.written if given is not None else None, to=text))
    return tuple(made)


class _Search:
    """Evaluates trial records of one case against what is asked."""

    def __init__(self, case: Case, ask: Ask) -> None:
        self.case, self.ask = case, ask
        self.record = case.mechanism.record
        self.lengths, self.clock = FREE[type(self.record)]
        if isinstance(self.record, FourBar) and self.record.arm_at_neutral is None:
            self.clock = "horn_at_neutral"
        self.fields = (*self.lengths, self.clock)
        self.written = np.array([float(getattr(self.record, name) or 0.0) for name in self.fields])
        room = self.record.room or math.inf
        self.low = np.array([*(0.6 * self.written[:-1]), self.written[-1] - 60 * DEG])
        self.high = np.array([*(1.6 * self.written[:-1]), self.written[-1] + 60 * DEG])
        rod = self.lengths.index("rod")
        self.high[rod] = min(self.high[rod], room)
        self.low[rod] = min(self.low[rod], 0.9 * self.high[rod])

    def made(self, x: F64) -> Linkage:
        """Return the record of some lengths and a clocking; a clock that is found from the rod is left unwritten."""
        update = {name: float(value) for name, value in zip(self.fields, x, strict=True)}
        if isinstance(self.record, BallRod):
            update["horn_at_neutral"] = None  # type: ignore[assignment]
        return self.record.model_copy(update=update)

    def link(self, record: Linkage) -> Link | None:
        """Return the link of a trial record, or None where it does not close at neutral."""
        case = replace(self.case, mechanism=replace(self.case.mechanism, record=cast(Mech, record)))
        if isinstance(record, BallRod):
            pair = ball_rod.link_of(case)
            return None if isinstance(pair, Unknown) else pair[0]
        one = four_bar.link_of(case) if isinstance(record, FourBar) else crank_slider.link_of(case)
        return None if isinstance(one, Unknown) else one

    def misses(self, x: F64) -> F64:
        """Return what the least squares makes small, (3 n + 1 + k,): angles short, torque over, way from what is written."""
        n = self.ask.grid.size
        drift = 0.03 * (x - self.written) / np.maximum(np.abs(self.high - self.low), 1e-9)
        link = self.link(self.made(x))
        if link is None:
            return np.concatenate((np.full(3 * n + 1, 2.0), drift))
        rows = link.backward(self.ask.grid, 0.0)
        closed = rows[REACH] > 0.0
        sine = np.where(closed, np.minimum(rows[SIN_NEAR], rows[SIN_FAR]), rows[REACH])
        rate = np.where(closed, 1.0 / np.where(rows[RATE] == 0.0, 1e-3, np.where(closed, rows[RATE], 1.0)), 1.0)
        flat = np.maximum(math.sin(1.25 * GOOD_ANGLE) - sine, 0.0)
        use = use_of(self.ask, rate, self.record.efficiency, self.record.friction)
        weak = np.maximum(np.log(np.maximum(use, 1e-6) / (0.9 * GOOD_USE)), 0.0)
        turned = np.where(np.sign(rate) != np.sign(rate[0]), 1.0, 0.0)
        swing = float(np.ptp(rows[POSITION][closed])) if closed.any() else 0.0
        far = max(swing / (0.95 * self.ask.turn) - 1.0, 0.0)
        share = 1.0 / math.sqrt(n)
        return np.concatenate((3.0 * share * flat, share * weak, share * turned, [5.0 * far], drift))

    def starts(self) -> Iterator[tuple[str, F64]]:
        """Yield where to begin, in a fixed order."""
        yield "clocked anew", self.written
        yield "new lengths", self.written
        for turned in (-40, -20, 20, 40):
            start = self.written.copy()
            start[-1] += turned * DEG
            yield "new lengths", start
        if isinstance(self.record, FourBar) and self.clock == "arm_at_neutral":
            yield from (("new lengths", start) for start in self._syntheses(self.record))

    def _syntheses(self, record: FourBar) -> Iterator[F64]:
        """Yield four-bars whose horn follows the arm evenly at three places, for several swings and middles."""
        low, high = self.case.functions[0].travel
        sense = 1.0 if record.arm_turns == "with" else -1.0
        exact = chebyshev_points(low, high)
        side = 1.0 if math.sin(record.arm_at_neutral or 1.0) >= 0.0 else -1.0
        for swing in (45, 60, 80):
            for middle in (75, 95):
                for horn_middle in (75, 100):
                    share = (exact - 0.5 * (low + high)) / (high - low)
                    arms = side * middle * DEG + sense * (exact - 0.5 * (low + high))
                    way = sense if record.branch == "open" else -sense
                    horns = side * horn_middle * DEG + way * share * min(swing * DEG, 0.9 * self.ask.turn)
                    found = freudenstein(horns, arms)
                    if not isinstance(found, Lengths) or min(found.horn, found.arm) <= 0.0:
                        continue
                    neutral = side * middle * DEG + sense * (self.case.functions[0].neutral - 0.5 * (low + high))
                    lengths = {"horn": found.horn, "rod": found.rod, "arm": found.arm}
                    yield np.array([*(lengths[name] * record.ground for name in self.lengths), neutral])

    def from_start(self, what: str, start: F64) -> Candidate | None:
        """Return the candidate that the least squares comes to from one start, rounded and judged."""
        inside = np.clip(start, self.low + 1e-9, self.high - 1e-9)
        if what == "clocked anew":
            best = min(
                (self.written[-1] + k * CLOCK_STEP for k in range(-60, 61)),
                key=lambda angle: (float(np.sum(self.misses(np.array([*self.written[:-1], angle])) ** 2)), angle),
            )
            return self.judged(what, self._rounded(np.array([*self.written[:-1], best]), lengths=False))
        scale = np.maximum(np.abs(self.high - self.low), 1e-6)
        found = least_squares(
            self.misses, inside, bounds=(self.low, self.high), x_scale=scale, method="trf", max_nfev=STEPS
        )
        return self.judged(what, self._rounded(np.asarray(found.x)))

    def _rounded(self, x: F64, *, lengths: bool = True) -> Linkage:
        out = x.copy()
        if lengths:
            out[:-1] = np.round(x[:-1] / LENGTH_STEP) * LENGTH_STEP
        out[-1] = round(x[-1] / CLOCK_STEP) * CLOCK_STEP
        return self.made(out)

    def judged(self, what: str, record: Linkage) -> Candidate | None:
        """Return a record with its margins, by the transmission itself; None where it does not go together."""
        case = replace(self.case, mechanism=replace(self.case.mechanism, record=cast(Mech, record)))
        found = KINDS[type(record)](case)
        if not isinstance(found, Transmission) or found.angle is None:
            return None
        position, ask = found.position[0], self.ask
        rate = np.interp(ask.grid, position, found.rate[0, 0])
        use = use_of(ask, rate, found.forward, found.dry)
        worst = int(np.argmax(use))
        swing = float(found.grid[0][-1] - found.grid[0][0])
        faults = tuple(fault for fault in found.faults if fault.serious)
        angle = float(found.angle.min())
        changes = {
            name: (getattr(self.record, name), float(getattr(record, name)))
            for name in self.fields
            if getattr(record, name) is not None and getattr(self.record, name) != getattr(record, name)
        }
        return Candidate(
            what=what, record=record, changes=changes, least_angle=angle, use=float(use[worst]),
            use_at=float(ask.grid[worst]), swing=swing, horn_at_neutral=found.clocking["horn"],
            play=float(found.play[0]), faults=faults,
            performs=not faults and angle >= GOOD_ANGLE and float(use[worst]) <= GOOD_USE and swing <= ask.turn,
        )  # fmt: skip


def _best(found: list[Candidate], now: Candidate | None, count: int) -> tuple[Candidate, ...]:
    """Return the best few that differ and improve on what is written."""

    def rank(candidate: Candidate) -> tuple[int, int, float, tuple[float, ...]]:
        order = 0 if candidate.performs else 1
        cheap = 0 if candidate.what == "clocked anew" and candidate.performs else 1
        values = tuple(to for _, to in candidate.changes.values())
        return order + len(candidate.faults), cheap, candidate.score, values

    picked: list[Candidate] = []
    for candidate in sorted(found, key=rank):
        if picked and candidate.score > max(1.0, 1.5 * picked[0].score):
            continue
        worse = now is not None and len(candidate.faults) >= len(now.faults) and candidate.score > 0.98 * now.score
        seen = any(_alike(candidate, other) for other in picked)
        if candidate.changes and not seen and (candidate.performs or not worse):
            picked.append(candidate)
    return tuple(picked[:count])


def _alike(one: Candidate, other: Candidate) -> bool:
    """Return whether two candidates are the same to within a couple of millimetres and five degrees."""
    names = set(one.changes) | set(other.changes)
    gaps = [abs(float(getattr(one.record, name)) - float(getattr(other.record, name))) for name in sorted(names)]
    limits = [5 * DEG if name.endswith("at_neutral") else 2e-3 for name in sorted(names)]
    return all(gap <= limit for gap, limit in zip(gaps, limits, strict=True))


def _why_none(function: str, ask: Ask, now: Candidate | None, picked: tuple[Candidate, ...]) -> tuple[Told, ...]:
    """Return what to say where no linkage performs: what bears on it most."""
    if any(candidate.performs for candidate in (*picked, *([now] if now else []))):
        return ()
    worst = int(np.argmax(ask.force))
    share = float(ask.skin[worst]) / max(float(ask.force[worst]), 1e-12)
    sentence = f"{named(function)}: no lengths or clocking alone make it perform with this servo"
    if share > 0.5:
        sentence += "; most of what it bears is skin: thin it, relieve it, or sculpt it part-way"
    return (Told(code="no_linkage", sentence=sentence),)
