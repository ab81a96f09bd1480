"""The ten-minute shop test that settles an undecided grade, chosen by the kind of the input that leaves it open."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from marotte.basis.contracts.finding import Settle
from marotte.basis.given import Given, Ref
from marotte.basis.units import number_text, show
from marotte.creature.naming import named
from marotte.creature.schema.functions import Function
from marotte.creature.schema.skins import SkinCard
from marotte.verdict.typed import typed

PRESSED: Final = (
    "Clamp the servo at the voltage that it will get, put a 100 mm arm on it and let it press on a kitchen scale for two seconds: its torque "
    "is the scale's kilograms x 9.81 x 0.1"
)
PULLED_THROUGH: Final = (
    "Hang a known weight on the output and pull at the input with a luggage scale until it just moves: efficiency is the force that the "
    "lengths would ask for over the one that the scale shows"
)
BY_FIELD: Final[dict[str, str]] = {
    "stall": PRESSED,
    "free": "Film the unloaded servo at 240 frames a second over 60 deg and count the frames: the time is frames / 240",
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
    "response": "Film signal lamp and horn together at 240 frames a second and count the frames between them",
    "delay": "Film lever and part together at 240 frames a second and count the frames between them",
}  # fmt: skip
"""Last word of the field -> test."""
BY_UNIT: Final[dict[str, str]] = {
    "kg": "Weigh it on a kitchen scale",
    "m": "Measure it with calipers or a steel rule",
    "rad": "Lay a phone's inclinometer on it at both positions and take the difference",
    "N*m": "Pull with a luggage scale at a measured distance from the axis: torque is kilograms x 9.81 x metres",
    "N": "Pull with a luggage scale: force is kilograms x 9.81",
    "rad/s": "Film it at 240 frames a second over a known angle and count the frames",
    "s": "Film it at 240 frames a second and count the frames",
    "A": "Put a current meter in the lead and read it while it works",
    "V": "Put a voltmeter on it while it works",
    "N*m/rad": "Pull with a luggage scale at two positions, at a measured distance from the axis: stiffness is the difference of the "
    "torques over the angle between",
    "N/m": "Pull with a luggage scale at two positions: stiffness is the difference of the forces over the distance between",
}  # fmt: skip


CALLED: Final[dict[str, str]] = {"derate": "share of its servo's advertised torque that is real"}
"""Last word of the field -> what a finding that rests on it calls it, where the schema's words do not fit a sentence."""
GAPES: Final = (0.35, 0.7, 1.0)
"""Shares of the travel at which a skin is pulled."""


def settle(given: Mapping[Ref, Given], ref: Ref, gathered: object = None) -> Settle:
    """Return the test for one input, with the field to type its number into.

    What a skin is made of is not weighed or measured by itself: the skin is pulled as it hangs on the part, at three places.
    """
    skin = _skin_of(gathered, ref)
    if skin is not None:
        return Settle(input=ref, test=skin)
    known = given.get(ref)
    parts = [part for part in ref.split("/") if part]
    words = [word for word in reversed(parts) if not word.isdigit()]
    field = words[0] if words else ""
    test = BY_FIELD.get(field) or BY_UNIT.get(known.unit if known else "", "Measure it")
    if field == "mass" or (known is not None and known.unit == "kg"):
        test = f"Weigh {_weighed(parts)} on a kitchen scale"
    if ref.startswith("stock:liners/") and field == "friction":
        test = PULLED_THROUGH
    if ref.startswith("stock:backings/") and field == "mass":
        test = BY_FIELD["density"]
    elif ref.startswith(("stock:skins/", "stock:backings/")) and field not in ("density", "price"):
        test = BY_FIELD["modulus"]
    return Settle(input=ref, test=f"{test}. {typed(ref, field, given, gathered)}.")


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
    if not ref.startswith(("stock:skins/", "stock:backings/")) and not ref.endswith(("/relief", "/backing")):
        return None
    load = getattr(gathered, "pull", gathered)
    load = getattr(load, "borne", load)
    outputs, skins = getattr(load, "outputs", ()), getattr(load, "skins", ())
    for moved in outputs:
        for skin in skins:
            hold = skin.card.holds.get(moved.name)
            if hold is not None and skin.card.strip is not None:
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
