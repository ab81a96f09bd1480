"""From datasheet numbers, or from a bench test, to a motor with gears.

Electrically ``volts * duty = R * i + k_e * omega`` (all at the output shaft). Gears pass on ``g(i)``, a rising curve of the
current, when the servo drives; what is lost, ``k_e * i - g(i)``, is dry friction and opposes motion either way.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from marotte.basis.contracts.common import F64, Told, f64
from marotte.basis.digest import digest
from marotte.creature.schema.servos import MeasuredPoint, ServoClass

FREE_CURRENT_SHARE = 0.1
"""Free current over stall current where the datasheet is silent (common practice, no source)."""
TEST_REACH = 0.1
"""A bench test speaks for voltages within this share of its own; beyond it the rows of the datasheet do."""


@dataclass(frozen=True, slots=True)
class Row:
    """The five datasheet numbers at one voltage; the stall torque as derated."""

    volts: float
    stall_torque_nm: float
    free_speed_rad_s: float
    stall_current_a: float
    free_current_a: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Motor:
    """One servo at one voltage."""

    volts: float
    resistance_ohm: float
    back_emf_vs: float
    """k_e [V*s/rad], at the output shaft; also the torque per current before the gears lose any [N*m/A]."""
    currents_a: F64
    """(p,) rising; the first is the free current."""
    torques_nm: F64
    """(p,) never falling, from 0: what the output gives at those currents."""
    inertia_kgm2: float
    from_test: bool
    told: tuple[Told, ...] = ()
    _digest: list[bytes] = field(default_factory=list, compare=False, repr=False)

    def __digest__(self) -> bytes:
        if not self._digest:
            parts = (
                self.volts,
                self.resistance_ohm,
                self.back_emf_vs,
                self.currents_a,
                self.torques_nm,
                self.inertia_kgm2,
            )
            self._digest.append(digest(("Motor", *parts)))
        return self._digest[0]

    @property
    def stall_current_a(self) -> float:
        """Current with the output held still at full drive [A]."""
        return self.volts / self.resistance_ohm

    @property
    def free_current_a(self) -> float:
        """Current when it runs free [A]."""
        return float(self.currents_a[0])

    @property
    def free_speed_rad_s(self) -> float:
        """Speed when it runs free [rad/s]."""
        return (self.volts - self.resistance_ohm * self.free_current_a) / self.back_emf_vs

    @property
    def stall_torque_nm(self) -> float:
        """Torque with the output held still at full drive [N*m]."""
        return float(output_torque_nm(self, np.float64(self.stall_current_a)))


def row_at(servo: ServoClass, volts: float) -> Row:
    """Return the datasheet numbers at a voltage [V]: between rows linear, beyond them in proportion to the nearest row."""
    points = servo.points
    at = np.array([point.at for point in points])
    inside = float(np.clip(volts, at[0], at[-1]))
    scale = volts / inside
    free_current = [FREE_CURRENT_SHARE * p.stall_current if p.free_current is None else p.free_current for p in points]
    stall_current = float(np.interp(inside, at, [p.stall_current for p in points])) * scale
    return Row(
        volts=volts,
        stall_torque_nm=float(np.interp(inside, at, [p.stall for p in points])) * scale * servo.derate,
        free_speed_rad_s=float(np.interp(inside, at, [p.free for p in points])) * scale,
        stall_current_a=stall_current,
        free_current_a=min(float(np.interp(inside, at, free_current)), 0.9 * stall_current),
    )


def motor(servo: ServoClass, volts: float) -> Motor:
    """Return the motor of a servo at a voltage [V], from its bench test where it has one near that voltage.

    Raises:
        ValueError: the voltage is not positive.
    """
    if volts <= 0:
        raise ValueError(f"a servo needs a voltage above zero, not {volts}")
    rows = [row for row in servo.measured if abs(row.at - volts) <= TEST_REACH * volts]
    if len(rows) >= 2:
        nearest = min((abs(row.at - volts), row.at) for row in rows)[1]
        tested = _from_test(servo, [row for row in rows if row.at == nearest], volts)
        if tested is not None:
            return tested
    return _from_rows(servo, row_at(servo, volts))


def _from_rows(servo: ServoClass, row: Row) -> Motor:
    """Straight lines through stall and free running."""
    told: tuple[Told, ...] = ()
    stall_current, free_current = row.stall_current_a, row.free_current_a
    back_emf = row.volts * (1.0 - free_current / stall_current) / row.free_speed_rad_s
    torque_per_amp = row.stall_torque_nm / (stall_current - free_current)
    if torque_per_amp > back_emf:
        # No motor gives more power than it draws; the torque and the speed are kept, the current is not believed.
        share = free_current / stall_current
        stall_current = row.stall_torque_nm * row.free_speed_rad_s / (row.volts * (1.0 - share) ** 2)
        free_current = share * stall_current
        sentence = (
            f"The datasheet promises more power than {row.stall_current_a:.2g} A can bring at {row.volts:.2g} V;"
            f" a stall current of {stall_current:.2g} A is taken"
        )
        told = (Told(code="servo_power", sentence=sentence, ref=servo.ref("points")),)
    return Motor(
        volts=row.volts,
        resistance_ohm=row.volts / stall_current,
        back_emf_vs=back_emf,
        currents_a=f64([free_current, stall_current]),
        torques_nm=f64([0.0, row.stall_torque_nm]),
        inertia_kgm2=servo.inertia,
        from_test=False,
        told=told,
    )


def _from_test(servo: ServoClass, rows: list[MeasuredPoint], volts: float) -> Motor | None:
    """Least squares for resistance and back-EMF; then the gear curve that puts every measured speed at its torque."""
    rows = sorted(rows, key=lambda row: (row.torque, -row.speed))
    test_volts = rows[0].at
    amps, speeds, torques = (np.array([getattr(row, name) for row in rows]) for name in ("current", "speed", "torque"))
    fit, _, rank, _ = np.linalg.lstsq(np.column_stack((amps, speeds)), np.full(len(rows), test_volts), rcond=None)
    resistance, back_emf = float(fit[0]), float(fit[1])
    if rank < 2 or resistance <= 0 or back_emf <= 0:
        return None
    told: list[Told] = []
    currents = (test_volts - back_emf * speeds) / resistance
    keep = np.concatenate(([True], currents[1:] > np.maximum.accumulate(currents)[:-1] + 1e-9))
    if not keep.all():
        sentence = f"{int((~keep).sum())} rows of the bench test, where the curve folds back, are left out"
        told.append(Told(code="servo_fold", sentence=sentence, ref=servo.ref("measured")))
        currents, torques = currents[keep], torques[keep]
    if len(currents) < 2 or torques[-1] <= torques[0]:
        return None
    if torques[0] > 0:  # back along the first stretch to no load
        slope = (torques[1] - torques[0]) / (currents[1] - currents[0])
        currents = np.concatenate(([max(currents[0] - torques[0] / slope, 1e-3 * currents[0])], currents))
        torques = np.concatenate(([0.0], torques))
    if currents[-1] < test_volts / resistance - 1e-9:
        # Beyond the heaviest load that it lifted nothing more is promised.
        currents = np.append(currents, test_volts / resistance)
        torques = np.append(torques, torques[-1])
    return Motor(
        volts=volts,
        resistance_ohm=resistance,
        back_emf_vs=back_emf,
        currents_a=f64(currents),
        torques_nm=f64(np.minimum(torques, back_emf * currents)),
        inertia_kgm2=servo.inertia,
        from_test=True,
        told=tuple(told),
    )


def gear_losses(motor: Motor) -> F64:
    """Return (s, 3) rows [from current A, N*m, N*m per A]: dry friction of the gears as straight pieces of |current|."""
    i, g = motor.currents_a, motor.torques_nm
    slope = motor.back_emf_vs - np.diff(g) / np.diff(i)
    level = motor.back_emf_vs * i[:-1] - g[:-1] - slope * i[:-1]
    rows = np.column_stack((i[:-1], level, slope))
    rows[0, 0] = 0.0
    return f64(rows)


def output_torque_nm(motor: Motor, current_a: F64 | np.float64) -> F64 | np.float64:
    """Return what the output gives [N*m] at a current [A] when it drives; beyond the last point as its last stretch."""
    i, g = motor.currents_a, motor.torques_nm
    last = (g[-1] - g[-2]) / (i[-1] - i[-2])
    inside = np.interp(current_a, i, g)
    return inside + np.maximum(np.asarray(current_a) - i[-1], 0.0) * last  # type: ignore[no-any-return]


def available_torque_nm(motor: Motor, speed_rad_s: F64 | float, volts: float | None = None) -> F64:
    """Return the torque [N*m] that it has left at a speed [rad/s] at full drive; 0 where it cannot run so fast."""
    supply = motor.volts if volts is None else volts
    current = (supply - motor.back_emf_vs * np.abs(np.asarray(speed_rad_s, dtype=np.float64))) / motor.resistance_ohm
    return np.asarray(np.maximum(output_torque_nm(motor, np.maximum(current, 0.0)), 0.0))


def current_for_torque_a(motor: Motor, torque_nm: F64 | float) -> F64:
    """Return the current [A] at which it drives against a torque [N*m]; infinite beyond what it can give."""
    torque = np.abs(np.asarray(torque_nm, dtype=np.float64))
    i, g = motor.currents_a, motor.torques_nm
    rising = np.concatenate(([True], np.diff(g) > 1e-12))
    slope = (g[-1] - g[-2]) / (i[-1] - i[-2])
    inside = np.interp(torque, g[rising], i[rising])
    over = torque > g[-1]
    beyond = i[-1] + (torque - g[-1]) / slope if slope > 1e-12 else np.full_like(torque, np.inf)
    return np.where(over, beyond, inside)


def speed_at_torque_rad_s(motor: Motor, torque_nm: F64 | float, volts: float | None = None) -> F64:
    """Return the speed [rad/s] at full drive against a torque [N*m]; 0 where it stalls."""
    supply = motor.volts if volts is None else volts
    current = current_for_torque_a(motor, torque_nm)
    return np.maximum((supply - motor.resistance_ohm * current) / motor.back_emf_vs, 0.0)
