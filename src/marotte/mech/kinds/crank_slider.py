"""The crank-slider, in line or offset: docs/methods/crank_slider.md.

Plane coordinates: the axle at the origin, the slide along x at y = offset; the horn's angle from x, counter-clockwise.
"""

from __future__ import annotations

import math
from typing import Literal, cast

from marotte.basis.contracts.common import Unknown
from marotte.basis.contracts.mech import Jammed, Transmission
from marotte.creature.schema.mechs import CrankSlider
from marotte.mech.case import Case, jammed
from marotte.mech.chain import Chain, Link
from marotte.mech.joints import EX, EY, slide, turn
from marotte.mech.kernels import POSITION, REACH, follow
from marotte.mech.span import Extra, transmit

LONG = 50.0
"""A rod that is not written is taken to be this many horns long: its lean then costs under a percent of the stroke."""


def slide_link(
    case: Case, horn: float, rod: float, offset: float, angle: float, branch: Literal["open", "crossed"],
    slides: Literal["out", "in"], neutral: float, names: tuple[str, str] = ("horn", "slide"),
) -> Link | Jammed:  # fmt: skip
    """Return the link from a horn that stands at an angle [rad] to a slide whose variable is ``neutral`` there."""
    near = turn((0.0, 0.0, 0.0), EX, EY, horn, angle)
    sign = 1.0 if branch == "open" else -1.0
    rows = follow([0.0], near, slide((0.0, offset, 0.0), EX), rod, sign)  # type: ignore[arg-type]
    if rows[REACH, 0] <= 0.0:
        least = abs(horn * math.sin(angle) - offset)
        sentence = (
            f"{case.said}: a rod of {rod * 1e3:.1f} mm does not reach the slide with the {names[0]} at "
            f"{math.degrees(angle):.0f} deg: longer than {least * 1e3:.1f} mm would"
        )
        return jammed(case, "unclosed", sentence, ("rod", "horn_at_neutral"))
    way = 1.0 if slides == "out" else -1.0
    x = float(rows[POSITION, 0])
    far = slide((x - way * neutral, offset, 0.0), (way, 0.0, 0.0))
    return Link(near=near, far=far, rod=rod, at=(0.0, neutral), slop=case.slop()[0], names=names)


def link_of(case: Case) -> Link | Unknown:
    """Return the one link of a crank-slider, as it stands at neutral."""
    record = cast(CrankSlider, case.mechanism.record)
    return slide_link(
        case, record.horn, record.rod, record.offset, record.horn_at_neutral, record.branch, record.slides,
        case.functions[0].neutral,
    )  # fmt: skip


def solve(case: Case) -> Transmission | Unknown:
    """Return the transmission of a crank-slider over the function's travel."""
    record = cast(CrankSlider, case.mechanism.record)
    link = link_of(case)
    if isinstance(link, Unknown):
        return link
    extra = Extra(told=case.slop()[1], clocking={"horn": record.horn_at_neutral})
    return transmit(case, Chain((link,), case.functions[0].neutral), extra)
