"""Linkages against an independent multibody engine (MuJoCo): loops closed by its equality constraints.

Its loops are soft: with the settings below the ends of a closed loop part by microns, so an angle at an arm of 10 to 20 mm
may differ by some 1e-4 rad. Torques are read at rest, after the pose has settled.
"""

from __future__ import annotations

import mujoco
import numpy as np
import pytest

from marotte.basis.frames import G0
from marotte.creature.anatomy import PARTS
from marotte.creature.schema.functions import FunctionLoad
from marotte.creature.schema.mechs import FourBar, GimbalArms, TwoRodGimbal
from marotte.mech.kinds.two_rod_gimbal import rods_of
from marotte.mech.loads import gravity_force, load
from tests.mech.rigs import DEG, JAW, eye, function, sound

pytestmark = pytest.mark.slow

OPTIONS = (
    """<option timestep="0.0005" integrator="implicitfast" gravity="{gravity}"><flag contact="disable"/></option>"""
)
CONNECT = """<connect site1="{a}" site2="{b}" solref="0.002 1" solimp="0.99 0.9999 0.0001"/>"""
LIGHT = 'mass="1e-4" size="0.001"'
ANGLE_TOLERANCE = 5e-4  # rad: loop gap of some 5 um on the shortest arm, 10 mm
TORQUE_TOLERANCE = 0.01  # relative: the links that MuJoCo must have weigh 0.1 g each against a load of 160 g


def settled(model: mujoco.MjModel, data: mujoco.MjData, targets: dict[str, float], steps: int = 3000) -> None:
    """Move the position servos slowly to their targets and let all come to rest."""
    start = {name: float(data.actuator(name).ctrl[0]) for name in targets}
    for step in range(steps):
        share = min(1.0, step / (0.5 * steps))
        for name, target in targets.items():
            data.actuator(name).ctrl[0] = start[name] + share * (target - start[name])
        mujoco.mj_step(model, data)


def test_a_loaded_four_bar_stands_and_pulls_as_mujoco_has_it():
    arm_at = 70 * DEG
    found = sound(FourBar(**JAW, arm_at_neutral=arm_at), function("jaw", 0.0, 22 * DEG))
    horn_at = found.clocking["horn"]
    a, c, d = JAW["horn"], JAW["arm"], JAW["ground"]
    tip = a * np.array([np.cos(horn_at), np.sin(horn_at)])
    ball = np.array([d + c * np.cos(arm_at), c * np.sin(arm_at)])
    rod = ball - tip
    # a planar model in x (ground line) and y, turning about z; the load hangs on the arm, gravity along -y
    xml = f"""<mujoco>{OPTIONS.format(gravity=f"0 {-G0} 0")}
      <worldbody>
        <body name="horn"><joint name="horn" axis="0 0 1" damping="0.002" armature="1e-4"/>
          <geom type="sphere" {LIGHT}/>
          <body name="rod" pos="{tip[0]} {tip[1]} 0"><joint name="rod" axis="0 0 1" damping="1e-5" armature="1e-6"/>
            <geom type="sphere" {LIGHT}/><site name="far" pos="{rod[0]} {rod[1]} 0"/></body></body>
        <body name="arm" pos="{d} 0 0"><joint name="arm" axis="0 0 1" damping="0.002" armature="1e-4"/>
          <geom type="sphere" {LIGHT}/>
          <geom type="sphere" mass="0.160" size="0.001" pos="0.058 -0.018 0"/>
          <site name="ball" pos="{ball[0] - d} {ball[1]} 0"/></body>
      </worldbody>
      <equality>{CONNECT.format(a="far", b="ball")}</equality>
      <actuator><position name="servo" joint="horn" kp="50" kv="0.5"/></actuator></mujoco>"""
    model = mujoco.MjModel.from_xml_string(xml)
    data = mujoco.MjData(model)
    # the same load, apart from the engine's own: axis z, centre turning with the arm, gravity along -y
    record = function(
        "other_turn", 0.0, 22 * DEG, axis=(0.0, 0.0, 1.0), load=FunctionLoad(mass=0.16, centre=(0.058, -0.018, 0.0))
    )
    weight = load("jaw", record, PARTS["other_turn"])
    pull = gravity_force(weight, (0.0, -G0, 0.0))
    grid, rate = found.grid[0], found.rate[0, 0]
    for u in np.linspace(2 * DEG, grid[-1] - 2 * DEG, 6):
        settled(model, data, {"servo": u})
        at = float(data.joint("horn").qpos[0])
        q = float(data.joint("arm").qpos[0])
        assert q == pytest.approx(np.interp(at, grid, found.position[0]), abs=ANGLE_TOLERANCE)
        torque = float(data.actuator("servo").force[0])
        mine = -np.interp(at, grid, rate) * np.interp(q, weight.grid, pull)
        assert torque == pytest.approx(mine, rel=TORQUE_TOLERANCE, abs=2e-4)


def test_an_eye_on_two_rods_looks_where_mujoco_has_it():
    found = eye("left")
    record = TwoRodGimbal(horn=0.012, rod=0.044, arms=GimbalArms(spacing=0.016, height=0.010))
    rods = rods_of(record, (0.0, 0.0), "left")
    horns, rod_sites, connects, servos = "", "", "", ""
    for name, rod in zip("ab", rods, strict=True):
        tip = rod[6] * np.array([0.0, np.sin(rod[7]), np.cos(rod[7])])
        horns += f"""<body name="horn_{name}" pos="{rod[3]} {rod[4]} {rod[5]}">
            <joint name="{name}" axis="-1 0 0" damping="0.002" armature="1e-4"/><geom type="sphere" {LIGHT}/>
            <body pos="{tip[0]} {tip[1]} {tip[2]}"><joint type="ball" damping="1e-5" armature="1e-6"/>
              <geom type="capsule" mass="1e-4" size="0.001" fromto="0 0 0 0 0 {rod[8]}"/>
              <site name="far_{name}" pos="0 0 {rod[8]}"/></body></body>"""
        rod_sites += f"""<site name="ball_{name}" pos="{rod[0]} {rod[1]} {rod[2]}"/>"""
        connects += CONNECT.format(a=f"far_{name}", b=f"ball_{name}")
        servos += f"""<position name="servo_{name}" joint="{name}" kp="50" kv="0.5"/>"""
    # a ball joint's rod may spin about itself: MuJoCo bears that, damped
    xml = f"""<mujoco>{OPTIONS.format(gravity="0 0 0")}
      <worldbody>{horns}
        <body name="yoke"><joint name="turn" axis="0 1 0" damping="1e-4" armature="1e-5"/><geom type="sphere" {LIGHT}/>
          <body name="eye"><joint name="lift" axis="-1 0 0" damping="1e-4" armature="1e-5"/>
            <geom type="sphere" mass="0.018" size="0.02"/>{rod_sites}</body></body>
      </worldbody><equality>{connects}</equality><actuator>{servos}</actuator></mujoco>"""
    model = mujoco.MjModel.from_xml_string(xml)
    data = mujoco.MjData(model)
    a, b = found.grid
    for i, j in [(20, 20), (28, 12), (10, 30), (30, 30), (12, 14)]:
        settled(model, data, {"servo_a": float(a[i]), "servo_b": float(b[j])})
        du = (float(data.joint("a").qpos[0]) - a[i], float(data.joint("b").qpos[0]) - b[j])
        for k, name in enumerate(("turn", "lift")):
            mine = found.position[k, i, j] + found.rate[k, 0, i, j] * du[0] + found.rate[k, 1, i, j] * du[1]
            assert float(data.joint(name).qpos[0]) == pytest.approx(mine, abs=ANGLE_TOLERANCE)
