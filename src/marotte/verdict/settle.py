"""The ten-minute shop test that settles an undecided grade, chosen by the kind of the input that leaves it open."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from marotte.basis.contracts.finding import Settle
from marotte.basis.faults import shown_path
from marotte.basis.given import Given, Ref

BY_FIELD: Final[dict[str, str]] = {
    "stall": "Clamp the servo, put a 100 mm arm on it and let it press on a kitchen scale for two seconds: torque is the scale's "
    "kilograms x 9.81 x 0.1",
    "free": "Film the unloaded servo at 240 frames a second over 60 deg and count the frames: the time is frames / 240",
    "stall_current": "Hold the servo still for two seconds with a current meter in its lead",
    "free_current": "Let the servo sweep unloaded with a current meter in its lead",
    "derate": "Clamp the servo, put a 100 mm arm on it and let it press on a kitchen scale for two seconds: derate is that torque "
    "over the advertised one",
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
    "play": "Hold the horn, rock the part at its telling point and read the rocking off a ruler, then divide by the distance "
    "from the axis",
    "slop": "Hold the horn, rock the part at its telling point and read the rocking off a ruler",
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


def settle(given: Mapping[Ref, Given], ref: Ref, gathered: object = None) -> Settle:
    """Return the test for one input, with the field to type its number into."""
    known = given.get(ref)
    parts = [part for part in ref.split("/") if part]
    words = [word for word in reversed(parts) if not word.isdigit()]
    field = words[0] if words else ""
    test = BY_FIELD.get(field) or BY_UNIT.get(known.unit if known else "", "Measure it")
    return Settle(input=ref, test=f"{test}. {where_to_write(ref)}.")


def where_to_write(ref: Ref) -> str:
    """Return where a measured number goes, in words."""
    if ref.startswith("stock:"):
        kind, _, rest = ref.removeprefix("stock:").partition("/")
        return (
            f"Write it under your own entry of {kind}, `like: {rest.split('/', 1)[0]}`, as "
            f"{shown_path('/' + rest.partition('/')[2])}, with source: measured"
        )
    if ref.startswith("default:"):
        name, _, field = ref.removeprefix("default:").partition("/")
        return f"Write it as `{field}` in its own block ({name}), with source: measured"
    return f"Write it at {shown_path(ref)}, with source: measured"
