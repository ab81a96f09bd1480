"""Two inputs, shared inputs, means without a servo, gravity in the head, the lag that is found, heat over the part."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from marotte.basis.contracts.common import f64
from marotte.basis.contracts.drive import SUMS
from marotte.basis.contracts.mech import Mechs, Skin, Transmission
from marotte.basis.contracts.script import Window
from marotte.creature.schema.means import Air, Body, Screen, Servo
from marotte.creature.schema.servos import ServoPoint
from marotte.creature.schema.supply import Mains, Supply
from marotte.drive.heat import winding_rise
from marotte.drive.islands import islands
from marotte.drive.model import DriveModel, model
from marotte.drive.plain import follow, plain_law
from marotte.drive.respond import respond, trace
from marotte.drive.windows import cut_rows, gravity_at, gravity_series
from tests.drive.rigs import ANATOMY, LOSSLESS, creature, function, load, motion, servo, straight, times, windows
from tests.drive.test_step import regulated

STIFF = Supply(battery=Mains(kind="bench", volts=6.0, limit=500.0))


def gimbal(cross: float = 0.0, bend: float = 0.0) -> Transmission:
    """Two outputs on two inputs: each its own, plus a share of the other, plus a bend."""
    a = np.linspace(-1.0, 1.0, 61)
    x, y = np.meshgrid(a, a, indexing="ij")
    one = np.ones_like(x)
    position = np.stack((x + cross * y + 0.5 * bend * x**2, y - cross * x + 0.5 * bend * y**2))
    rate = np.stack((np.stack((one + bend * x, cross * one)), np.stack((-cross * one, one + bend * y))))
    curve = np.zeros((2, 2, 61, 61))
    curve[0, 0] = curve[1, 1] = bend
    return Transmission(
        name="eye", inputs=("a", "b"), outputs=("turn", "lift"), grid=(f64(a), f64(a)), position=f64(position),
        rate=f64(rate), bend=f64(curve), angle=None, play=f64([0.0, 0.0]),
    )  # fmt: skip


def looks(seconds: float = 3.0) -> dict[str, np.ndarray]:
    t = times(seconds)
    soft = np.minimum(t, 1.0) ** 2
    return {"turn": 0.4 * soft * np.sin(2 * np.pi * 1.1 * t), "lift": 0.3 * soft * np.cos(2 * np.pi * 0.7 * t)}


def eye(cross: float = 0.0, bend: float = 0.0) -> DriveModel:
    loads = {name: load(name, mass=0.018, arm=0.01, inertia=4e-6) for name in ("turn", "lift")}
    return creature({"eye": gimbal(cross, bend)}, loads, STIFF)


def test_a_gimbal_without_cross_talk_is_two_straight_mechs() -> None:
    span = Window(id="w", start=0, stop=3600, line=1)
    together = trace(eye(), motion(looks()), span)[0]
    loads = {name: load(name, mass=0.018, arm=0.01, inertia=4e-6) for name in ("turn", "lift")}
    apart = trace(creature({n: straight(n) for n in ("turn", "lift")}, loads, STIFF), motion(looks()), span)[0]
    assert np.abs(together.reached - apart.reached).max() < 1e-6
    assert np.abs(together.drive[3] - apart.drive[3]).max() < 1e-4 * np.abs(apart.drive[3]).max()


@settings(deadline=None, max_examples=8)
@given(cross=st.floats(-0.3, 0.3), bend=st.floats(-0.3, 0.3))
def test_a_gimbal_goes_where_it_is_asked_whatever_its_cross_talk(cross: float, bend: float) -> None:
    held = {name: np.full(480, at) for name, at in (("turn", 0.3), ("lift", -0.2))}
    found = trace(eye(cross, bend), motion(held), Window(id="w", start=0, stop=2400, line=1))[0]
    # the dead band and the step of the signal, and gravity against the proportional loop
    assert found.reached[:, -1] == pytest.approx([0.3, -0.2], abs=0.02)


def test_energy_of_a_bent_gimbal_is_heat_gear_loss_and_work() -> None:
    made = eye(cross=0.2, bend=0.3)
    found = trace(made, motion(looks(4.0)), Window(id="w", start=0, stop=4800, line=1))[0]
    _, omega, _, _, amps, volts, duty = found.drive
    dt = 1 / 1200
    motor = made.drives[0].motor
    slope = motor.back_emf_vs - motor.stall_torque_nm / (motor.stall_current_a - motor.free_current_a)
    level = motor.back_emf_vs * motor.free_current_a - slope * motor.free_current_a
    drawn = float((volts * duty * amps).sum() * dt)
    lost = float((amps**2).sum() * dt * motor.resistance_ohm) + float(
        ((level + slope * np.abs(amps)) * np.abs(omega)).sum() * dt
    )
    speed = np.gradient(found.reached, dt, axis=1)
    inertia = 4e-6 + 0.018 * 0.01**2
    kinetic = 0.5 * motor.inertia_kgm2 * (omega**2).sum(axis=0) + 0.5 * inertia * (speed**2).sum(axis=0)
    lifted = -0.018 * 9.80665 * 0.01 * np.sin(found.reached).sum(axis=0)
    stored = float(kinetic[-2] + lifted[-2] - kinetic[1] - lifted[1])
    assert drawn == pytest.approx(lost + stored, rel=0.02)


def test_a_shared_input_serves_its_outputs_by_least_squares() -> None:
    x = np.linspace(-1.0, 1.0, 101)
    bar = Transmission(
        name="brows", inputs=("brows",), outputs=("inner", "outer"), grid=(f64(x),), position=f64([0.6 * x, 0.4 * x]),
        rate=f64([[np.full(101, 0.6)], [np.full(101, 0.4)]]), bend=f64(np.zeros((2, 1, 101))), angle=None, play=f64([0, 0]),
    )  # fmt: skip
    made = creature({"brows": bar}, supply=STIFF)
    asked = motion({"inner": np.full(480, 0.3), "outer": np.full(480, 0.1)})
    found = trace(made, asked, Window(id="w", start=0, stop=2400, line=1))[0]
    best = (0.6 * 0.3 + 0.4 * 0.1) / (0.6**2 + 0.4**2)
    assert found.drive[2, 0, -1] == pytest.approx(best, abs=0.002)


def test_each_mean_without_a_servo_follows_by_its_own_law() -> None:
    t = times(3.0)
    asked = np.sin(2 * np.pi * t).astype(np.float32)
    part = function()
    play = follow(plain_law("x", part, Body(lag=0.2)), asked)
    assert np.abs(play - asked).max() == pytest.approx(0.1, abs=1e-6)
    late = follow(plain_law("x", part, Screen(delay=0.1)), asked)
    assert np.abs(late[240:] - np.sin(2 * np.pi * (t[240:] - 0.1))).max() < 1e-3
    slow = follow(plain_law("x", part, Air(time=2.0)), np.where(t < 1, -0.8, 0.8).astype(np.float32))
    assert np.abs(np.diff(slow)).max() == pytest.approx(1.6 / 2.0 / 240, rel=1e-6)
    exact = follow(plain_law("x", part, None), asked)
    assert (exact == asked).all()


def test_functions_without_a_servo_stand_in_the_response() -> None:
    parts = {"jaw": function(), "tail": function("tail")}
    made = model(
        parts, {"jaw": Servo(model="mini"), "tail": Body(lag=0.2)}, {"mini": servo()}, STIFF,
        Mechs(transmissions={"jaw": straight("jaw")}, loads={}, skins=()), ANATOMY,
    )  # fmt: skip
    t = times(2.0)
    found = respond(made, motion({"tail": 0.5 * np.sin(6 * t), "jaw": 0.3 * np.sin(3 * t)}), windows(2400))
    assert found.reached.names == ("jaw", "tail")
    assert found.worst.error[1] == pytest.approx(0.1, abs=1e-3)


def test_gravity_in_the_head_is_down_turned_back_by_the_head() -> None:
    """The series by its formula against the rotation matrices."""
    nod, tilt = np.array([0.0, 0.3, -0.4]), np.array([0.0, -0.2, 0.25])
    made = gravity_series(motion({"head_nod": nod, "head_tilt": tilt, "head_turn": np.array([1.0, 2.0, 3.0])}))
    for k in range(3):
        assert made[k, 0] == pytest.approx(gravity_at(float(nod[k]), float(tilt[k])), abs=1e-6)
        assert made[k, 1] == pytest.approx((0.0, -9.80665, 0.0))
    assert made[1, 0, 2] < 0  # nose up: what hangs in the head is pulled to the back


@pytest.mark.parametrize("delay", [0.0, 0.04, 0.1])
def test_the_lag_found_is_the_delay_of_signal_and_servo(delay: float) -> None:
    quick = servo(response=delay, dead_band=0.0005, full_at=0.02)
    made = creature({"jaw": straight("jaw")}, supply=STIFF, servos={"mini": quick})
    t = times(6.0)
    asked = motion({"jaw": 0.4 * np.sin(2 * np.pi * 0.8 * t) * np.minimum(t, 1.0) ** 2})
    bare = creature(
        {"jaw": straight("jaw")}, supply=STIFF, servos={"mini": servo(response=0.0, dead_band=0.0005, full_at=0.02)}
    )
    found, without = (respond(m, asked, windows(7200)).worst.lag[0] for m in (made, bare))
    assert found - without == pytest.approx(delay, abs=0.004)
    # half a frame of 20 ms, and the loop
    assert 0.01 < without < 0.035


def test_a_sag_under_a_load_is_no_lag() -> None:
    """A small movement under loads that pull it off by more than it moves, no friction: twice the load, the same delay."""
    t = times(6.0)
    asked = motion({"jaw": 0.02 * np.sin(2 * np.pi * 0.8 * t + 0.3) * np.minimum(t, 1.0) ** 2})
    light, heavy = (
        respond(
            creature({"jaw": straight("jaw")}, {"jaw": load("jaw", mass=mass, arm=0.05)}, STIFF, servos={"mini": LOSSLESS}),
            asked, windows(7200),
        ).worst
        for mass in (0.2, 0.4)
    )  # fmt: skip
    assert heavy.error[0] > light.error[0] + 0.01
    assert heavy.lag[0] == pytest.approx(light.lag[0], abs=0.001)
    assert min(light.follows[0], heavy.follows[0]) > 0.99


def test_what_is_asked_inside_the_dead_band_is_not_followed_and_so_not_late() -> None:
    t = times(6.0)
    asked = motion({"jaw": 0.003 * np.sin(2 * np.pi * 0.8 * t) * np.minimum(t, 1.0) ** 2})
    made = creature(
        {"jaw": straight("jaw")}, {"jaw": load("jaw", inertia=1e-4)}, STIFF, servos={"mini": servo(dead_band=0.01)}
    )
    assert respond(made, asked, windows(7200)).worst.follows[0] < 0.2


def test_a_part_that_friction_holds_has_no_say_in_how_late_it_is() -> None:
    """A wide swing, then one too small for the dry friction: as late as with rest in its place, and less of it followed."""
    t = times(8.0)
    wide = np.where(t < 3.0, 0.4 * np.sin(2 * np.pi * 1.0 * t) * np.minimum(t, 1.0) ** 2, 0.0)
    small = np.where(t >= 4.2, 0.005 * np.sin(2 * np.pi * 0.7 * (t - 4.2)), 0.0)
    made = creature(
        {"jaw": straight("jaw")}, {"jaw": load("jaw", inertia=1e-4, dry=0.15)}, STIFF,
        servos={"mini": servo(response=0.012)},
    )  # fmt: skip
    still, held = (respond(made, motion({"jaw": row}), windows(9600)).worst for row in (wide, wide + small))
    assert held.lag[0] == pytest.approx(still.lag[0], abs=1e-9)
    assert held.follows[0] < still.follows[0]


@pytest.mark.parametrize(("takes", "later"), [(0.4, False), (0.8, False), (1.2, True)])
def test_a_slow_part_is_late_by_the_middle_of_its_way_or_by_more_than_can_be_looked_for(
    takes: float, later: bool
) -> None:
    """Ramps of 0.2 s, followed at an even, lower speed: the delay that fits best brings their middles together (closed form, by
    symmetry): half of what the one takes longer than the other."""
    t = times(24.0)
    edges = [0.8, 3.13, 5.71, 8.02, 10.49, 13.2, 15.77, 18.31, 20.9]
    asked = sum((-1) ** k * 0.8 * np.clip((t - edge) / 0.2, 0.0, 1.0) for k, edge in enumerate(edges)) - 0.4
    speed = 0.8 / takes
    slow = servo(
        response=0.0, dead_band=0.0005, full_at=0.01, points=(
            ServoPoint(at=6.0, stall=0.5, free=speed, stall_current=1.5, free_current=0.15),
            ServoPoint(at=7.4, stall=0.6, free=speed, stall_current=1.8, free_current=0.18),
        ),
    )  # fmt: skip
    made = creature({"jaw": straight("jaw")}, supply=STIFF, servos={"mini": slow})
    found = respond(made, motion({"jaw": asked}), windows(28800)).worst
    assert bool(found.later[0]) is later
    assert found.follows[0] > 0.5
    if later:
        assert found.lag[0] == pytest.approx(0.35, abs=0.0021)  # the longest delay that is tried: a bound, not a number
    else:
        # to it comes half a frame of 20 ms, and the way up to speed
        assert 0.0 < found.lag[0] - 0.5 * (takes - 0.2) < 0.03


@pytest.mark.parametrize("dry", [0.0, 0.05, 0.15, 0.25, 0.4])
def test_no_lag_is_less_than_link_response_and_half_a_frame(dry: float) -> None:
    """Friction makes a part stick and slip; what its series then looks like is never sooner than a signal can be."""
    t = times(6.0)
    asked = motion({"jaw": 0.03 * np.sin(2 * np.pi * 1.7 * t) + 0.05 * np.sin(2 * np.pi * 2.9 * t + 1.0)})
    made = creature(
        {"jaw": straight("jaw")}, {"jaw": load("jaw", inertia=1e-4, dry=dry)}, STIFF,
        servos={"mini": servo(response=0.03)},
    )  # fmt: skip
    assert respond(made, asked, windows(7200)).worst.lag[0] >= 0.03 + 0.5 * made.drives[0].frame / 1200.0 - 1e-9


def test_a_winding_warms_to_what_its_current_and_its_two_nodes_give() -> None:
    """A servo that holds for an hour: I2R through both resistances, with copper's own rise (closed form)."""
    made = creature({"jaw": straight("jaw")}, supply=STIFF)
    row = made.drives[0]
    seconds, amps = 3600.0, 0.3
    sums = np.zeros((60, 1, len(SUMS)))
    sums[:, 0, SUMS.index("ticks")] = 1200 * seconds / 60
    sums[:, 0, SUMS.index("current2_a2s")] = amps**2 * seconds / 60
    rise = winding_rise(made, sums)[:, 0]
    through = sum(row.thermal[2:])
    cold = amps**2 * row.motor.resistance_ohm * through
    settled = cold / (1.0 - 0.00393 * cold)  # watts grow with the winding's rise
    assert (np.diff(rise) > 0).all()
    assert rise[-1] == pytest.approx(settled, rel=0.01)


def test_islands_are_joined_by_a_skin_and_kept_apart_without_one() -> None:
    straights = {name: straight(name) for name in ("jaw", "lid")}
    leads = {"jaw": "face", "lid": "eyes"}
    assert len(islands(creature(straights, supply=regulated(), leads=leads))) == 2
    held = Skin(
        name="cheek", holds={"jaw": 0.07, "lid": 0.01}, sculpted={"jaw": 0.0, "lid": 0.0},
        curve=f64([[-0.05, 0.0, 0.05], [0.0, 0.0, 4.0]]),
    )  # fmt: skip
    assert len(islands(creature(straights, supply=regulated(), leads=leads, skins=(held,)))) == 1


def test_more_drives_than_lanes_of_a_block_change_nothing() -> None:
    """70 equal servos and an eye, whose two inputs then stand in the second block: each does what it does alone."""
    t = times(1.5)
    swing = 0.4 * np.sin(2 * np.pi * 1.3 * t) * np.minimum(t, 1.0) ** 2
    names = [f"f{k}" for k in range(70)]
    span = Window(id="w", start=0, stop=1800, line=1)
    loads = {name: load(name, mass=0.05, arm=0.04) for name in [*names, "turn", "lift"]}
    alone = trace(creature({"f0": straight("f0")}, {"f0": loads["f0"]}, STIFF), motion({"f0": swing}), span)[0]
    eyes = trace(creature({"eye": gimbal(0.2, 0.1)}, loads, STIFF), motion({"turn": swing, "lift": -swing}), span)[0]
    crowd = creature({"eye": gimbal(0.2, 0.1), **{name: straight(name) for name in names}}, loads, STIFF)
    found = trace(crowd, motion({**dict.fromkeys(names, swing), "turn": swing, "lift": -swing}), span)[0]
    at = {name: k for k, name in enumerate(found.island.functions)}
    for name in names:
        assert np.abs(found.reached[at[name]] - alone.reached[0]).max() < 1e-12
    assert np.abs(found.reached[[at["turn"], at["lift"]]] - eyes.reached).max() < 1e-12
    whole = respond(crowd, motion({**dict.fromkeys(names, swing), "turn": swing, "lift": -swing}), windows(1800))
    assert np.ptp(whole.sums[0, 2:, 0]) < 1e-12 * whole.sums[0, 2, 0]
    assert whole.worst.torque_use.min() > 0


def test_gravity_of_a_stretch_is_that_of_the_whole_and_a_window_finds_its_own() -> None:
    nod, tilt = np.sin(np.arange(2400) / 90.0), np.cos(np.arange(2400) / 70.0)
    part = motion({"head_nod": nod, "head_tilt": tilt, "jaw": nod})
    whole = gravity_series(part)
    np.testing.assert_array_equal(gravity_series(part, 301, 977), whole[301:977])
    for start, stop in ((0, 1200), (4800, 9600), (9600, 12000)):
        span = Window(id="w", start=start, stop=stop, line=1)
        mine, theirs = cut_rows(("jaw",), part, None, span), cut_rows(("jaw",), part, whole, span)
        np.testing.assert_array_equal(mine.gravity, theirs.gravity)
        np.testing.assert_array_equal(mine.command, theirs.command)
