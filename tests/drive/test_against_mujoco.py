"""The drive against a general multibody engine (MuJoCo): four-bars driven by the same volts, then by the same servo law.

Tolerances, as promised: angle within 0.5 degrees RMS, torque at the input within 5 % of its largest, step response within
5 %. They cover the softness of MuJoCo's loops and the first order of its step; the drive's own error is far smaller.
"""

from __future__ import annotations

import mujoco
import numpy as np
import pytest

from marotte.basis.contracts.script import Window
from marotte.creature.schema.supply import Mains, Supply
from marotte.drive.islands import islands
from marotte.drive.model import DriveModel
from marotte.drive.windows import RUN_IN, Trace, cut, gravity_series, trace_island
from tests.drive.multibody import Bar, Law, build
from tests.drive.rigs import (
    BAR,
    HIGH,
    LOSSLESS,
    LOW,
    VOLTS,
    creature,
    four_bar,
    function,
    motion,
    planar,
    times,
    transmission,
)

pytestmark = pytest.mark.slow

SECONDS = 4.0


def drive(masses: tuple[float, ...], reach: float = 0.058) -> DriveModel:
    x, q, r, b = four_bar(**BAR, low=LOW, high=HIGH)
    names = [f"f{k}" for k in range(len(masses))]
    return creature(
        {name: transmission(name, x, q, r, b) for name in names},
        {name: planar(name, mass, reach) for name, mass in zip(names, masses, strict=True)},
        Supply(battery=Mains(kind="bench", volts=VOLTS, limit=100.0)),
        servos={"mini": LOSSLESS},
        functions={name: function("tail", (-3.0, 3.0)) for name in names},
    )


MASSES = (0.08, 0.16, 0.25)


def run(model: DriveModel, asked: dict[str, np.ndarray]) -> tuple[Trace, np.ndarray]:
    made, part = motion(asked), islands(model)[0]
    span = Window(id="w", start=0, stop=5 * len(next(iter(asked.values()))), line=1)
    return trace_island(part, cut(part, made, gravity_series(made), span), span), made.values


def swings(model: DriveModel) -> dict[str, np.ndarray]:
    _, q, _, _ = four_bar(**BAR, low=LOW, high=HIGH)
    t = times(SECONDS)
    soft = np.minimum(t, 1.0) ** 2
    return {
        name: 0.5 * (q[0] + q[-1]) + 0.3 * soft * np.sin(2 * np.pi * (1.0 + 0.7 * k) * t + k)
        for k, name in enumerate(model.functions)
    }


def engine(model: DriveModel, found: Trace, timestep: float = 1 / 1200) -> tuple[mujoco.MjModel, mujoco.MjData]:
    """Return MuJoCo at the angles at which the drive's window begins, at rest."""
    start = found.drive[0, :, 0]
    bars = [Bar(**BAR, horn_at=float(at), mass=mass, reach=0.058) for at, mass in zip(start, MASSES, strict=True)]
    made = build(bars, list(model.drives), timestep)
    return made, mujoco.MjData(made)


def test_under_the_same_volts_angles_and_torques_are_those_of_mujoco() -> None:
    """The servo law is off in MuJoCo: it is given, tick by tick, the volts that the drive's law came to."""
    model = drive(MASSES)
    found, _ = run(model, swings(model))
    made, data = engine(model, found)
    start = found.drive[0, :, 0].copy()
    motors = [row.motor for row in model.drives]
    horns = [made.joint(f"horn{k}").qposadr[0] for k in range(len(MASSES))]
    dofs = [made.joint(f"horn{k}").dofadr[0] for k in range(len(MASSES))]
    ticks = found.drive.shape[2]
    angle, torque = np.empty((len(MASSES), ticks)), np.empty((len(MASSES), ticks))
    for k in range(ticks - 1):
        drive_v = found.drive[6, :, k + 1] * found.drive[5, :, k + 1]
        data.ctrl[:] = [m.back_emf_vs * v / m.resistance_ohm for m, v in zip(motors, drive_v, strict=True)]
        before = data.qvel[dofs].copy()
        mujoco.mj_step(made, data)
        angle[:, k + 1] = start + data.qpos[horns]
        # what the motor gives beyond its own rotor: actuator and back-EMF less armature times acceleration
        speeding = (data.qvel[dofs] - before) * 1200.0
        back = np.array([m.back_emf_vs**2 / m.resistance_ohm for m in motors]) * 0.5 * (data.qvel[dofs] + before)
        torque[:, k + 1] = data.ctrl - back - np.array([m.inertia_kgm2 for m in motors]) * speeding
    off = angle[:, 1:] - found.drive[0, :, 1:]
    assert np.sqrt((off**2).mean(axis=1)).max() < np.deg2rad(0.5)
    gives = found.drive[3, :, 1:]
    # MuJoCo's loop is a stiff spring: over a frame of 20 ms its ringing is gone
    smooth = np.ones(24) / 24
    for ours, theirs in zip(gives, torque[:, 1:], strict=True):
        difference = np.convolve(ours - theirs, smooth, "valid")
        assert np.abs(difference).max() < 0.05 * np.abs(ours).max()


def test_under_the_same_law_a_step_is_answered_as_in_mujoco() -> None:
    model = drive(MASSES)
    x, q, _, _ = four_bar(**BAR, low=LOW, high=HIGH)
    t = times(SECONDS)
    low, high = q[0] + 0.25 * np.ptp(q), q[0] + 0.7 * np.ptp(q)
    found, _ = run(model, {name: np.where((t < 1.0) | (t > 2.5), low, high) for name in model.functions})
    made, data = engine(model, found)
    start = found.drive[0, :, 0].copy()
    rows = list(model.drives)
    horns = [made.joint(f"horn{k}").qposadr[0] for k in range(len(MASSES))]
    dofs = [made.joint(f"horn{k}").dofadr[0] for k in range(len(MASSES))]
    wanted_low, wanted_high = np.interp([low, high], q, x)
    law = Law(rows, found.drive[2, :, 0].copy())
    ticks = found.drive.shape[2]
    angle = np.empty((len(MASSES), ticks))
    angle[:, 0] = start
    samples = np.interp(np.arange(ticks) / 1200.0, t, np.where((t < 1.0) | (t > 2.5), wanted_low, wanted_high))
    for k in range(ticks - 1):
        data.ctrl[:] = law.torque(k + 1, np.full(len(rows), samples[k + 1]), angle[:, k], data.qvel[dofs], VOLTS)
        mujoco.mj_step(made, data)
        angle[:, k + 1] = start + data.qpos[horns]
    step = wanted_high - wanted_low
    assert np.abs(angle - found.drive[0]).max() < 0.05 * abs(step)
    # rise time, the first to nine tenths
    for ours, theirs in zip(found.drive[0], angle, strict=True):
        reached = wanted_low + 0.9 * step
        first = [int(np.argmax((row - reached) * np.sign(step) > 0)) - 1200 for row in (ours, theirs)]
        assert first[0] == pytest.approx(first[1], rel=0.05)


def test_the_run_in_is_long_enough_for_the_servo_to_settle() -> None:
    model = drive(MASSES)
    found, _ = run(model, {name: np.full(480, 1.5) for name in model.functions})
    assert RUN_IN == 600
    assert np.ptp(found.drive[0], axis=1).max() < 1e-6
