"""Power up, link lost, power cut: against closed forms."""

from __future__ import annotations

import numpy as np
import pytest

from marotte.basis.frames import G0
from marotte.creature.schema.supply import Lead, Mains, Regulator, Supply
from marotte.drive.islands import islands
from marotte.drive.jumps import GAP_S, drawn, fall, jump, moved, one_by_one
from marotte.drive.model import DriveModel
from tests.drive.rigs import LOSSLESS, creature, load, servo, straight

NAMES = ("a", "b", "c")
STALL_A = 1.5
"""Of the rig's servo at 6 V."""


def bench(inertia: float = 1e-5, limit: float = 100.0, **more: object) -> DriveModel:
    return creature(
        {name: straight(name) for name in NAMES},
        {name: load(name, inertia=inertia, **more) for name in NAMES},  # type: ignore[arg-type]
        Supply(battery=Mains(kind="bench", volts=6.0, limit=limit)),
        servos={"mini": servo()},
    )


def at(value: float) -> dict[str, float]:
    return dict.fromkeys(NAMES, value)


def test_servos_that_hardly_get_going_draw_the_sum_of_their_stall_currents() -> None:
    model = bench(inertia=10.0)  # so heavy that none has speed in the first moments
    parts = islands(model)
    found = drawn(model, parts, [jump(part, at(0.8), at(-0.5), {}) for part in parts])
    assert found.amps[0].max() == pytest.approx(3 * STALL_A, rel=0.01)


def test_one_after_another_they_draw_what_one_draws() -> None:
    model = bench()
    parts = islands(model)
    alone = drawn(model, parts, [jump(part, {**at(0.0), "a": 0.8}, at(0.0), {}) for part in parts]).amps[0].max()
    together = drawn(model, parts, [jump(part, at(0.8), at(0.0), {}) for part in parts]).amps[0].max()
    in_turn = drawn(model, parts, [jump(part, at(0.8), at(0.0), one_by_one(model)) for part in parts]).amps[0].max()
    assert together == pytest.approx(3 * alone, rel=1e-6)
    assert in_turn < 1.35 * alone  # one slows down while the next gets going


def test_those_that_wait_stay_where_they_are() -> None:
    model = bench()
    found = jump(islands(model)[0], at(0.8), at(0.0), one_by_one(model))
    first_moves = [int(np.flatnonzero(np.abs(path - 0.8) > 1e-3)[0]) / 240 for path in found.path]
    assert np.diff(first_moves) == pytest.approx([GAP_S, GAP_S], abs=0.021)  # by the frames of 20 ms


def test_a_supply_at_its_limit_gives_no_more_and_its_voltage_falls() -> None:
    model = bench(inertia=1e-3, limit=2.0)
    parts = islands(model)
    held = drawn(model, parts, [jump(part, at(0.8), at(0.0), {}) for part in parts])
    free = drawn(model, parts, [jump(part, at(0.8), at(0.0), {}, limited=False) for part in parts])
    # what a regulator does is taken from the tick before: the first tick of a jump is over
    assert (held.amps[0] > 2.0 + 1e-9).mean() < 0.02
    assert np.sort(held.amps[0])[-6] == pytest.approx(2.0)
    assert free.amps[0].max() > 4.0
    assert held.volts.min() < 4.0 < 5.99 < free.volts.min()


def test_current_above_regulators_is_that_of_their_power() -> None:
    supply = Supply(
        battery=Mains(kind="bench", volts=12.0, limit=100.0),
        leads={
            name: Lead(
                fed_by="battery", awg=10, length=0.001,
                regulator=Regulator(kind="switching", volts=6.0, limit=50.0, efficiency=0.8),
            )
            for name in NAMES
        },
    )  # fmt: skip
    model = creature(
        {name: straight(name) for name in NAMES}, {name: load(name, inertia=10.0) for name in NAMES}, supply,
        servos={"mini": servo()}, leads={name: name for name in NAMES},
    )  # fmt: skip
    parts = islands(model)
    assert len(parts) == 3
    found = drawn(model, parts, [jump(part, at(0.8), at(-0.5), {}) for part in parts])
    assert found.amps[0].max() == pytest.approx(3 * STALL_A * 6.0 / (0.8 * 12.0), rel=0.02)


def test_let_go_a_frictionless_pendulum_arrives_with_the_speed_of_its_height() -> None:
    mass, arm = 0.2, 0.08
    model = creature(
        {"a": straight("a")}, {"a": load("a", mass=mass, arm=arm)}, Supply(battery=Mains(kind="bench", volts=6.0, limit=9.0)),
        servos={"mini": LOSSLESS},
    )  # fmt: skip
    found = moved([fall(islands(model)[0], {"a": -0.9})])["a"]
    # it opens downwards from 0.9 rad above level to its stop at 1 rad below
    height = arm * (np.sin(0.9) + np.sin(1.0))
    inertia = mass * arm**2 + model.drive("a").motor.inertia_kgm2
    assert found.end == pytest.approx(1.0, abs=1e-6)
    assert found.fastest == pytest.approx(np.sqrt(2 * mass * G0 * height / inertia), rel=0.01)


def test_a_load_under_the_friction_of_the_gears_stays_and_one_over_it_falls() -> None:
    motor = bench().drives[0].motor
    holds = (motor.torques_nm[1] / (motor.currents_a[1] - motor.currents_a[0])) * motor.free_current_a
    for share, falls in ((0.9, False), (1.2, True)):
        mass = share * holds / (G0 * 0.05)
        model = creature({"a": straight("a")}, {"a": load("a", mass=mass, arm=0.05)}, servos={"mini": servo()})
        way = moved([fall(islands(model)[0], {"a": 0.0})])["a"]
        assert (way.end > 0.1) is falls
