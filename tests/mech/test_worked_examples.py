"""The worked examples of the method pages are what the engine gives: each number is looked for in its page as it is printed."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from marotte.basis.contracts.mech import Slop, Transmission
from marotte.basis.units import show
from marotte.creature.load import load
from marotte.creature.schema.mechs import (
    BallRod,
    BellCrank,
    Cable,
    CrankSlider,
    Direct,
    FourBar,
    GimbalArms,
    HandRod,
    PullPull,
    TeeBar,
)
from marotte.creature.schema.servos import ServoPoint
from marotte.creature.shelf import shelf
from marotte.drive.servo import available_torque_nm, current_for_torque_a, motor
from marotte.drive.supply import lead_ohm
from marotte.mech.size import Sizing, size
from marotte.mech.skin import force_at, force_on, stretch_at
from marotte.mech.slop import slop
from tests.mech.rigs import DEG, LID, eye, function, jaw, sound
from tests.mech.test_wires_and_rods import pulled
from tests.mech.test_workshop_mistakes import _jaw_and_skin

DOCS = Path(__file__).parents[2] / "docs"


def said(page: str, *numbers: str) -> None:
    """Find every one of some numbers in a page."""
    text = (DOCS / "methods" / f"{page}.md").read_text(encoding="utf-8")
    assert [number for number in numbers if number not in text] == []


def least(found: Transmission, joint: str) -> str:
    return f"{np.degrees(found.joints[joint].min()):.1f} deg"


def test_the_jaw_of_the_four_bars_page():
    for clock in (70, 90):
        found = jaw(clock)
        said("four_bar", f"{np.degrees(found.clocking['horn']):.1f} deg", least(found, "horn"), least(found, "arm"))
        said("four_bar", f"{found.rate[0, 0, 0]:.2f} and {found.rate[0, 0, -1]:.2f}")
        said("four_bar", f"{np.degrees(found.grid[0][-1]):.1f} deg")


def test_the_lip_of_the_crank_sliders_page():
    found = sound(CrankSlider(horn=0.009, rod=0.028, offset=0.004), function("lip_lower", -0.004, 0.005))
    low, high = (1e3 * DEG * found.rate[0, 0, i] for i in (0, -1))
    said("crank_slider", f"{low:.3f} mm (down)", f"{high:.3f} mm (up)", "79.7 deg", "0.157 mm")
    assert np.degrees(found.joints["slide"].min()) == pytest.approx(79.7, abs=0.05)
    ends = [f"{np.degrees(found.joints['horn'][i]):.1f}" for i in (0, -1)]
    said("crank_slider", f"{ends[0]} and {ends[1]} deg")
    said("crank_slider", "from {:.1f} to {:.1f} deg".format(*np.degrees(found.grid[0][[0, -1]])))


@pytest.mark.parametrize("clock", [110, 95, 80])
def test_the_lid_of_the_ball_rods_page(clock):
    record = BallRod(
        horn=0.010, rod=0.034, arm=0.010, horn_at=(0.010, -0.010, -0.034), horn_axis=(0.0, 1.0, 0.0),
        arm_at=(0.0, 0.0, 0.0), arm_at_neutral=clock * DEG, horn_at_neutral=-95 * DEG,
    )  # fmt: skip
    found = sound(record, function("lid_upper", 0.0, 50 * DEG, 14 * DEG))
    ratios = f"{found.rate.min():.2f} to {found.rate.max():.2f}"
    said("ball_rod", f"| {clock} deg | {ratios} | {least(found, 'horn')} | {least(found, 'arm')}")


def test_the_eye_of_the_gimbals_page():
    rim, behind = (eye(turn_deg=25.0, arms=GimbalArms(spacing=0.016, height=0.010, back=b)) for b in (0.0, 0.010))
    lifts = [np.degrees(found.facts["turning_lifts_rad"]) for found in (rim, behind)]
    said("two_rod_gimbal", f"{lifts[0]:.2f} deg | {lifts[1]:.1f} deg")
    assert rim.angle is not None
    assert behind.angle is not None
    flat = [np.degrees(found.angle[found.inside].min()) for found in (rim, behind)]
    said("two_rod_gimbal", f"{flat[0]:.1f} deg | {flat[1]:.1f} deg")


def test_the_corner_of_the_bell_cranks_page():
    record = BellCrank(
        horn=0.012, rod=0.034, in_arm=0.012, out_arm=0.016, ground=0.036, next_rod=0.030, out_arm_at_neutral=85 * DEG
    )
    found = sound(record, function("lip_corner", -0.005, 0.006))
    rate = found.rate[0, 0] * 1e3 * DEG
    said("bell_crank", f"{np.interp(0.0, found.grid[0], rate):.3f} mm", f"{rate[0]:.3f} and {rate[-1]:.3f}")
    assert found.angle is not None
    assert found.joints["second crank arm"].min() == found.angle.min()
    said("bell_crank", least(found, "second crank arm"), f"{1e3 * found.play[0]:.2f} mm")


def test_the_brows_of_the_tee_bars_page():
    brows = function("brow_inner", -0.005, 0.009), function("brow_outer", -0.004, 0.006)
    found = sound(TeeBar(shares=(0.6, 0.4), horn=0.020, rod=0.060), *brows)
    assert found.position[:, -1] * 1e3 == pytest.approx([9.0, 6.0])
    said("tee_bar", f"{-1e3 * found.position[0, 0] / 0.6:.2f} mm", f"{1e3 * found.position[1, 0]:.1f} mm of -4")
    assert [fault.kind for fault in found.faults] == ["shares"]
    assert sound(TeeBar(shares=(0.56, 0.44), horn=0.020, rod=0.060), *brows).position[:, -1] * 1e3 == pytest.approx(
        [7.636, 6.0], abs=1e-3
    )


def test_the_plate_wire_loop_and_rods_of_their_pages():
    plate = sound(Direct(plate=0.06), function("beak", 0.0, 35 * DEG))
    said("direct", f"{1e3 * plate.grid[0][-1]:.1f} mm")
    for bends, bare in ((1, 0.015), (3, 0.060)):
        record = Cable(
            pulls="both_ways", core=0.001, bore=0.0016, bends=(90 * DEG,) * bends, length=0.3, bare=bare
        )  # fmt: skip
        wire = pulled(record, "lip_corner", -0.005, 0.009)
        said("cable", f"{1e3 * wire.facts['lost_motion_m']:.2f} mm", f"{wire.facts['push_limit_n']:.0f} N")
        if bends == 1:
            said("cable", f"{100 * wire.forward:.1f} %")
    loop = pulled(PullPull(horn=0.012, arm=0.010, length=0.4, bends=(math.pi,), preload=10.0))
    said("pull_pull", f"{100 * loop.forward:.0f} %", f"{loop.dry:.3f} N·m", f"{loop.rate[0, 0, 0]:.1f} times")
    for tube in ({"outer": 0.005, "inner": 0.003}, {"outer": 0.003, "material": "steel"}):
        facts = pulled(HandRod(length=0.45, end_mass=0.030, **tube), "wing_reach", 0.0, 0.12).facts
        give = 1e3 * facts["end_give_m_per_n"]
        said("rod", f"{1e3 * facts['mass_kg']:.1f} g | {facts['first_bending_hz']:.1f} Hz | {give:.2g} mm")


@pytest.mark.parametrize(("sculpted", "thickness"), [(0, 0.004), (0, 0.002), (8, 0.002)])
def test_the_chin_of_the_skins_page(sculpted, thickness):
    _, chin = _jaw_and_skin(sculpted, thickness)
    x, torque = stretch_at(chin, {"jaw": 22 * DEG}), -force_on(chin, "jaw", {"jaw": 22 * DEG})
    said("skin", f"{1e3 * x:.1f} mm | {1 + x / 0.045:.2f} | {force_at(chin, x):.1f} N | {torque:.2f} N·m")


@pytest.mark.parametrize(("clock", "says"), [(104, True), (73, False)])
def test_the_lid_of_the_slop_and_angle_pages(clock, says):
    own = function("lid_upper", 0.0, 62 * DEG, 14 * DEG, tells_at={"arm": 0.0217})
    record = FourBar(**LID, arm_at_neutral=clock * DEG)
    made = sound(record, own)
    lost = slop("out0", own, record, made, (shelf("2026-1").servos["mini_fast"],))
    assert isinstance(lost, Slop)
    if not says:  # shut at 58 deg: what its ball joints lose there
        worst = 0.2 / (10 * math.sin(made.joints["arm"][-1])) * 21.7
        assert 1e3 * lost.parts[2].new_m == pytest.approx(worst, abs=0.02)
        said("slop", f"= {worst:.2f} mm: half")
        return
    said("slop", *(f"{1e3 * part.new_m:.2f} |" for part in lost.parts), f"**{1e3 * lost.new_m:.2f}**")
    said("slop", f"{made.rate[0, 0, -1]:.3f} x 21.7 mm")
    arm, horn = (np.degrees(made.joints[name][-1]) for name in ("arm", "horn"))
    said("transmission-angle", f"{arm:.2f} deg", f"{horn:.1f} deg")


def test_the_servo_and_the_leads_of_their_pages():
    sheet = ServoPoint(at=6.0, stall=1.1, free=400 * DEG, stall_current=2.4)
    made = motor(shelf("2026-1").servos["standard"].model_copy(update={"points": (sheet,), "derate": 0.5}), 6.0)
    left = float(available_torque_nm(made, 257.5 * DEG))
    said("servo", f"{made.resistance_ohm:.1f} ohm", f"{made.back_emf_vs:.3f} V s/rad", f"{left:.3f} N·m are left")
    said("servo", f"{float(current_for_torque_a(made, 0.103)):.2f} A")
    said("operating-point", f"{left:.3f} N·m. Held still it would have {made.stall_torque_nm:.2f}")
    trunk, face = lead_ohm(12, 1.5), lead_ohm(18, 0.4)
    said("supply", f"{1e3 * trunk:.1f} mohm and {1e3 * face:.1f} mohm", f"drops {8 * trunk:.3f} V", f"{4 * face:.3f} V")
    said("supply", f"{6.0 - 8 * trunk - 4 * face:.2f} V")


def test_every_kind_of_mech_and_every_fit_has_its_picture_and_none_is_heavy():
    for page in ("direct", "four_bar", "crank_slider", "ball_rod", "two_rod_gimbal", "bell_crank", "tee_bar", "cable",
                 "pull_pull", "rod", "skin", "servo", "supply", "fit", "fit-access", "fit-wearer"):  # fmt: skip
        said(page, f"](../img/{page}.png)")
    assert [p.name for p in (DOCS / "img").glob("*.png") if p.stat().st_size > 120_000] == []


def test_the_sizings_of_their_page():
    found = {}
    for who, name in (("tansy", "lid_upper_left"), ("colm", "muzzle_lift"), ("tansy", "eye_turn_left")):
        sizing = size(load(DOCS.parent / "examples" / who), name)
        assert isinstance(sizing, Sizing)
        found[name] = sizing
    lid, muzzle, gaze = found.values()
    for one in (lid.now, lid.candidates[0], muzzle.now, muzzle.candidates[0]):
        assert one is not None
        assert one.least_angle is not None
        said("sizing", show(one.least_angle, "rad"), f"{one.use:.0%}")
    assert lid.candidates[0].changes == {"arm_at_neutral": (pytest.approx(104 * DEG), pytest.approx(80 * DEG))}
    said("transmission-angle", "104 deg -> 80 deg", show(lid.candidates[0].least_angle or 0.0, "rad"))
    assert muzzle.now is not None
    assert gaze.now is not None
    said("sizing", f"swings {show(muzzle.now.swing, 'rad')}", f"swings {show(muzzle.candidates[0].swing, 'rad')}")
    assert {field: 1e3 * to for field, (_, to) in muzzle.candidates[0].changes.items()} == pytest.approx({"horn": 23.0})
    assert gaze.now.cross_talk is not None
    said(
        "sizing",
        f"the tool says {show(gaze.now.swing, 'rad')}",
        f"{gaze.now.use:.0%}",
        f"{show(gaze.now.cross_talk[0], 'rad', 2)} of",
    )
