"""<mechanism>.drive: torque left at the speed asked for, against torque wanted, at the scarcest instant of the part."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from marotte.basis.contracts.common import Quantity, Unknown
from marotte.basis.contracts.finding import Grade
from marotte.basis.contracts.mech import Jammed
from marotte.basis.faults import shown_path
from marotte.basis.given import Ref
from marotte.basis.ticks import clock
from marotte.basis.units import show
from marotte.creature.naming import agrees, named
from marotte.creature.schema.means import Servo
from marotte.verdict.asked import LEAST_SHARE
from marotte.verdict.margins import Rule, Thresholds
from marotte.verdict.requirements.base import Found, NotClaimed, Requirement, Said
from marotte.verdict.requirements.force import TABLES, write_torque
from marotte.verdict.requirements.motor import Pull, pulled, write_free, write_stall
from marotte.verdict.workings import Writer

if TYPE_CHECKING:
    from marotte.creature.creature import Creature
    from marotte.verdict.graph import Results

VERBS = {"jaw": "gapes", "beak": "gapes", "lid_upper": "shuts", "lid_lower": "shuts"}
NEAR_FREE = 0.6
"""Share of the free speed from which a sentence names both the speed asked and the free speed (a rule of this project)."""
ENOUGH = 1.0
"""Margin of torque that performs (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Args:
    """What the requirement reads."""

    pull: Pull
    tick: int
    reach: tuple[float, float] | None
    """How far the first output can be held with what the servo has, down and up; None where there are two inputs."""
    rests_on: frozenset[Ref]


def servo_mechs(creature: Creature) -> list[str]:
    """Return the mechanisms that servos move, in the order of the file."""
    return [
        name
        for name, mech in creature.mechs.items()
        if all(isinstance(creature.means[given], Servo) for given in mech.inputs)
    ]


def whys(creature: Creature, results: Results, about: str) -> Unknown | None:
    """Return why nothing can be said of what a mechanism bears, or None where it can."""
    transmission = results.mechs.transmissions[about]
    if isinstance(transmission, Jammed):
        return Unknown(why="the mechanism does not go together; see its mech finding", wants=transmission.wants)
    return transmission if isinstance(transmission, Unknown) else None


def unladen(creature: Creature, results: Results, about: str) -> Unknown | None:
    """Return why nothing can be said where nothing that a mechanism moves weighs, springs or stretches: a load that was forgotten.

    Friction alone is no load: what rubs has a mass. A part that is written at one function of a mechanism is written for all of them.
    """
    mech = creature.mechs[about]
    loads = [results.mechs.loads[name] for name in mech.outputs]
    if any(load.inertia or load.gravity.any() or load.spring.any() for load in loads):
        return None
    if any(set(mech.outputs) & set(skin.holds) for skin in results.mechs.skins):
        return None
    functions = [creature.functions[name] for name in mech.outputs]
    heavy = next((function for function in functions if function.load.mass > 0.0), None)
    function = heavy if heavy is not None else functions[0]
    load = f"{function.ref('')}/load"
    what = named(about)
    if heavy is not None:
        why = (
            f"the mass that the {what} {agrees(what, 'moves', 'move')} sits on its own axis and has no inertia, so no load is left: "
            f"write where its centre is, {shown_path(f'{load}/centre')}, or {shown_path(f'{load}/inertia')}"
        )
        return Unknown(why=why, wants=(f"{load}/centre",))
    why = (
        f"what the {what} {agrees(what, 'moves', 'move')} weighs nothing as written, as if it had been forgotten: weigh it and write "
        f"{shown_path(f'{load}/mass')} (or its inertia there, where the mass is written at another function)"
    )
    return Unknown(why=why, wants=(f"{load}/mass",))


def rests(results: Results, about: str) -> frozenset[Ref]:
    """Return what a mechanism, the loads on it and the skins that it holds rest on."""
    transmission = results.mechs.transmissions[about]
    if isinstance(transmission, Unknown):
        return frozenset()
    refs = set(transmission.rests_on)
    for name in transmission.outputs:
        refs |= results.mechs.loads[name].rests_on
    for skin in results.mechs.skins:
        if set(transmission.outputs) & set(skin.holds):
            refs |= skin.rests_on
    return frozenset(refs)


def _gather(creature: Creature, results: Results, about: str) -> Args | Unknown | NotClaimed:
    missing = whys(creature, results, about)
    if missing is not None:
        return missing
    forgotten = unladen(creature, results, about)
    if forgotten is not None:
        return forgotten
    points = results.worst[about]
    if isinstance(points, Unknown):
        return points
    index = min(range(len(points)), key=lambda i: (points[i].has / max(points[i].torque, 1e-12), i))
    point = points[index]
    tick = results.tick_of(point.sample)
    return Args(
        pulled(creature, results, about, point, index, clock(tick)),
        tick,
        results.reach.get(about),
        rests(results, about),
    )


def _find(args: Args) -> Found:
    wanted = max(args.pull.point.torque, LEAST_SHARE * args.pull.stall_nm)
    return Found(
        needed=Quantity(value=wanted, unit="N*m"), has=Quantity(value=args.pull.point.has, unit="N*m"), at=args.tick,
        agrees=TABLES, rests_on=args.rests_on,
    )  # fmt: skip


def _work(w: Writer, args: Args, found: Found) -> None:
    pull, point = args.pull, args.pull.point
    wanted = write_torque(w, pull)
    stall = write_stall(w, pull)
    least = w.rule(
        "s_least", "share of stall that counts as wanted at least", LEAST_SHARE, "1", "a rule of this project"
    )
    counts = w.worked("tau_count", "torque wanted that counts", f"max({wanted}, {least}*{stall})", "N*m")
    w.need(counts)
    if point.has >= pull.stall_nm * (1 - 1e-12):
        w.worked("tau_has", "torque that the servo has there, braking or at rest", stall, "N*m")
        return
    speed = w.read("omega", "speed asked of the input", f"script: asked at {pull.where}", abs(point.speed), "rad/s")
    if pull.tested:
        w.read("tau_has", "torque left at that speed", f"drive: bench test of {pull.means.model}", point.has, "N*m")
        return
    free = write_free(w, pull)
    if _fast(pull, found.needed.value):
        turns = w.worked("omega_l", "speed that it has with that torque", f"{free}*(1 - {counts}/{stall})", "rad/s")
        w.decides = ("speed", speed, turns)
    w.worked("tau_has", "torque left at that speed", f"max({stall}*(1 - {speed}/{free}), 0)", "N*m")


def _say(args: Args, found: Found, grade: Grade) -> Said:
    pull, name = args.pull, named(args.pull.name)
    wanted, has = show(pull.point.torque, "N*m"), show(pull.point.has, "N*m")
    if pull.point.torque < 0.999 * LEAST_SHARE * pull.stall_nm:
        wanted += f" (next to nothing: {show(found.needed.value, 'N*m')} is counted)"
    speed = show(abs(pull.point.speed), "rad/s")
    wants, its = agrees(name, "wants", "want"), agrees(name, "its", "their")
    if pull.point.speed:
        text = (
            f"the {name} {wants} {wanted} of {its} servo at {pull.where} and {agrees(name, 'has', 'have')} {has} at the "
            f"{speed} asked{_near_free(pull, found.needed.value)}"
        )
    else:
        held = show(pull.point.terms[0].position, pull.outputs[0].unit)
        text = f"the {name} {wants} {wanted} of {its} servo at {held} ({pull.where}), which has {has}"
    short = _short(args)
    if grade == "fails" and short:
        return Said(sentence=f"{text[0].upper()}{text[1:]}: {short}.", clause=f"the {name} {short}")
    times = pull.point.has / found.needed.value
    if grade == "fails" and pull.point.has <= 0.0:
        clause = f"the {name} is asked for {speed}, and its servo turns {show(pull.free_rad_s, 'rad/s')} unloaded"
    elif grade == "fails":
        clause = f"the {name} has {has} of the {wanted} it wants at speed"
    else:
        clause = f"the {name} has {times:.2g} times the torque it wants"
    return Said(sentence=f"{text[0].upper()}{text[1:]}.", clause=clause)


def _near_free(pull: Pull, counted: float) -> str:
    """Say the free speed where the speed that is asked comes near it, and that the speed decides where torque is enough."""
    if not _near(pull):
        return ""
    free = f" ({show(pull.free_rad_s, 'rad/s')} unloaded)"
    if not _fast(pull, counted):
        return free
    turns = pull.free_rad_s * (1.0 - counted / pull.stall_nm)
    return f"{free}; what decides is speed: with that load it turns {show(turns, 'rad/s')}"


def _near(pull: Pull) -> bool:
    return abs(pull.point.speed) >= NEAR_FREE * pull.free_rad_s


def _fast(pull: Pull, counted: float) -> bool:
    """Return whether speed decides: it comes near what the servo turns unloaded, and at rest there is torque for twice the load."""
    return not pull.tested and _near(pull) and pull.stall_nm >= (1.0 + ENOUGH) * counted


def _short(args: Args) -> str:
    """Return how far a function gets that is too heavy for its servo even at rest: ``gapes to 12 of 22 deg with the skin on``."""
    if args.reach is None:
        return ""
    moved = args.pull.outputs[0]
    low, high = moved.function.travel
    down, up = args.reach
    tiny = 0.01 * (high - low)
    skinned = " with the skin on" if args.pull.skins else ""
    verb = VERBS.get(moved.function.part, "moves")
    if up < high - tiny and down <= low + tiny:
        return f"{verb} to {_plain(up, moved.unit)} of {show(high, moved.unit)}{skinned}"
    if down > low + tiny and up >= high - tiny:
        return f"goes down to {_plain(down, moved.unit)} of {show(low, moved.unit)}{skinned}"
    if down > low + tiny and up < high - tiny:
        return f"is held between {_plain(down, moved.unit)} and {show(up, moved.unit)} only{skinned}"
    return ""


def _plain(value: float, unit: str) -> str:
    return show(value, unit, 2).split(" ")[0]


DRIVE = Requirement(
        name="drive",
        number=3,
        asks="At the scarcest instant of the part, with the skin on, the servo has the torque that the mechanism wants at the speed "
        "that is asked of it.",
        unit="N*m",
        rule=Rule("at_least"),
        thresholds=Thresholds(
            ENOUGH, 0.0,
            "Twice the torque wanted performs, on the real (derated) torque at that speed; less than is wanted fails. 20 % over "
            "is a returned job (common practice, no source).",
        ),
        method="operating-point",
        subjects=servo_mechs,
        gather=_gather,
        find=_find,
        work=_work,
        say=_say,
    local=True,
)  # fmt: skip
