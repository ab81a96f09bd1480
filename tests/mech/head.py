"""A small complete head, as records of the engine and, written independently, as a model of MuJoCo.

Jaw on a planar four-bar, lid on a ball rod, brow on a crank-slider, eye on two rods; one skin held by jaw and brow. Each
mechanism stands half a metre from the next, so that nothing meets.
"""

from __future__ import annotations

import mujoco
import numpy as np

from marotte.basis.frames import G0
from marotte.creature.schema.functions import FunctionLoad
from marotte.creature.schema.mechs import BallRod, CrankSlider, FourBar, GimbalArms, TwoRodGimbal
from marotte.mech.kinds.ball_rod import from_forward
from marotte.mech.kinds.two_rod_gimbal import rods_of
from tests.mech.rigs import DEG, JAW, function, sound
from tests.mech.test_against_mujoco import LIGHT
from tests.mech.test_spatial_against_mujoco import rod_of, vec

OUT_ARMATURE, OUT_DAMPING = 2e-5, 5e-4  # MuJoCo's stiff loops want some; both are known, and counted
SLIDE_DAMPING = 0.5
FREE = f'damping="{OUT_DAMPING}" armature="{OUT_ARMATURE}"'
CONNECT = """<connect site1="{a}" site2="{b}" solref="0.002 1" solimp="0.9999 0.9999 0.001"/>"""
X, Y, Z = np.eye(3)
HOLDS = {"jaw": 0.070, "brow": -0.5}
NAMES = ("jaw", "lid", "brow", "eye_a", "eye_b")
"""Of the horns."""


def parts():
    """The records, functions and transmissions of the head."""
    jaw = function("jaw", 0.0, 22 * DEG, load=FunctionLoad(mass=0.16, centre=(0.0, -0.018, 0.058)))
    lid = function("lid_upper", -25 * DEG, 25 * DEG, load=FunctionLoad(mass=0.03, centre=(0.0, 0.01, 0.02)))
    brow = function("brow", -0.005, 0.006, load=FunctionLoad(mass=0.02))
    turn, lift = function("eye_turn", -28 * DEG, 28 * DEG), function("eye_lift", -18 * DEG, 18 * DEG)
    bar = FourBar(**JAW, arm_at_neutral=85 * DEG)
    rod = BallRod(
        horn=0.010, rod=0.0385, arm=0.012, horn_at=(-0.010, -0.0385, -0.012), horn_axis=(0.0, 0.0, 1.0),
        arm_at=(0.0, 0.0, 0.0), arm_at_neutral=180 * DEG, horn_at_neutral=-90 * DEG,
    )  # fmt: skip
    crank = CrankSlider(horn=0.010, rod=0.046)
    eye = TwoRodGimbal(horn=0.012, rod=0.044, arms=GimbalArms(spacing=0.016, height=0.010))
    moved = {
        "jaw": sound(bar, jaw), "lid": sound(rod, lid), "brow": sound(crank, brow),
        "eye": sound(eye, turn, lift, inputs=("a", "b")),
    }  # fmt: skip
    return {"jaw": jaw, "lid": lid, "brow": brow}, {"jaw": bar, "lid": rod, "brow": crank, "eye": eye}, moved


def _plane(name, axle, e1, e2, horn, ball, at, hinge):
    """A horn about e1 x e2 at a place, its rod to a ball [plane coordinates from the horn's axle]."""
    tip = horn * (np.cos(at) * e1 + np.sin(at) * e2)
    end = ball[0] * e1 + ball[1] * e2
    return f"""<body pos="{vec(axle)}"><joint name="{name}_in" axis="{vec(np.cross(e1, e2))}" {hinge}/>
      <geom type="sphere" {LIGHT}/>{rod_of(name, tip, end)}</body>"""


def head(records, moved, options, hinge, push):
    """Return the model; horns have joints `NAME_in` that take `hinge`, and actuators written `push` with {name} in it."""
    bar, rod, crank, eye = (records[name] for name in ("jaw", "lid", "brow", "eye"))
    bodies = ""
    # jaw: about x, seen so that forward (z) is the ground line and down (-y) is up in the plane
    arm = bar.arm * np.array([np.cos(85 * DEG), np.sin(85 * DEG)])
    bodies += _plane(
        "jaw",
        (0, 0, -bar.ground),
        Z,
        -Y,
        bar.horn,
        (arm[0] + bar.ground, arm[1]),
        moved["jaw"].clocking["horn"],
        hinge,
    )
    bodies += f"""<body><joint name="jaw" axis="1 0 0" {FREE}/><geom type="sphere" {LIGHT}/>
      <geom type="sphere" mass="0.16" size="0.001" pos="0 -0.018 0.058"/>
      <site name="ball_jaw" pos="{vec(arm[0] * Z - arm[1] * Y)}"/></body>"""
    # lid: half a metre aside
    aside = np.array([0.5, 0.0, 0.0])
    (h1, h2), (a1, a2) = from_forward(rod.horn_axis), from_forward((1.0, 0.0, 0.0))
    angle = moved["lid"].clocking["horn"]
    horn = rod.horn * (np.cos(angle) * np.array(h1) + np.sin(angle) * np.array(h2))
    arm3 = rod.arm * (np.cos(rod.arm_at_neutral) * np.array(a1) + np.sin(rod.arm_at_neutral) * np.array(a2))
    bodies += f"""<body pos="{vec(aside + rod.horn_at)}"><joint name="lid_in" axis="0 0 1" {hinge}/>
      <geom type="sphere" {LIGHT}/>{rod_of("lid", horn, arm3 - np.array(rod.horn_at))}</body>
      <body pos="{vec(aside)}"><joint name="lid" axis="1 0 0" {FREE}/><geom type="sphere" {LIGHT}/>
      <geom type="sphere" mass="0.03" size="0.001" pos="0 0.01 0.02"/><site name="ball_lid" pos="{vec(arm3)}"/></body>"""
    # brow: slides up along y from an axle below it
    aside = np.array([1.0, 0.0, 0.0])
    out = np.sqrt(crank.rod**2 - crank.horn**2)
    bodies += _plane("brow", aside, Y, -Z, crank.horn, (out, 0.0), crank.horn_at_neutral, hinge)
    bodies += f"""<body pos="{vec(aside + out * Y)}"><joint name="brow" type="slide" axis="0 1 0" damping="{SLIDE_DAMPING}"/>
      <geom type="sphere" mass="0.02" size="0.001"/><site name="ball_brow" pos="0 0 0"/></body>"""
    # eye
    aside = np.array([1.5, 0.0, 0.0])
    sites = ""
    for name, row in zip("ab", rods_of(eye, (0.0, 0.0), None), strict=True):
        tip = row[6] * np.array([0.0, np.sin(row[7]), np.cos(row[7])])
        bodies += f"""<body pos="{vec(aside + row[3:6])}"><joint name="eye_{name}_in" axis="-1 0 0" {hinge}/>
          <geom type="sphere" {LIGHT}/>{rod_of(f"eye_{name}", tip, tip + row[8] * Z)}</body>"""
        sites += f"""<site name="ball_eye_{name}" pos="{vec(row[:3])}"/>"""
    bodies += f"""<body pos="{vec(aside)}"><joint name="eye_turn" axis="0 1 0" {FREE}/><geom type="sphere" {LIGHT}/>
      <body><joint name="eye_lift" axis="-1 0 0" {FREE}/><geom type="sphere" mass="0.018" size="0.02"/>{sites}</body></body>"""
    ties = "".join(CONNECT.format(a=f"far_{name}", b=f"ball_{name}") for name in NAMES)
    servos = "".join(push.format(name=name) for name in NAMES)
    xml = f"""<mujoco>{options.format(gravity=f"0 {-G0} 0")}<worldbody>{bodies}</worldbody>
      <equality>{ties}</equality><actuator>{servos}</actuator></mujoco>"""
    return mujoco.MjModel.from_xml_string(xml)


def bicubic(found, k, a, b):
    """Position between nodes: from the nearest node by its rates and bends."""
    i, j = (int(np.argmin(np.abs(grid - x))) for grid, x in zip(found.grid, (a, b), strict=True))
    da, db = a - found.grid[0][i], b - found.grid[1][j]
    cross = (found.rate[k, 1, i + 1, j] - found.rate[k, 1, i - 1, j]) / (found.grid[0][i + 1] - found.grid[0][i - 1])
    return (
        found.position[k, i, j] + found.rate[k, 0, i, j] * da + found.rate[k, 1, i, j] * db
        + 0.5 * found.bend[k, 0, i, j] * da**2 + 0.5 * found.bend[k, 1, i, j] * db**2 + cross * da * db
    )  # fmt: skip
