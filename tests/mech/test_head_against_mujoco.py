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
from marotte.creature.schema.skins import SkinCard, Strip
from marotte.creature.shelf import shelf
from marotte.mech.loads import load
from marotte.mech.skin import force_on, skin
from tests.mech.head import HOLDS, NAMES, OUT_ARMATURE, OUT_DAMPING, SLIDE_DAMPING, bicubic, head, parts

pytestmark = pytest.mark.slow

SECONDS, STEP, EVERY = 20.0, 0.0005, 40
ARMATURE, DAMPING = 1e-3, 0.002
KV = 0.5
HINGE = f'damping="{DAMPING}" armature="{ARMATURE}"'
# explicit all through, so that the accelerations read are those that happen
OPTIONS = """<option timestep="0.0005" integrator="Euler" gravity="{gravity}">
  <flag contact="disable" eulerdamp="disable"/></option>"""
PUSH = f'<position name="{{name}}_in" joint="{{name}}_in" kp="50" kv="{KV}"/>'


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
    functions, records, moved = parts()
    model, names = head(records, moved, OPTIONS, HINGE, PUSH), list(NAMES)
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
            misses[name].append(qpos[joint[name]] - bicubic(eye, k, a, b))
    return {name: np.array(miss) for name, miss in misses.items()}, {n: np.array(v).T for n, v in torques.items()}


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
