"""The same four-bars and servos in a general multibody engine (MuJoCo), written independently of the drive.

Planar in x and y, gravity along -y, hinges about z. The loop is closed by an equality constraint whose softness is set so
that the ends part by microns. The servo's motor is a torque at the horn: stall at zero speed and the back-EMF as damping.
"""

from __future__ import annotations

from dataclasses import dataclass

import mujoco
import numpy as np

from marotte.basis.contracts.common import F64
from marotte.drive.model import DriveRow

STEP_S = 1.0 / 1200.0
SOFT = 'solref="0.002 1" solimp="0.99 0.999 0.0001"'


@dataclass(frozen=True)
class Bar:
    """One four-bar on the bench: lengths [m], where its horn starts [rad], and what hangs on its arm."""

    horn: float
    rod: float
    arm: float
    ground: float
    horn_at: float
    mass: float
    reach: float

    def arm_at(self) -> float:
        """Return the arm's angle [rad] by the cosine rule, open branch."""
        hx, hy = self.horn * np.cos(self.horn_at), self.horn * np.sin(self.horn_at)
        far = np.hypot(self.ground - hx, -hy)
        toward = np.arctan2(hy, hx - self.ground)
        spread = np.arccos((self.arm**2 + far**2 - self.rod**2) / (2 * self.arm * far))
        return float(toward - spread)


def build(bars: list[Bar], rows: list[DriveRow], timestep: float = STEP_S, gap: float = 0.4) -> mujoco.MjModel:
    """Return a model of four-bars side by side, each horn with its servo's rotor and back-EMF."""
    bodies, loops, motors = [], [], []
    for k, (bar, row) in enumerate(zip(bars, rows, strict=True)):
        x = gap * k
        tip = bar.horn * np.array([np.cos(bar.horn_at), np.sin(bar.horn_at)])
        at = bar.arm_at()
        ball = np.array([bar.ground + bar.arm * np.cos(at), bar.arm * np.sin(at)])
        rod = ball - tip
        reach = bar.reach * np.array([np.cos(at), np.sin(at)])
        damping = row.motor.back_emf_vs**2 / row.motor.resistance_ohm
        bodies.append(f"""
        <body name="horn{k}" pos="{x} 0 0"><joint name="horn{k}" axis="0 0 1" armature="{row.motor.inertia_kgm2}" damping="{damping}"/>
          <geom type="sphere" mass="1e-5" size="0.001"/>
          <body name="rod{k}" pos="{tip[0]} {tip[1]} 0"><joint axis="0 0 1" armature="1e-7"/>
            <geom type="sphere" mass="1e-5" size="0.001"/><site name="far{k}" pos="{rod[0]} {rod[1]} 0"/></body></body>
        <body name="arm{k}" pos="{x + bar.ground} 0 0"><joint name="arm{k}" axis="0 0 1"/>
          <geom type="sphere" mass="{bar.mass}" size="1e-4" pos="{reach[0]} {reach[1]} 0"/>
          <site name="ball{k}" pos="{ball[0] - bar.ground} {ball[1]} 0"/></body>""")
        loops.append(f'<connect site1="far{k}" site2="ball{k}" {SOFT}/>')
        motors.append(f'<motor joint="horn{k}" name="horn{k}"/>')
    return mujoco.MjModel.from_xml_string(f"""<mujoco><compiler angle="radian"/>
      <option timestep="{timestep}" integrator="implicitfast" gravity="0 -9.80665 0"><flag contact="disable"/></option>
      <worldbody>{"".join(bodies)}</worldbody>
      <equality>{"".join(loops)}</equality><actuator>{"".join(motors)}</actuator></mujoco>""")


@dataclass
class Law:
    """The servo's law as its maker would write it: listen at frames, dead band, proportion less speed, limits."""

    rows: list[DriveRow]
    targets: F64

    def duty(self, tick: int, wanted: F64, theta: F64, omega: F64) -> F64:
        """Return (d,) the share of the volts that each servo puts on its motor, with its sign."""
        out = np.empty(len(self.rows))
        for d, row in enumerate(self.rows):
            if tick % row.frame == 0:
                step = row.signal_step
                self.targets[d] = round(wanted[d] / step) * step if step else wanted[d]
            error = self.targets[d] - theta[d]
            error = np.sign(error) * max(abs(error) - row.dead_band, 0.0)
            out[d] = min(max((error - row.brake_time * omega[d]) / row.full_at, -1.0), 1.0)
        return out

    def torque(self, tick: int, wanted: F64, theta: F64, omega: F64, volts: float) -> F64:
        """Return (d,) motor torque without the back-EMF, which the engine has as damping."""
        per_volt = np.array([row.motor.back_emf_vs / row.motor.resistance_ohm for row in self.rows])
        return per_volt * self.duty(tick, wanted, theta, omega) * volts
