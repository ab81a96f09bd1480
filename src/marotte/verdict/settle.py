"""The ten-minute shop tests that settle an undecided grade, chosen by the kind of the inputs that leave it open."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from marotte.basis.contracts.finding import Settle
from marotte.basis.given import Given, Ref
from marotte.basis.units import number_text, show
from marotte.creature.naming import named
from marotte.creature.schema.functions import Function
from marotte.creature.schema.skins import SkinCard
from marotte.verdict.typed import MOTOR, entry_of, field_of, typed

PRESSED: Final = (
    "Clamp the servo at the voltage that it will get, put a 100 mm arm on it and let it press on a kitchen scale for two seconds: its torque "
    "is the scale's kilograms x 9.81 x 0.1"
)
FILMED: Final = (
    "Mark the horn's way at 50 deg and at 110 deg from where it starts, let the unloaded servo sweep through 120 deg ten times at the voltage "
    "that it will get, film it at 240 frames a second and count the frames from mark to mark: the time for 60 deg is the frames of all ten "
    "together / 2400"
)
TEN_TIMES: Final = "ten times and take the mean, which is sure to 1 ms"
PULLED_THROUGH: Final = (
    "Hang a known weight on the output and pull at the input with a luggage scale until it just moves: efficiency is the force that the "
    "lengths would ask for over the one that the scale shows"
)
BY_FIELD: Final[dict[str, str]] = {
    "stall": PRESSED,
    "free": FILMED,
    "stall_current": "Hold the servo still for two seconds with a current meter in its lead",
    "free_current": "Let the servo sweep unloaded with a current meter in its lead",
    "derate": PRESSED,
    "thickness": "Measure the skin with calipers at three places over the fold, unsqueezed, and take the middle one",
    "width": "Lay a tape across the part of the skin that goes tight when it moves",
    "length": "Lay a tape along the free skin from fixing to fixing, in the pose in which it was cast",
    "relief": "Pull the moving edge with a luggage scale at three positions, with the skin on, and write the three forces as the "
    "skin's measured curve",
    "modulus": "Pull the moving edge with a luggage scale at three positions, with the skin on, and write the three forces as the "
    "skin's measured curve",
    "friction": "Pull slowly at the telling point with a luggage scale, once each way: friction is half the difference of the two "
    "pulls x the distance from the axis",
    "centre": "Balance the part on the edge of a ruler and measure from the edge to the axis",
    "capacity": "Charge it, run the script over and over until the alarm, and read from the charger what went back in",
    "resistance": "Read the pack's voltage at rest and with a known current drawn: resistance is the drop over the current",
    "efficiency": "Pull at the output with a luggage scale until the input just moves, and once the other way",
    "hand_breadth": "Measure across the knuckles of the flat hand with calipers, or between two books that it just touches",
    "head_breadth": "Measure the head above the ears from side to side, with calipers or between two books held upright against it",
    "head_length": "Measure the head from the brow to the back with callipers, or between two books held upright against it",
    "play": "Hold the horn, rock the part at its telling point and read the rocking off a ruler, then divide by the distance "
    "from the axis",
    "slop": "Hold horn and arm fast, push and pull the rod along and read its end play off calipers",
    "limit": "Read it off the label or the maker's sheet of the supply or regulator",
    "fuse": "Read it off the fuse",
    "inertia": "Hang the part on two threads of equal length L, a distance d apart, its centre of mass midway between them and its axis "
    "upright; twist it a little, let go and time 20 swings: with T the time of one, inertia is mass x 9.81 x d^2 x T^2 / (158 x L)",
    "winding_limit": "Ask the maker what its winding bears, and hold a thermometer to the case after ten minutes of the part",
    "call_length": "Ask production how long one call is",
    "usable": "Run a full pack until its alarm and see on the charger which share of its capacity went back in",
    "density": "Weigh the cast skin on a kitchen scale",
    "price": "Ask your supplier",
    "hours": "Look up what the last one that your shop built took",
    "dead_band": "Move the signal by single steps and note how many go by before the horn moves",
    "response": f"Film signal lamp and horn together at 240 frames a second, count the frames between them {TEN_TIMES}",
    "delay": f"Film lever and part together at 240 frames a second, count the frames between them {TEN_TIMES}",
}  # fmt: skip
"""Last word of the field -> test."""
BY_UNIT: Final[dict[str, str]] = {
    "kg": "Weigh it on a kitchen scale",
    "m": "Measure it with calipers or a steel rule",
    "rad": "Lay a phone's inclinometer on it at both positions and take the difference",
    "N*m": "Pull with a luggage scale at a measured distance from the axis: torque is kilograms x 9.81 x metres",
    "N": "Pull with a luggage scale: force is kilograms x 9.81",
    "rad/s": f"Film it at 240 frames a second over a known angle, count the frames {TEN_TIMES}",
    "s": f"Film it at 240 frames a second, count the frames {TEN_TIMES}",
    "A": "Put a current meter in the lead and read it while it works",
    "V": "Put a voltmeter on it while it works",
    "N*m/rad": "Pull with a luggage scale at two positions, at a measured distance from the axis: stiffness is the difference of the "
    "torques over the angle between",
    "N/m": "Pull with a luggage scale at two positions: stiffness is the difference of the forces over the distance between",
}  # fmt: skip


CALLED: Final[dict[str, str]] = {"derate": "share of its servo's advertised torque that is real"}
"""Last word of the field -> what a finding that rests on it calls it, where the schema's words do not fit a sentence."""
SIDES: Final = ("length", "width", "height")
GAPES: Final = (0.35, 0.7, 1.0)
"""Shares of the travel at which a skin is pulled."""


def called(ref: Ref, meaning: str) -> str:
    """Return what a finding calls an input that it rests on; ``meaning`` is what its working calls it."""
    match [part for part in ref.removeprefix("stock:").split("/") if part]:
        case ["servos", name, "body", side]:
            return f"{SIDES[int(side)]} of {name.replace('_', ' ')}"
        case ["masses", *_] | [*_, "mass"] if "mass" not in meaning:
            return f"mass of {meaning.replace('_', ' ')}"
        case [*_, field]:
            return CALLED.get(field, meaning)
    return meaning


def settle(given: Mapping[Ref, Given], refs: Sequence[Ref], gathered: object = None) -> tuple[Settle, ...]:
    """Return the tests for some inputs, each with the fields to type its numbers into, in the order of the inputs.

    What a skin is made of is not weighed or measured by itself: the skin is pulled as it hangs on the part, at three places.
    What goes into one entry of the file is one test, so that an entry is told once and whole.
    """
    together: dict[str, list[Ref]] = {}
    for ref in refs:
        entry = entry_of(ref, gathered)
        together.setdefault(f"entry {entry}" if entry else test_of(ref, gathered), []).append(ref)
    return tuple(Settle(inputs=tuple(some), test=_told(some, given, gathered)) for some in together.values())


def test_of(ref: Ref, gathered: object) -> str:
    """Return what two inputs have in common that one test measures."""
    parts = ref.split("/")
    field = field_of(ref)
    if (skin := _skin_of(gathered, ref)) is not None:
        return skin
    if ref.startswith("stock:") and field in ("price", "hours"):
        return field
    if (entry := entry_of(ref, gathered)) and field in MOTOR:
        return f"{entry} {BY_FIELD[field]}"
    return "/".join(parts[:-1]) if field == "body" else ref


def _told(refs: Sequence[Ref], given: Mapping[Ref, Given], gathered: object) -> str:
    skin = _skin_of(gathered, refs[0])
    if skin is not None:
        return skin
    ways = list(dict.fromkeys(_way(ref, given) for ref in refs))
    text = ". Then ".join((ways[0], *(f"{way[0].lower()}{way[1:]}" for way in ways[1:])))
    return f"{text}. {typed(refs, given, gathered)}."


def _way(ref: Ref, given: Mapping[Ref, Given]) -> str:
    """Return what to do at the bench for one input."""
    known, field = given.get(ref), field_of(ref)
    if ref.startswith("stock:liners/") and field == "friction":
        return PULLED_THROUGH
    if ref.startswith("stock:backings/") and field == "mass":
        return BY_FIELD["density"]
    if ref.startswith(("stock:skins/", "stock:backings/")) and field not in ("density", "price"):
        return BY_FIELD["modulus"]
    if field == "mass" or (known is not None and known.unit == "kg"):
        return f"Weigh {_weighed([part for part in ref.split('/') if part])} on a kitchen scale"
    return BY_FIELD.get(field) or BY_UNIT.get(known.unit if known else "", "Measure it")


def _weighed(parts: list[str]) -> str:
    """Return what a mass is the mass of; ``parts`` are those of its ref."""
    match parts:
        case ["functions", name, *_]:
            return f"what moves with the {named(name)}"
        case ["masses", name, *_]:
            return f"the {name.replace('_', ' ')}"
        case ["stock:servos" | "servos", name, *_]:
            return f"one {name.replace('_', ' ')} with its lead and horn"
        case ["supply", *_]:
            return "the pack with its lead"
    return "it"


def _skin_of(gathered: object, ref: Ref) -> str | None:
    """Return how to pull a skin whose stuff is the input; None where the input is something else, or no skin was gathered.

    The pull that a scale shows at the telling point, with the skin on less with it off, times the telling arm over the
    skin's hold, is the skin's own force; its stretch is the hold times the way from the pose in which it was sculpted.
    """
    if not ref.startswith(("stock:skins/", "stock:backings/")) and not ref.endswith(("/relief", "/backing", "/curve")):
        return None
    load = getattr(gathered, "pull", gathered)
    load = getattr(load, "borne", load)
    outputs, skins = getattr(load, "outputs", ()), getattr(load, "skins", ())
    for moved in outputs:
        for skin in skins:
            hold = skin.card.holds.get(moved.name)
            if hold is not None and (skin.card.strip is not None or ref == skin.card.ref("curve")):
                return _pulled(moved.name, moved.function, moved.unit, skin.name, skin.card, hold)
    return None


def _pulled(name: str, function: Function, unit: str, skin: str, card: SkinCard, hold: float) -> str:
    sculpted = card.sculpted_at.get(name, function.neutral)
    far = function.travel[1] if hold > 0.0 else function.travel[0]
    if abs(far - sculpted) < 0.1 * function.span:  # cast at that very end: all its stretch is the other way
        far = function.travel[0] + function.travel[1] - far
    places = [sculpted + share * (far - sculpted) for share in GAPES]
    stretches = ", ".join(show(abs(hold * (place - sculpted)), "m") for place in places)
    tells = function.tells_at
    turns = unit == "rad"
    arm = tells.arm if tells is not None and turns else abs(hold)
    point = f"{tells.point}, {show(arm, 'm')} from the axis" if tells is not None and turns else "the fixing"
    factor = 9.81 * (arm if turns else 1.0) / abs(hold)
    at = ", ".join(show(place, unit) for place in places)
    plain = skin.removesuffix("_left").removesuffix("_right") if card.side is not None else skin
    file = f"measured/{plain}.csv"
    return (
        f"Take the horn off and pull the {named(name)} with a luggage scale at {point}, to {at}: once with the skin on, once with it "
        f"off. Each difference in kilograms x {number_text(factor)} is the skin's force in newton. Write the stretches 0 mm, {stretches} "
        f"and the forces 0 and those three into {file} (heads: stretch [mm],force [N]), and at skins > {plain} put curve: {file} in "
        f"place of strip, with source: measured."
    )
