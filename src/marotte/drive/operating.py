"""The operating point: what each servo must give at the speed that is asked, and what it has there; and the hold.

Quasi-static and one mechanism at a time: the asked motion is carried back to the inputs, differentiated, and the torque
added up from gravity at the worst attitude, springs, skins, friction and inertia. Nothing is simulated, so that a person
can redo one instant by hand.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from marotte.basis.contracts.common import F64, I64, Motion
from marotte.basis.ticks import SERIES_EVERY, SERIES_HZ
from marotte.drive.islands import mech_arrays
from marotte.drive.lookup import invert_one_series, invert_two_series
from marotte.drive.model import DriveModel, DriveRow
from marotte.drive.plan import (
    T1_BASE,
    T2_BASE,
    T2_BEND,
    T2_DRY,
    T2_GRAVITY,
    T2_MASS,
    T2_SPRING,
    T2_VISC,
    T_BEND,
    T_DRY,
    T_GX,
    T_J,
    T_SPRING,
    T_VISC,
)
from marotte.drive.servo import available_torque_nm, hold_current_a, hold_supply_a
from marotte.drive.tables import Table
from marotte.drive.windows import gravity_at

THIN = 2
"""Every second sample is judged: 120 Hz, four to each frame of a usual servo."""
SPAN = 2
"""Speed is taken over this many judged samples either way, acceleration likewise: a servo cannot answer faster."""
STILL_RAD_S = 0.02
"""An input slower than this is held."""
STILL_S = 0.5
"""Shorter rests are not a hold."""
LEAST_SHARE = 1e-3
"""Of the stall torque: what is taken as available where a servo cannot run so fast, so that a share stays finite."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Attitude:
    """How the head is held [rad]."""

    nod: float
    tilt: float


UPRIGHT = Attitude(nod=0.0, tilt=0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class OperatingPoint:
    """The worst instant of one drive, with what adds up to it. Torques at the input [N*m], positive as it pushes up."""

    drive: str
    share: float
    """Needed over available torque there, or asked over free speed where that is more."""
    at: int
    """Tick."""
    torque_nm: float
    speed_rad_s: float
    acceleration_rad_s2: float
    available_nm: float
    """At that speed, real (derated or measured)."""
    stall_nm: float
    free_rad_s: float
    gravity_nm: float
    spring_nm: float
    skin_nm: float
    friction_nm: float
    inertia_nm: float
    inertia_kgm2: float
    """At the input there, with motor and gears."""
    attitude: Attitude
    input_rad: float


@dataclass(frozen=True, slots=True, kw_only=True)
class HoldPoint:
    """What one drive holds at rest."""

    drive: str
    neutral_nm: float
    """Torque at neutral [N*m], worst attitude."""
    worst_nm: float
    """Largest torque over rests of half a second and more, and neutral."""
    at: int | None
    """Tick of the worst; None: at neutral."""
    rest_s: float
    """How long that rest is; 0 at neutral."""
    share: float
    """Of the real stall torque."""
    motor_a: float
    """Motor current that holds the worst after lifting it."""
    supply_a: float


@dataclass(frozen=True, slots=True, kw_only=True)
class _Torques:
    """Series at the inputs of one mech: (inputs, samples) each; gravity (attitudes, inputs, samples)."""

    theta: F64
    omega: F64
    alpha: F64
    gravity: F64
    spring: F64
    skin: F64
    friction: F64
    inertia: F64
    mass: F64

    @property
    def still(self) -> F64:
        """(attitudes, inputs, samples): what is borne at rest."""
        return self.gravity + self.spring + self.skin

    @property
    def total(self) -> F64:
        """(attitudes, inputs, samples)."""
        return self.still + self.friction + self.inertia


def corners(nod: tuple[float, float], tilt: tuple[float, float]) -> tuple[Attitude, ...]:
    """Return the attitudes that are worst for something: upright and the corners of how the head may be held."""
    found = [UPRIGHT]
    for a in nod:
        for b in tilt:
            one = Attitude(nod=a, tilt=b)
            if one not in found:
                found.append(one)
    return tuple(found)


def operating(
    model: DriveModel, motion: Motion, attitudes: Sequence[Attitude] = (UPRIGHT,), skin_factor: float = 1.0
) -> dict[str, OperatingPoint]:
    """Return the operating point of every drive.

    Args:
        model: the drive model.
        motion: what is asked, 240 Hz.
        attitudes: how the head may be held; the worst counts.
        skin_factor: on the force of every skin, for its band.
    """
    out: dict[str, OperatingPoint] = {}
    for mech in model.tables:
        out.update(operating_of(model, mech.name, motion, attitudes, skin_factor))
    return {row.name: out[row.name] for row in model.drives if row.name in out}


def operating_of(
    model: DriveModel, mech: str, motion: Motion, attitudes: Sequence[Attitude] = (UPRIGHT,), skin_factor: float = 1.0
) -> dict[str, OperatingPoint]:
    """Return the operating points of the drives of one mechanism; arguments as ``operating``."""
    table = _table(model, mech)
    rows = [model.drive(name) for name in table.inputs]
    if motion.samples == 0:
        return {}
    torques = _torques(model, table, rows, _asked(motion), attitudes, skin_factor)
    return {row.name: _worst(row, i, torques, motion, attitudes) for i, row in enumerate(rows)}


def hold(
    model: DriveModel, motion: Motion, attitudes: Sequence[Attitude] = (UPRIGHT,), skin_factor: float = 1.0
) -> dict[str, HoldPoint]:
    """Return what every drive holds at neutral and in the rests of a motion; arguments as ``operating``."""
    out: dict[str, HoldPoint] = {}
    neutral = {name: np.array([at]) for name, at in zip(model.functions, model.neutral, strict=True)}
    for table in model.tables:
        rows = [model.drive(name) for name in table.inputs]
        at_neutral = np.abs(_torques(model, table, rows, neutral, attitudes, skin_factor).still[:, :, 0]).max(axis=0)
        torques = _torques(model, table, rows, _asked(motion), attitudes, skin_factor)
        for i, row in enumerate(rows):
            borne = np.abs(torques.still[:, i]).max(axis=0)
            worst, at, rest = float(at_neutral[i]), None, 0.0
            for start, stop in _rests(np.abs(torques.omega[i]) < STILL_RAD_S):
                k = start + int(borne[start:stop].argmax())
                if borne[k] > worst:
                    worst, at = float(borne[k]), motion.start + THIN * SERIES_EVERY * k
                    rest = (stop - start) * THIN / SERIES_HZ
            each = worst / row.count
            out[row.name] = HoldPoint(
                drive=row.name, neutral_nm=float(at_neutral[i]), worst_nm=worst, at=at, rest_s=rest,
                share=each / max(row.motor.stall_torque_nm, 1e-12),
                motor_a=row.count * float(np.minimum(hold_current_a(row.motor, each), row.motor.stall_current_a)),
                supply_a=row.count * float(hold_supply_a(row.motor, min(each, row.motor.stall_torque_nm))),
            )  # fmt: skip
    return {row.name: out[row.name] for row in model.drives}


def _table(model: DriveModel, mech: str) -> Table:
    for table in model.tables:
        if table.name == mech:
            return table
    raise KeyError(mech)


def _asked(motion: Motion) -> dict[str, F64]:
    return {name: motion.values[k, ::THIN].astype(np.float64) for k, name in enumerate(motion.names)}


def _rests(still: np.ndarray[tuple[int], np.dtype[np.bool_]]) -> list[tuple[int, int]]:
    """Return start and stop of every stretch that is long enough."""
    edges = np.flatnonzero(np.diff(np.concatenate(([0], still.astype(np.int8), [0]))))
    least = int(STILL_S * SERIES_HZ / THIN)
    return [(int(a), int(b)) for a, b in zip(edges[::2], edges[1::2], strict=True) if b - a >= least]


def _torques(
    model: DriveModel,
    table: Table,
    rows: list[DriveRow],
    asked: Mapping[str, F64],
    attitudes: Sequence[Attitude],
    skin_factor: float,
) -> _Torques:
    theta, columns = _inputs(model, table, asked)
    omega = np.stack([_slope(row) for row in theta])
    alpha = np.stack([_slope(row) for row in omega])
    at_rest = [None if table.name in model.world else a for a in attitudes]
    pulls = np.array([gravity_at(a.nod, a.tilt) if a else gravity_at(0.0, 0.0) for a in at_rest])
    motors = np.array([row.count * row.motor.inertia_kgm2 for row in rows])
    n = len(table.inputs)
    if n == 1:
        mass = columns[T_J] + motors[0]
        gravity = -(pulls @ columns[T_GX : T_GX + 3])[:, None]
        spring = -columns[T_SPRING][None]
        inertia = (mass * alpha[0] + columns[T_BEND] * omega[0] ** 2)[None]
        rub = (columns[T_DRY] + table.dry)[None]
        visc = (columns[T_VISC] * omega[0])[None]
        rates = columns[T1_BASE + 1 :: 2][:, None]
        masses = mass[None]
    else:
        c, w0, w1 = columns, omega[0], omega[1]
        gravity = -np.stack([pulls @ c[T2_GRAVITY + 3 * i : T2_GRAVITY + 3 * i + 3] for i in range(2)], axis=1)
        spring = -c[T2_SPRING : T2_SPRING + 2]
        masses = np.stack((c[T2_MASS] + motors[0], c[T2_MASS + 2] + motors[1]))
        cross = c[T2_MASS + 1]
        bent = [
            c[T2_BEND + 3 * i] * w0**2 + c[T2_BEND + 3 * i + 1] * w0 * w1 + c[T2_BEND + 3 * i + 2] * w1**2
            for i in range(2)
        ]
        inertia = np.stack(
            (masses[0] * alpha[0] + cross * alpha[1] + bent[0], masses[1] * alpha[1] + cross * alpha[0] + bent[1])
        )
        rub = c[T2_DRY : T2_DRY + 2] + table.dry
        visc = np.stack((c[T2_VISC] * w0 + c[T2_VISC + 1] * w1, c[T2_VISC + 1] * w0 + c[T2_VISC + 2] * w1))
        rates = np.stack([c[T2_BASE + 1 + i :: 3] for i in range(2)], axis=1)
    skin = _skin_torque(model, table, asked, rates) * skin_factor
    sign = np.sign(np.where(np.abs(omega) < 1e-6, 0.0, omega))
    borne = np.abs(gravity + spring + skin).max(axis=0)
    friction = sign * (rub + table.loss_on * borne) + visc
    return _Torques(
        theta=theta, omega=omega, alpha=alpha, gravity=gravity, spring=spring, skin=skin, friction=friction,
        inertia=inertia, mass=masses,
    )  # fmt: skip


def _inputs(model: DriveModel, table: Table, asked: Mapping[str, F64]) -> tuple[F64, F64]:
    """Return (inputs, samples) positions and (columns, samples) of the table there."""
    mech_f, mech_i, out_f, out_i, flat, inverse = mech_arrays([table], model.world, set())
    wanted = np.ascontiguousarray(np.stack([asked[name] for name in table.outputs]))
    samples = wanted.shape[1]
    theta = np.empty((len(table.inputs), samples))
    spots: list[tuple[I64, F64]] = []
    if len(table.inputs) == 1:
        invert_one_series(out_f, out_i, inverse, wanted, float(table.grid[0][0]), float(table.grid[0][-1]), theta[0])
    else:
        invert_two_series(mech_f, mech_i, flat, wanted, theta)
    for axis, grid in enumerate(table.grid):
        x = (theta[axis] - grid[0]) * ((len(grid) - 1) / (grid[-1] - grid[0]))
        k = np.clip(x.astype(np.int64), 0, len(grid) - 2)
        spots.append((k, x - k))
    rows = table.rows
    if len(spots) == 1:
        (k, f) = spots[0]
        found = rows[k] + f[:, None] * (rows[k + 1] - rows[k])
    else:
        (k, f), (j, g) = spots
        near = rows[k, j] + g[:, None] * (rows[k, j + 1] - rows[k, j])
        far = rows[k + 1, j] + g[:, None] * (rows[k + 1, j + 1] - rows[k + 1, j])
        found = near + f[:, None] * (far - near)
    return theta, np.ascontiguousarray(found.T)


def _slope(row: F64) -> F64:
    """Return the slope of a series at the judged rate, over SPAN samples either way; ends as far as they reach."""
    k = np.arange(len(row))
    lo, hi = np.maximum(k - SPAN, 0), np.minimum(k + SPAN, len(row) - 1)
    return np.asarray((row[hi] - row[lo]) / np.maximum(hi - lo, 1) * (SERIES_HZ / THIN))


def _skin_torque(model: DriveModel, table: Table, asked: Mapping[str, F64], rates: F64) -> F64:
    """Return (inputs, samples) torque that the skins ask of a mech; rates (out, inputs, samples)."""
    total = np.zeros(rates.shape[1:])
    for skin in model.skins:
        mine = [name for name in skin.functions if name in table.outputs]
        if not mine:
            continue
        stretch = sum(h * asked[name] for h, name in zip(skin.holds, skin.functions, strict=True)) - skin.rest
        x = (stretch - skin.low) * ((len(skin.force) - 1) / (skin.high - skin.low))
        k = np.clip(np.asarray(x).astype(np.int64), 0, len(skin.force) - 2)
        force = skin.force[k] + (x - k) * (skin.force[k + 1] - skin.force[k])
        for name in mine:
            hold_ = skin.holds[skin.functions.index(name)]
            total += rates[table.outputs.index(name)] * hold_ * force
    return total


def _worst(row: DriveRow, i: int, t: _Torques, motion: Motion, attitudes: Sequence[Attitude]) -> OperatingPoint:
    torque, omega = t.total[:, i] / row.count, t.omega[i]
    has = available_torque_nm(row.motor, omega)
    stall = row.motor.stall_torque_nm
    ahead = torque * np.sign(omega) >= 0
    # a load that drives the servo is held by its gears and its brake: the stall torque stands for that
    bears = np.where(ahead, has, stall)
    share = np.maximum(
        np.abs(torque) / np.maximum(bears, LEAST_SHARE * stall), np.abs(omega) / row.motor.free_speed_rad_s
    )
    a, k = np.unravel_index(int(share.argmax()), share.shape)
    return OperatingPoint(
        drive=row.name, share=float(share[a, k]), at=motion.start + THIN * SERIES_EVERY * int(k),
        torque_nm=float(t.total[a, i, k]), speed_rad_s=float(omega[k]), acceleration_rad_s2=float(t.alpha[i, k]),
        available_nm=row.count * float(bears[a, k]), stall_nm=row.count * stall, free_rad_s=row.motor.free_speed_rad_s,
        gravity_nm=float(t.gravity[a, i, k]), spring_nm=float(t.spring[i, k]), skin_nm=float(t.skin[i, k]),
        friction_nm=float(t.friction[i, k]), inertia_nm=float(t.inertia[i, k]), inertia_kgm2=float(t.mass[i, k]),
        attitude=attitudes[int(a)], input_rad=float(t.theta[i, k]),
    )  # fmt: skip
