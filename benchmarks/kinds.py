"""One transmission of every kind of mechanism over 361 angles, and sizing, against what is promised."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from functools import partial

from tests.mech.rigs import DEG, JAW, function, sound

from benchmarks.creatures import TANSY
from benchmarks.rows import Row, promise, seconds
from marotte.basis.contracts.mech import Transmission
from marotte.creature.load import load
from marotte.creature.schema.functions import Function
from marotte.creature.schema.mechs import (
    BallRod,
    BellCrank,
    Cable,
    CrankSlider,
    Direct,
    FourBar,
    GimbalArms,
    HandRod,
    Linkage,
    PullPull,
    TeeBar,
    TwoRodGimbal,
)
from marotte.creature.shelf import shelf
from marotte.mech.size import size
from marotte.mech.size_skin import size_with_skin

PLANAR_S, SPATIAL_S, SIZING_S = 0.001, 0.010, 2.0


def kinds() -> dict[str, tuple[float, Callable[[], Transmission]]]:
    """Return by kind what is promised [s], and what makes one."""
    stock = shelf("2026-1")

    def of(record: Linkage, *functions: Function, inputs: tuple[str, ...] = ("in",)) -> Callable[[], Transmission]:
        return lambda: sound(record, *functions, inputs=inputs, stock=stock)

    jaw, tail = function("jaw", 0.0, 22 * DEG), function("tail", 0.0, 80 * DEG, tells_at={"arm": 0.12})
    brow, corner = function("brow", -0.005, 0.006), function("lip_corner", -0.005, 0.006)
    lid = function("lid_upper", -25 * DEG, 25 * DEG)
    eye = (function("eye_turn", -28 * DEG, 28 * DEG), function("eye_lift", -18 * DEG, 18 * DEG))
    in_space = BallRod(
        horn=0.010, rod=0.0385, arm=0.012, horn_at=(-0.010, -0.0385, -0.012), horn_axis=(0.0, 0.0, 1.0),
        arm_at=(0.0, 0.0, 0.0), arm_at_neutral=180 * DEG, horn_at_neutral=-90 * DEG,
    )  # fmt: skip
    crank = BellCrank(horn=0.012, rod=0.034, in_arm=0.012, out_arm=0.016, ground=0.035)
    wire = Cable(horn=0.010, arm=0.010, core="steel_0p8", bore=0.0012, bends=(90 * DEG,), length=0.2, pulls="both_ways")
    loop = PullPull(horn=0.010, arm=0.012, core="steel_0p8", bore=0.0012, bends=(90 * DEG,), length=0.3)
    gimbal = TwoRodGimbal(horn=0.012, rod=0.044, arms=GimbalArms(spacing=0.016, height=0.010))
    return {
        "direct": (PLANAR_S, of(Direct(), jaw)),
        "four-bar": (PLANAR_S, of(FourBar(**JAW, arm_at_neutral=70 * DEG), jaw)),
        "crank-slider": (PLANAR_S, of(CrankSlider(horn=0.010, rod=0.046), brow)),
        "bell-crank": (PLANAR_S, of(crank, corner)),
        "tee bar": (PLANAR_S, of(TeeBar(shares=(0.6, 0.4), horn=0.02, rod=0.06), brow, brow)),
        "cable in a housing": (PLANAR_S, of(wire, tail)),
        "pull-pull loop": (PLANAR_S, of(loop, tail)),
        "rod in the hand": (PLANAR_S, of(HandRod(length=0.45, outer=0.005), tail)),
        "ball-ended rod in space": (SPATIAL_S, of(in_space, lid)),
        "two-rod gimbal, a sheet of 41 x 41": (SPATIAL_S, of(gimbal, *eye, inputs=("a", "b"))),
    }


def rows() -> Iterator[Row]:
    """Measure one transmission of every kind; the best of many, as other work on the machine only ever adds."""
    for name, (most, make) in kinds().items():
        make()
        yield promise(f"transmission, {name}", min(_once(make) for _ in range(30)), "s", most)
    creature = load(TANSY)
    names = ("lid_upper_left", "jaw", "lip_corner_left", "eye_turn_left", "ear_tip_left")
    sizings: dict[str, Callable[[], object]] = {name: partial(size, creature, name) for name in names}
    sizings["jaw, its skin eased with it"] = partial(size_with_skin, creature, "jaw")
    for name, run in sizings.items():
        run()
        yield promise(f"sizing, {name}", seconds(run, 3), "s", SIZING_S)


def _once(make: Callable[[], Transmission]) -> float:
    start = time.perf_counter()
    make()
    return time.perf_counter() - start
