"""What the drive engine hands on: how the means answer what is asked, all together."""

from __future__ import annotations

from dataclasses import dataclass

from marotte.basis.contracts.common import F64, I64, Bool, Motion, Told


@dataclass(frozen=True, slots=True, kw_only=True)
class Peaks:
    """Worst values, per drive (d) or function (n), with the tick of each."""

    drives: tuple[str, ...]
    functions: tuple[str, ...]
    error: F64
    """(n,) largest |asked - reached| [rad or m]."""
    error_at: I64
    torque_use: F64
    """(d,) largest share of the torque that the drive has at the speed it then has."""
    torque_use_at: I64
    torque: F64
    """(d,) largest |torque at the input| [N*m]."""
    torque_at: I64
    speed: F64
    """(d,) largest |input speed| [rad/s]."""
    current: F64
    """(d,) largest current [A]."""
    voltage: F64
    """(d,) lowest terminal voltage [V]."""
    voltage_at: I64
    lag: F64
    """(n,) delay that best explains the error over moving windows [s]."""
    later: Bool
    """(n,) whether it is that or more: no longer one is tried, for the run-in of a window holds no more."""
    follows: F64
    """(n,) share of what is asked, as squared way from its mean, that is reached so late; 1 where nothing is asked. Under a
    half, what is missed is no delay."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rails:
    """The supply over the whole part."""

    leads: tuple[str, ...]
    lowest_v: F64
    """(leads,) lowest voltage at the far end of each lead."""
    lowest_at: I64
    highest_a: F64
    """(leads,) highest current in each lead."""
    highest_at: I64
    rms_a: F64
    """(leads,) root mean square current over the worst 60 s."""
    battery_c: float
    """Charge drawn over the part [C]."""
    mean_a: float
    """Mean battery current over the part [A]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Response:
    """How the whole creature answers a Motion."""

    reached: Motion
    """240 Hz; other traces are made again, one window at a time, when looked at."""
    worst: Peaks
    sums: F64
    """(k, d, quantity): see SUMS."""
    rails: Rails
    heat: F64
    """(k, d) winding temperature rise at the end of each window [K]."""
    substeps: int = 1
    told: tuple[Told, ...] = ()


SUMS: tuple[str, ...] = ("energy_j", "current2_a2s", "torque2_n2m2s", "limited_ticks", "error2", "charge_c", "ticks")
"""Names of the last axis of ``Response.sums``, per window and drive."""
