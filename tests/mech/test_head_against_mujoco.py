"""A small complete head moving for 20 s, against an independent multibody engine (MuJoCo).

Jaw on a planar four-bar, lid on a ball rod, brow on a crank-slider, eye on two rods; one skin held by jaw and brow; gravity. The
horns are driven along sums of sines; what MuJoCo's joints and servos then do is compared with what transmissions, loads
and skin give for the same horn angles, speeds and accelerations.

Found: outputs within 2e-4 rad RMS and 3e-4 at worst (the jaw, which bears most; the others 4e-6 and 6e-6), the brow within
1e-6 m; torques within 0.01 to 0.4 % RMS and 0.8 % at worst. Tolerances are a little wider. What is left of the positions is
MuJoCo's: its loops are soft and part by microns under load; of the torques, its links, which cannot be weightless.
"""

from __future__ import annotations

import mujoco
import numpy as np
import pytest

from marotte.basis.frames import G0
from marotte.creature.anatomy import PARTS
from marotte.creature.schema.functions import FunctionLoad
from marotte.creature.schema.mechs import BallRod, CrankSlider, FourBar, GimbalArms, TwoRodGimbal
from marotte.creature.schema.skins import SkinCard, Strip
from marotte.creature.shelf import shelf
from marotte.mech.kinds.ball_rod import from_forward
from marotte.mech.kinds.two_rod_gimbal import rods_of
from marotte.mech.loads import load
from marotte.mech.skin import force_on, skin
from tests.mech.rigs import DEG, JAW, function, sound
from tests.mech.test_against_mujoco import LIGHT
from tests.mech.test_spatial_against_mujoco import rod_of, vec

pytestmark = pytest.mark.slow

SECONDS, STEP, EVERY = 20.0, 0.0005, 40
ARMATURE, DAMPING = 1e-3, 0.002
OUT_ARMATURE, OUT_DAMPING = 2e-5, 5e-4  # MuJoCo's stiff loops want some; both are known, and counted below
SLIDE_DAMPING = 0.5
KV = 0.5
HINGE = f'damping="{DAMPING}" armature="{ARMATURE}"'
FREE = f'damping="{OUT_DAMPING}" armature="{OUT_ARMATURE}"'
# explicit all through, so that the accelerations read are those that happen
OPTIONS = """<option timestep="0.0005" integrator="Euler" gravity="{gravity}">
  <flag contact="disable" eulerdamp="disable"/></option>"""
CONNECT = """<connect site1="{a}" site2="{b}" solref="0.002 1" solimp="0.9999 0.9999 0.001"/>"""
X, Y, Z = np.eye(3)
HOLDS = {"jaw": 0.070, "brow": -0.5}


def _parts():
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


def _plane(name, axle, e1, e2, horn, ball, at):
    """A horn about e1 x e2 at a place, its rod to a ball [plane coordinates from the horn's axle]."""
    tip = horn * (np.cos(at) * e1 + np.sin(at) * e2)
    end = ball[0] * e1 + ball[1] * e2
    return f"""<body pos="{vec(axle)}"><joint name="{name}_in" axis="{vec(np.cross(e1, e2))}" {HINGE}/>
      <geom type="sphere" {LIGHT}/>{rod_of(name, tip, end)}</body>"""


def _model(records, moved):
    bar, rod, crank, eye = (records[name] for name in ("jaw", "lid", "brow", "eye"))
    bodies, ties = "", ""
    # jaw: about x, seen so that forward (z) is the ground line and down (-y) is up in the plane
    arm = bar.arm * np.array([np.cos(85 * DEG), np.sin(85 * DEG)])
    bodies += _plane(
        "jaw", (0, 0, -bar.ground), Z, -Y, bar.horn, (arm[0] + bar.ground, arm[1]), moved["jaw"].clocking["horn"]
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
    bodies += f"""<body pos="{vec(aside + rod.horn_at)}"><joint name="lid_in" axis="0 0 1" {HINGE}/>
      <geom type="sphere" {LIGHT}/>{rod_of("lid", horn, arm3 - np.array(rod.horn_at))}</body>
      <body pos="{vec(aside)}"><joint name="lid" axis="1 0 0" {FREE}/><geom type="sphere" {LIGHT}/>
      <geom type="sphere" mass="0.03" size="0.001" pos="0 0.01 0.02"/><site name="ball_lid" pos="{vec(arm3)}"/></body>"""
    # brow: slides up along y from an axle below it
    aside = np.array([1.0, 0.0, 0.0])
    out = np.sqrt(crank.rod**2 - crank.horn**2)
    bodies += _plane("brow", aside, Y, -Z, crank.horn, (out, 0.0), crank.horn_at_neutral)
    bodies += f"""<body pos="{vec(aside + out * Y)}"><joint name="brow" type="slide" axis="0 1 0" damping="{SLIDE_DAMPING}"/>
      <geom type="sphere" mass="0.02" size="0.001"/><site name="ball_brow" pos="0 0 0"/></body>"""
    # eye
    aside = np.array([1.5, 0.0, 0.0])
    sites = ""
    for name, row in zip("ab", rods_of(eye, (0.0, 0.0), None), strict=True):
        tip = row[6] * np.array([0.0, np.sin(row[7]), np.cos(row[7])])
        bodies += f"""<body pos="{vec(aside + row[3:6])}"><joint name="eye_{name}_in" axis="-1 0 0" {HINGE}/>
          <geom type="sphere" {LIGHT}/>{rod_of(f"eye_{name}", tip, tip + row[8] * Z)}</body>"""
        sites += f"""<site name="ball_eye_{name}" pos="{vec(row[:3])}"/>"""
    bodies += f"""<body pos="{vec(aside)}"><joint name="eye_turn" axis="0 1 0" {FREE}/><geom type="sphere" {LIGHT}/>
      <body><joint name="eye_lift" axis="-1 0 0" {FREE}/><geom type="sphere" mass="0.018" size="0.02"/>{sites}</body></body>"""
    names = ["jaw", "lid", "brow", "eye_a", "eye_b"]
    ties = "".join(CONNECT.format(a=f"far_{name}", b=f"ball_{name}") for name in names)
    servos = "".join(f"""<position name="{name}_in" joint="{name}_in" kp="50" kv="{KV}"/>""" for name in names)
    xml = f"""<mujoco>{OPTIONS.format(gravity=f"0 {-G0} 0")}<worldbody>{bodies}</worldbody>
      <equality>{ties}</equality><actuator>{servos}</actuator></mujoco>"""
    return mujoco.MjModel.from_xml_string(xml), names


def _asked(moved, names, t):
    """Horn angles at a time [rad]: slow sums of sines inside each travel, from rest."""
    ease = min(t / 1.0, 1.0) ** 2 * (3.0 - 2.0 * min(t / 1.0, 1.0))
    out = []
    for i, name in enumerate(names):
        if name.startswith("eye"):
            reach, middle = 0.26, 0.0
        else:
            low, high = moved[name].grid[0][[0, -1]]
            reach, middle = 0.42 * (high - low), 0.5 * (high + low)
        wave = 0.6 * np.sin(2 * np.pi * (0.37 + 0.11 * i) * t) + 0.35 * np.sin(2 * np.pi * (1.3 + 0.17 * i) * t + i)
        out.append(ease * (middle + reach * wave))
    return np.array(out)


@pytest.fixture(scope="module")
def compared():
    functions, records, moved = _parts()
    model, names = _model(records, moved)
    data = mujoco.MjData(model)
    strip = Strip(material="silicone_00_50", thickness=0.003, width=0.060, length=0.045)
    card = SkinCard(strip=strip, sculpted_at={"jaw": 0.0, "brow": 0.006}, holds=HOLDS)
    cheek = skin("cheek", card, functions, shelf("2026-1"))
    modulus = shelf("2026-1").skins["silicone_00_50"].modulus
    own = {name: load(name, functions[name], PARTS[functions[name].part]) for name in functions}
    point = {"jaw": 0.16 * (0.018**2 + 0.058**2), "lid": 0.03 * (0.01**2 + 0.02**2)}
    inertia = {"jaw": point["jaw"] + OUT_ARMATURE, "lid": point["lid"] + OUT_ARMATURE, "brow": 0.02}
    drag = {"jaw": OUT_DAMPING, "lid": OUT_DAMPING, "brow": SLIDE_DAMPING}
    joint = {name: model.joint(name).qposadr[0] for name in (*functions, "eye_turn", "eye_lift")}
    drive = {name: model.joint(f"{name}_in").qposadr[0] for name in names}
    dof = {name: model.joint(f"{name}_in").dofadr[0] for name in names}
    pushed = {name: model.joint(name).dofadr[0] for name in HOLDS}
    eye = moved["eye"]
    senses = dict.fromkeys(names, 1.0)
    misses, torques = {name: [] for name in joint}, {name: [] for name in functions}

    def sense_of(name):  # the engine counts inputs so that they drive the function up; MuJoCo by the right-hand rule
        probe = mujoco.MjData(model)
        for _ in range(400):
            probe.ctrl[names.index(name)] = 0.05
            mujoco.mj_step(model, probe)
        return float(np.sign(probe.qpos[joint[name]]))

    for name in functions:
        senses[name] = sense_of(name)
    for step in range(int(SECONDS / STEP)):
        data.ctrl[:] = _asked(moved, names, step * STEP) * [senses[name] for name in names]
        # the skin by its own closed form, apart from the engine's curve: F = A mu (r - r^-2), pulled only
        stretch = 0.070 * data.qpos[joint["jaw"]] - 0.5 * (data.qpos[joint["brow"]] - 0.006)
        ratio = 1.0 + max(stretch, 0.0) / 0.045
        pull = 0.003 * 0.060 * modulus * (ratio - ratio**-2)
        for name, hold in HOLDS.items():
            data.qfrc_applied[pushed[name]] = -hold * pull
        before = data.qpos.copy(), data.qvel.copy()
        mujoco.mj_step(model, data)
        if step % EVERY or step * STEP < 1.0:
            continue
        qpos, qvel = before
        place = {name: float(qpos[joint[name]]) for name in HOLDS}
        for name in functions:
            sense, t = senses[name], moved[name]
            u, du = sense * qpos[drive[name]], sense * qvel[dof[name]]
            ddu = sense * data.qacc[dof[name]]
            grid = t.grid[0]
            q, rate, bend = (np.interp(u, grid, row) for row in (t.position[0], t.rate[0, 0], t.bend[0, 0]))
            misses[name].append(qpos[joint[name]] - q)
            force = np.interp(q, own[name].grid, -G0 * own[name].gravity[1])
            if name in HOLDS:
                force += force_on(cheek, name, place)
            accelerated = inertia[name] * (rate * ddu + bend * du * du)
            mine = rate * (accelerated + drag[name] * rate * du - force)
            # the horn's own armature and damping in MuJoCo are no load: taken off, not compared
            theirs = sense * data.actuator_force[names.index(name)] - ARMATURE * ddu - DAMPING * du
            torques[name].append((theirs, mine))
        a, b = (qpos[drive[name]] for name in ("eye_a", "eye_b"))
        for k, name in enumerate(("eye_turn", "eye_lift")):
            misses[name].append(qpos[joint[name]] - _bicubic(eye, k, a, b))
    return {name: np.array(miss) for name, miss in misses.items()}, {n: np.array(v).T for n, v in torques.items()}


def _bicubic(found, k, a, b):
    """Position between nodes: from the nearest node by its rates and bends."""
    i, j = (int(np.argmin(np.abs(grid - x))) for grid, x in zip(found.grid, (a, b), strict=True))
    da, db = a - found.grid[0][i], b - found.grid[1][j]
    cross = (found.rate[k, 1, i + 1, j] - found.rate[k, 1, i - 1, j]) / (found.grid[0][i + 1] - found.grid[0][i - 1])
    return (
        found.position[k, i, j] + found.rate[k, 0, i, j] * da + found.rate[k, 1, i, j] * db
        + 0.5 * found.bend[k, 0, i, j] * da**2 + 0.5 * found.bend[k, 1, i, j] * db**2 + cross * da * db
    )  # fmt: skip


@pytest.mark.parametrize(
    ("name", "rms", "worst"),
    [
        ("jaw", 4e-4, 8e-4),
        ("lid", 4e-5, 8e-5),
        ("brow", 2e-6, 4e-6),  # metres
        ("eye_turn", 1e-5, 3e-5),
        ("eye_lift", 1e-5, 3e-5),
    ],
)
def test_over_twenty_seconds_every_output_stands_where_mujoco_has_it(compared, name, rms, worst):
    miss = compared[0][name]
    assert np.sqrt(np.mean(miss**2)) < rms
    assert np.abs(miss).max() < worst


@pytest.mark.parametrize("name", ["jaw", "lid", "brow"])
def test_over_twenty_seconds_every_servo_pulls_as_mujocos_does(compared, name):
    theirs, mine = compared[1][name]
    size = np.sqrt(np.mean(theirs**2))
    assert np.sqrt(np.mean((mine - theirs) ** 2)) < 0.01 * size
    assert np.abs(mine - theirs).max() < 0.02 * np.abs(theirs).max()
