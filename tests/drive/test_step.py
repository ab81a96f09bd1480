"""The step: energy, friction, rails, time. Claims about one island in motion."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from marotte.basis.contracts.common import f64
from marotte.basis.contracts.drive import SUMS
from marotte.basis.contracts.mech import Skin
from marotte.basis.contracts.script import Window
from marotte.creature.schema.supply import Cells, Lead, Mains, Regulator, Supply
from marotte.drive.islands import islands
from marotte.drive.keep import HIGH_A
from marotte.drive.model import DriveModel
from marotte.drive.respond import respond, trace
from marotte.drive.windows import CURRENT, SPEED, TORQUE, USE, VOLTS, Trace, cut, gravity_series, trace_island, window
from tests.drive.rigs import creature, four_bar, load, motion, servo, straight, times, transmission, windows

STIFF = Supply(battery=Mains(kind="bench", volts=6.0, limit=500.0))


def run(model: DriveModel, asked: np.ndarray, name: str = "jaw", finer: int = 1) -> Trace:
    made = motion({name: asked})
    part = islands(model)[0]
    span = Window(id="w", start=0, stop=5 * len(asked), line=1)
    return trace_island(part, cut(part, made, gravity_series(made), span), span, finer)


def test_a_servo_without_load_reaches_its_free_speed() -> None:
    model = creature({"jaw": straight("jaw", low=-40.0, high=40.0)}, supply=STIFF)
    t = times(3.0)
    found = run(model, np.where(t < 0.2, -30.0, 30.0))
    assert found.drive[1].max() == pytest.approx(8.7, rel=1e-3)


def test_a_stalled_servo_draws_its_stall_current() -> None:
    blocked = straight("jaw", low=-1e-3, high=1e-3)
    weight = {"jaw": load("jaw", mass=5.0, arm=0.1)}
    free = straight("jaw", low=-2.0, high=2.0)
    model = creature({"jaw": free}, weight, STIFF)
    # it is asked up (opening is down for this load), and 4.9 N*m hangs on 0.25: it falls to its stop with full drive
    found = run(model, np.full(480, -1.0))
    assert abs(found.drive[6, 0, -1]) == 1.0
    assert abs(found.drive[4, 0, -1]) == pytest.approx(1.5, rel=1e-6)
    assert blocked.grid[0][0] < 0


def test_energy_drawn_is_heat_gear_loss_and_work_on_the_load() -> None:
    x, q, r, b = four_bar(0.014, 0.062, 0.022, 0.064, 0.5, 2.1)
    model = creature({"jaw": transmission("jaw", x, q, r, b)}, {"jaw": load("jaw", mass=0.16, arm=0.058)}, STIFF)
    middle, swing = 0.5 * (q[0] + q[-1]), 0.3 * (q[-1] - q[0])
    t = times(4.0)
    found = run(model, middle + swing * np.sin(2 * np.pi * 1.5 * t), finer=4)
    theta, omega, _, _, amps, volts, duty = (row[0] for row in found.drive)
    made = model.drives[0].motor
    dt = 1 / 1200
    drawn = float((volts * duty * amps).sum() * dt)
    copper = float((amps**2).sum() * dt * made.resistance_ohm)
    slope = made.back_emf_vs - made.stall_torque_nm / (made.stall_current_a - made.free_current_a)
    level = made.back_emf_vs * made.free_current_a - slope * made.free_current_a
    gears = float(((level + slope * np.abs(amps)) * np.abs(omega)).sum() * dt)
    rate = np.interp(theta, x, r)
    out = np.interp(theta, x, q)
    kinetic = 0.5 * (made.inertia_kgm2 + rate**2 * 0.16 * 0.058**2) * omega**2
    lifted = -0.16 * 9.80665 * 0.058 * np.sin(out)
    stored = float(kinetic[-1] + lifted[-1] - kinetic[0] - lifted[0])
    assert drawn == pytest.approx(copper + gears + stored, rel=0.02)


@settings(deadline=None, max_examples=12)
@given(mass=st.floats(0.01, 0.3), at=st.floats(-0.6, 0.6))
def test_friction_never_moves_a_load_by_itself(mass: float, at: float) -> None:
    """Dry friction above the load's torque holds it, and a held load stays where it is."""
    heavy = load("jaw", mass=mass, arm=0.05, dry=mass * 9.81 * 0.05 * 1.05)
    model = creature({"jaw": straight("jaw")}, {"jaw": heavy}, STIFF)
    found = run(model, np.full(480, at))
    assert np.ptp(found.reached[0, -600:]) == 0.0


def test_a_skin_gives_back_what_it_took() -> None:
    """Over a closed path of slow moves the skin's force does no net work on its two functions."""
    skin = Skin(
        name="cheek", holds={"jaw": 0.07, "corner": -0.05}, sculpted={"jaw": 0.0, "corner": 0.0},
        curve=f64([[-0.05, 0.0, 0.05], [0.0, 0.0, 40.0]]),
    )  # fmt: skip
    model = creature({"jaw": straight("jaw"), "corner": straight("corner")}, supply=STIFF, skins=(skin,))
    t = times(8.0)
    made = motion({"jaw": 0.3 + 0.3 * np.sin(np.pi * t), "corner": 0.2 * np.cos(np.pi * t)})
    found = trace(model, made, Window(id="w", start=4800, stop=7200, line=1))[0]
    stretch = 0.07 * found.reached[0] - 0.05 * found.reached[1]
    force = np.maximum(stretch, 0.0) * 800.0
    work = sum(
        float(np.trapezoid(-hold * force, row)) for hold, row in ((0.07, found.reached[0]), (-0.05, found.reached[1]))
    )
    assert abs(work) < 0.01 * 0.5 * 800 * stretch.max() ** 2


def tree() -> Supply:
    return Supply(
        battery=Cells(kind="lithium_polymer", cells=2, capacity=7920.0, resistance=0.04),
        leads={
            "trunk": Lead(fed_by="battery", awg=18, length=0.6),
            "face": Lead(fed_by="trunk", awg=22, length=0.4),
            "eyes": Lead(fed_by="trunk", awg=24, length=0.3),
        },
    )


def many(supply: Supply, count: int = 6) -> tuple[DriveModel, dict[str, np.ndarray]]:
    x, q, r, b = four_bar(0.014, 0.062, 0.022, 0.064, 0.5, 2.1)
    names = [f"f{k}" for k in range(count)]
    model = creature(
        {name: transmission(name, x, q, r, b) for name in names},
        {name: load(name, mass=0.05, arm=0.05) for name in names},
        supply,
        leads={name: ("face", "eyes")[k % 2] for k, name in enumerate(names)},
    )
    t = times(6.0)
    # small enough that no window has to catch up: a settled start is then a fair start
    asked = {
        name: 0.5 * (q[0] + q[-1]) + 0.25 * np.sin(2 * np.pi * (0.5 + 0.2 * k) * t) * np.minimum(t / 0.5, 1.0)
        for k, name in enumerate(names)
    }
    return model, asked


def test_currents_of_the_tree_add_up_and_voltages_fall_by_ohm() -> None:
    model, asked = many(tree())
    found = trace(model, motion(asked), Window(id="w", start=1200, stop=4800, line=1))[0]
    volts, amps = found.leads
    at = {name: k for k, name in enumerate(found.island.leads)}
    assert np.abs(amps[at["trunk"]] - amps[at["face"]] - amps[at["eyes"]]).max() < 1e-9
    assert np.abs(amps[at["battery"]] - amps[at["trunk"]]).max() < 1e-9
    for row in model.leads[1:]:
        above = volts[at[model.leads[row.parent].name]]
        assert np.abs(above - row.ohm * amps[at[row.name]] - volts[at[row.name]]).max() < 1e-9
    assert np.abs(7.4 - 0.04 * amps[0] - volts[0]).max() < 1e-9


@pytest.mark.parametrize("frame", [50.0, 300.0, 1200.0])
def test_halving_the_step_moves_nothing_by_more_than_one_percent(frame: float) -> None:
    x, q, r, b = four_bar(0.014, 0.062, 0.022, 0.064, 0.5, 2.1)
    model = creature(
        {"jaw": transmission("jaw", x, q, r, b)}, {"jaw": load("jaw", mass=0.16, arm=0.058)}, STIFF,
        servos={"mini": servo(frame=frame)},
    )  # fmt: skip
    t = times(4.0)
    asked = 0.5 * (q[0] + q[-1]) + 0.3 * np.sin(2 * np.pi * 1.5 * t) * np.minimum(t, 1.0) ** 2
    made, part, span = motion({"jaw": asked}), islands(model)[0], Window(id="w", start=0, stop=4800, line=1)
    command = cut(part, made, gravity_series(made), span)
    coarse, fine = window(part, command, span), window(part, command, span, finer=2)
    assert np.abs(coarse.reached - fine.reached).max() < 0.01 * np.ptp(coarse.reached)
    for name in ("energy_j", "current2_a2s", "torque2_n2m2s", "charge_c"):
        assert fine.sums[0, SUMS.index(name)] == pytest.approx(coarse.sums[0, SUMS.index(name)], rel=0.01)
    for column in (USE, TORQUE, SPEED, VOLTS):
        assert fine.peaks[0, column] == pytest.approx(coarse.peaks[0, column], rel=0.01)
    # the highest current stands in the tick after a frame, and is a mean over that tick
    assert fine.peaks[0, CURRENT] == pytest.approx(coarse.peaks[0, CURRENT], rel=0.02)
    assert fine.lead_peaks[:, HIGH_A] == pytest.approx(coarse.lead_peaks[:, HIGH_A], rel=0.02)
    assert fine.lead_squares == pytest.approx(coarse.lead_squares, rel=0.01)


def test_a_lead_carries_in_the_mean_of_a_tick_what_its_servos_take() -> None:
    model, asked = many(tree())
    found = trace(model, motion(asked), Window(id="w", start=1200, stop=4800, line=1))[0]
    amps, duty = found.drive[4], found.drive[6]
    at = {name: k for k, name in enumerate(found.island.leads)}
    assert found.leads[1, at["battery"]] == pytest.approx((amps * duty).sum(axis=0), abs=1e-12)


def test_two_threads_give_the_bytes_of_one() -> None:
    model, asked = many(tree())
    made, spans = motion(asked), windows(7200, 1800)
    one, two = respond(model, made, spans, threads=1), respond(model, made, spans, threads=2)
    assert one.reached.values.tobytes() == two.reached.values.tobytes()
    assert one.sums.tobytes() == two.sums.tobytes()
    assert one.worst.torque.tobytes() == two.worst.torque.tobytes()
    assert one.rails.rms_a.tobytes() == two.rails.rms_a.tobytes()


def test_a_shift_by_whole_frames_and_samples_shifts_the_answer() -> None:
    model, asked = many(tree())
    late = 600  # ticks: whole frames of 50 Hz, whole samples, and half a second
    here = respond(model, motion(asked), windows(7200, 1800))
    there = respond(model, motion(asked, start=late), windows(7200 + late, 1800, start=late))
    assert here.reached.values.tobytes() == there.reached.values.tobytes()
    assert here.sums.tobytes() == there.sums.tobytes()
    assert (there.worst.torque_at - here.worst.torque_at == late).all()


def test_windows_with_run_in_agree_with_one_unbroken_run() -> None:
    model, asked = many(tree())
    made = motion(asked)
    cut_up, whole = respond(model, made, windows(7200, 1800)), respond(model, made, windows(7200, 7200))
    assert np.abs(cut_up.reached.values - whole.reached.values).max() < 5e-3
    assert cut_up.sums[:, :, 0].sum() == pytest.approx(whole.sums[:, :, 0].sum(), rel=0.01)


def regulated(volts: float = 6.0, cells: int = 3) -> Supply:
    face = Regulator(volts=volts, limit=20.0, drop=0.5, efficiency=0.88)
    return Supply(
        battery=Cells(kind="lithium_polymer", cells=cells, capacity=7920.0, resistance=0.02),
        leads={
            "trunk": Lead(fed_by="battery", awg=16, length=0.3),
            "face": Lead(fed_by="trunk", awg=20, length=0.2, regulator=face),
            "eyes": Lead(fed_by="trunk", awg=20, length=0.2, regulator=face),
        },
    )


def test_regulated_leads_are_borders_and_the_answer_is_that_of_the_whole_tree() -> None:
    model, asked = many(regulated())
    parts = islands(model)
    assert len(parts) == 2
    assert len(islands(model, whole=True)) == 1
    made, span = motion(asked), Window(id="w", start=1200, stop=4800, line=1)
    whole = trace(model, made, span, whole=True)[0]
    for piece in trace(model, made, span):
        for k, name in enumerate(piece.island.functions):
            assert np.abs(piece.reached[k] - whole.reached[whole.island.functions.index(name)]).max() < 1e-12


def test_a_regulator_that_drops_out_joins_the_tree() -> None:
    model, asked = many(regulated(volts=7.2, cells=2))
    found = respond(model, motion(asked), windows(7200, 1800))
    assert [told.code for told in found.told] == ["joined"]
    face = found.rails.leads.index("face")
    assert found.rails.lowest_v[face] < 6.9


def test_a_regulator_at_its_limit_gives_no_more() -> None:
    tight = Regulator(volts=6.0, limit=1.0, drop=0.5, efficiency=0.88)
    supply = Supply(
        battery=Mains(kind="bench", volts=12.0, limit=100.0),
        leads={"face": Lead(fed_by="battery", awg=20, length=0.2, regulator=tight)},
    )
    names = ["a", "b", "c"]
    model = creature(
        {name: straight(name) for name in names}, {name: load(name, mass=0.5, arm=0.1) for name in names}, supply
    )
    made = motion({name: np.where(times(2.0) < 1.0, 0.5, -0.5) for name in names})
    found = trace(model, made, Window(id="w", start=0, stop=2400, line=1))[0]
    assert found.leads[1, 0].max() > 0.999
    over = np.flatnonzero(found.leads[1, 0] > 1.0 + 1e-9)
    assert (np.diff(over) > 1).all()  # one tick to notice, never two
    assert found.leads[0, 0].min() < 5.5


def test_power_through_a_switching_regulator_is_kept_by_its_efficiency() -> None:
    model, asked = many(regulated())
    whole = trace(model, motion(asked), Window(id="w", start=2400, stop=4800, line=1), whole=True)[0]
    at = {name: k for k, name in enumerate(whole.island.leads)}
    volts, amps = whole.leads
    out = sum(6.0 * np.maximum(amps[at[name]], 0.0) for name in ("face", "eyes"))
    into = volts[at["trunk"]] * amps[at["trunk"]]
    assert into.sum() == pytest.approx(out.sum() / 0.88, rel=0.01)
