"""The drive: 30 four-bars against a general multibody engine (MuJoCo), its scaling, its memory."""

from __future__ import annotations

from collections.abc import Iterator

import mujoco
import numpy as np
from mujoco import rollout
from tests.drive.multibody import Bar, build
from tests.drive.rigs import BAR, windows

from benchmarks.heads import COUNT, MASS, MINUTES, REACH, asked, head
from benchmarks.rows import Row, memory_mb, promise, seconds
from marotte.basis.contracts.common import F64
from marotte.basis.contracts.script import Window
from marotte.drive.islands import islands
from marotte.drive.model import DriveModel
from marotte.drive.respond import respond
from marotte.drive.windows import cut, gravity_series, trace_island, window


def multibody(length_s: float = 4.0) -> tuple[float, float, float]:
    """Return MuJoCo's processor seconds per simulated second on the volts of the drive, and how far they part [rad, share]."""
    model = head(COUNT)
    made, part = asked(model, length_s), islands(model)[0]
    span = Window(id="w", start=0, stop=int(1200 * length_s), line=1)
    found = trace_island(part, cut(part, made, gravity_series(made), span), span)
    start = found.drive[0, :, 0]
    bars = [Bar(**BAR, horn_at=float(at), mass=MASS, reach=REACH) for at in start]
    engine = build(bars, list(model.drives))
    data = mujoco.MjData(engine)
    motor = model.drives[0].motor
    volts = found.drive[6, :, 1:] * found.drive[5, :, 1:]
    control = np.ascontiguousarray((motor.back_emf_vs * volts / motor.resistance_ohm).T)[None]
    state = np.zeros((1, mujoco.mj_stateSize(engine, mujoco.mjtState.mjSTATE_FULLPHYSICS)))
    mujoco.mj_getState(engine, data, state[0], mujoco.mjtState.mjSTATE_FULLPHYSICS)

    def run() -> F64:
        states, _ = rollout.rollout(engine, [data], state, control)
        return np.asarray(states[0])

    states = run()
    taken = seconds(run, times=3, best=True) / length_s
    horns = [1 + engine.joint(f"horn{k}").qposadr[0] for k in range(COUNT)]
    off = start + states[:, horns] - found.drive[0, :, 1:].T
    speeds = states[:, [1 + engine.nq + engine.joint(f"horn{k}").dofadr[0] for k in range(COUNT)]]
    before = np.concatenate((np.zeros((1, COUNT)), speeds[:-1]))
    back = motor.back_emf_vs**2 / motor.resistance_ohm * 0.5 * (speeds + before)
    gives = control[0] - back - motor.inertia_kgm2 * 1200.0 * (speeds - before)
    smooth = np.ones(24) / 24
    torque = max(
        float(np.abs(np.convolve(a - b, smooth, "valid")).max() / np.abs(b).max())
        for a, b in zip(gives.T, found.drive[3, :, 1:], strict=True)
    )
    return taken, float(np.sqrt((off**2).mean(axis=0)).max()), torque


def per_second(model: DriveModel, length_s: float = 60.0) -> float:
    """Return the drive's processor seconds per simulated second, one thread, windows of 4 s with their run-in."""
    made, spans = asked(model, length_s), windows(int(1200 * length_s))
    respond(model, made, spans[:1])
    return seconds(lambda: respond(model, made, spans), times=3, best=True) / length_s


def loop_only(model: DriveModel, length_s: float = 12.0) -> float:
    """Return the same for one island in one long window: the compiled loop with what it keeps, no gathering."""
    made, part = asked(model, length_s), islands(model)[0]
    span = Window(id="w", start=0, stop=int(1200 * length_s), line=1)
    piece = cut(part, made, gravity_series(made), span)
    window(part, piece, span)
    return seconds(lambda: window(part, piece, span), times=5, best=True) / (length_s + 0.5)


def rows() -> Iterator[Row]:
    """Measure the drive."""
    engine, off, torque = multibody()
    agree = f"angle {np.rad2deg(off):.3f} deg RMS, input torque {100 * torque:.1f} % at worst"
    yield Row(
        name="multibody engine, 30 four-bars",
        value=1e3 * engine,
        unit="ms per simulated s",
        against="MuJoCo at 1200 Hz",
    )
    against = "MuJoCo on the same 30 four-bars, one thread each; promised 40 times"
    for name, skins, tree in (("one supply, no skins", False, False), ("skins and supply tree", True, True)):
        model = head(COUNT, skins, tree)
        for what, taken in (("whole", per_second(model)), ("loop", loop_only(model))):
            label = f"drive, {name}, {what}"
            yield Row(
                name=label,
                value=1e3 * taken,
                unit="ms per simulated s",
                against=against,
                ratio=engine / taken,
                agreement=agree,
            )
    model = head(COUNT, skins=True, tree=True, lossless=False)
    part, spans = asked(model, 60.0 * MINUTES), windows(72000 * MINUTES)
    respond(model, part, spans[:1])
    yield promise("drive, 30 functions, 3 min", seconds(lambda: respond(model, part, spans), times=3), "s", 0.15)
    each = {count: per_second(head(count, True, True), 20.0) / count for count in (1, 2, 4, 8, 16, 30, 64)}
    for count, taken in each.items():
        yield Row(
            name=f"drive, {count} functions",
            value=1e6 * taken,
            unit="us per function and simulated s",
            against="30 functions",
            ratio=each[30] / taken,
        )
    lengths = {length: per_second(head(COUNT, True, True), length) for length in (10.0, 60.0, 600.0, 1800.0)}
    for length, taken in lengths.items():
        yield Row(
            name=f"drive, {length:g} s of script",
            value=1e3 * taken,
            unit="ms per simulated s",
            against="60 s",
            ratio=lengths[60.0] / taken,
        )
    yield promise("drive, peak memory, 30 functions, 3 min", memory_mb("drive"), "MB", 400.0)
