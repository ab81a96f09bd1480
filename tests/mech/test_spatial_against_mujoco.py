"""Ball-ended rod and bell-crank against an independent multibody engine (MuJoCo), loops closed by its equalities.

The tolerances are those of test_against_mujoco.py, and for the same reasons.
"""

from __future__ import annotations

import mujoco
import numpy as np
import pytest

from marotte.basis.frames import G0
from marotte.creature.anatomy import PARTS
from marotte.creature.schema.functions import FunctionLoad
from marotte.creature.schema.mechs import BallRod, BellCrank
from marotte.mech.kinds.ball_rod import from_forward
from marotte.mech.loads import gravity_force, load
from tests.mech.rigs import DEG, function, sound
from tests.mech.test_against_mujoco import ANGLE_TOLERANCE, CONNECT, LIGHT, OPTIONS, TORQUE_TOLERANCE, settled

pytestmark = pytest.mark.slow
HINGE = 'damping="0.002" armature="1e-4"'


def vec(v):
    return " ".join(f"{float(x):.12g}" for x in v)


def rod_of(name, start, end):
    """A ball-ended rod from one point of its parent to another point, both in the parent's frame."""
    away = np.asarray(end) - np.asarray(start)
    return f"""<body pos="{vec(start)}"><joint type="ball" damping="1e-5" armature="1e-6"/>
      <geom type="capsule" mass="1e-4" size="0.001" fromto="0 0 0 {vec(away)}"/>
      <site name="far_{name}" pos="{vec(away)}"/></body>"""


def test_a_lids_ball_rod_stands_and_pulls_as_mujoco_has_it():
    # horn axis fore and aft, arm axis to the left: the two planes are square to each other, the rod stands upright
    record = BallRod(
        horn=0.010, rod=0.0385, arm=0.012, horn_at=(-0.010, -0.0385, -0.012), horn_axis=(0.0, 0.0, 1.0),
        arm_at=(0.0, 0.0, 0.0), arm_at_neutral=180 * DEG, horn_at_neutral=-90 * DEG,
    )  # fmt: skip
    weight = FunctionLoad(mass=0.03, centre=(0.0, 0.01, 0.02))
    lid = function("lid_upper", -25 * DEG, 25 * DEG, load=weight)
    found = sound(record, lid)
    (h1, h2), (a1, a2) = from_forward(record.horn_axis), from_forward((1.0, 0.0, 0.0))
    at_horn, at_arm = found.clocking["horn"], record.arm_at_neutral
    horn = record.horn * (np.cos(at_horn) * np.array(h1) + np.sin(at_horn) * np.array(h2))
    arm = record.arm * (np.cos(at_arm) * np.array(a1) + np.sin(at_arm) * np.array(a2))
    centre = np.array(record.horn_at)
    assert np.linalg.norm(arm - centre - horn) == pytest.approx(record.rod, abs=1e-9)
    xml = f"""<mujoco>{OPTIONS.format(gravity=f"0 {-G0} 0")}
      <worldbody>
        <body pos="{vec(centre)}"><joint name="horn" axis="0 0 1" {HINGE}/><geom type="sphere" {LIGHT}/>
          {rod_of("rod", horn, arm - centre)}</body>
        <body><joint name="lid" axis="1 0 0" {HINGE}/><geom type="sphere" {LIGHT}/>
          <geom type="sphere" mass="0.03" size="0.001" pos="0 0.01 0.02"/><site name="ball" pos="{vec(arm)}"/></body>
      </worldbody>
      <equality>{CONNECT.format(a="far_rod", b="ball")}</equality>
      <actuator><position name="servo" joint="horn" kp="50" kv="0.5"/></actuator></mujoco>"""
    model = mujoco.MjModel.from_xml_string(xml)
    data = mujoco.MjData(model)
    grid = found.grid[0]
    # the engine counts its input so that it drives the lid up; MuJoCo counts the horn by the right-hand rule
    settled(model, data, {"servo": 0.05})
    sense = np.sign(float(data.joint("lid").qpos[0]))
    own = load("lid", lid, PARTS["lid_upper"])
    pull = gravity_force(own, (0.0, -G0, 0.0))
    for u in np.linspace(grid[0] + 2 * DEG, grid[-1] - 2 * DEG, 6):
        settled(model, data, {"servo": sense * u})
        at = sense * float(data.joint("horn").qpos[0])
        q = float(data.joint("lid").qpos[0])
        # MuJoCo's loop parts by some 5 um under this load: that, over the arm at the rod's angle, is all it may be off
        gap = float(np.linalg.norm(data.site("far_rod").xpos - data.site("ball").xpos))
        slack = gap / (record.arm * np.sin(np.interp(at, grid, found.joints["arm"])))
        assert gap < 1e-5
        assert q == pytest.approx(np.interp(at, grid, found.position[0]), abs=1.05 * slack + 2e-5)
        torque = sense * float(data.actuator("servo").force[0])
        mine = -np.interp(at, grid, found.rate[0, 0]) * np.interp(q, own.grid, pull)
        assert torque == pytest.approx(mine, rel=TORQUE_TOLERANCE, abs=2e-4)


def test_a_bell_crank_before_an_arm_stands_as_mujoco_has_it():
    record = BellCrank(
        horn=0.012, rod=0.034, in_arm=0.012, out_arm=0.016, ground=0.036, in_arm_at_neutral=80 * DEG,
        out_arm_at_neutral=95 * DEG, next_rod=0.050, next_arm=0.018, next_ground=0.052,
    )  # fmt: skip
    found = sound(record, function("jaw", -12 * DEG, 15 * DEG))

    def circle(radius, angle):
        return radius * np.array([np.cos(angle), np.sin(angle), 0.0])

    # first plane along x; the second ground line starts at the crank's axle and here runs along x as well
    crank = np.array([record.ground, 0.0, 0.0])
    horn = circle(record.horn, found.clocking["horn"])
    in_ball = crank + circle(record.in_arm, record.in_arm_at_neutral)
    out_ball = circle(record.out_arm, record.out_arm_at_neutral)
    axle = np.array([record.next_ground, 0.0, 0.0])
    away = out_ball - axle
    flat, reach = np.hypot(away[0], away[1]), record.next_arm
    cosine = (flat**2 + reach**2 - record.next_rod**2) / (2 * flat * reach)
    angles = [np.arctan2(away[1], away[0]) + s * np.arccos(cosine) for s in (1, -1)]
    angle = next(a for a in angles if np.sin(a) > 0)  # open: on the same side as the crank's arm
    arm = circle(reach, angle)
    xml = f"""<mujoco>{OPTIONS.format(gravity="0 0 0")}
      <worldbody>
        <body><joint name="horn" axis="0 0 1" {HINGE}/><geom type="sphere" {LIGHT}/>{rod_of("one", horn, in_ball)}</body>
        <body pos="{vec(crank)}"><joint name="crank" axis="0 0 1" {HINGE}/><geom type="sphere" {LIGHT}/>
          <site name="in" pos="{vec(in_ball - crank)}"/>{rod_of("two", out_ball, axle + arm)}</body>
        <body pos="{vec(crank + axle)}"><joint name="arm" axis="0 0 1" {HINGE}/><geom type="sphere" {LIGHT}/>
          <site name="out" pos="{vec(arm)}"/></body>
      </worldbody>
      <equality>{CONNECT.format(a="far_one", b="in")}{CONNECT.format(a="far_two", b="out")}</equality>
      <actuator><position name="servo" joint="horn" kp="50" kv="0.5"/></actuator></mujoco>"""
    model = mujoco.MjModel.from_xml_string(xml)
    data = mujoco.MjData(model)
    grid = found.grid[0]
    for u in np.linspace(grid[0], grid[-1], 6):
        settled(model, data, {"servo": u})
        at = float(data.joint("horn").qpos[0])
        mine = np.interp(at, grid, found.position[0])
        assert float(data.joint("arm").qpos[0]) == pytest.approx(mine, abs=ANGLE_TOLERANCE)
