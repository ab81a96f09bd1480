"""A small creature with everything the first requirements read, and the examples; each examined once a session."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from hypothesis import settings

from marotte.creature.load import load
from marotte.verdict.check import Examined, examine

settings.register_profile("verdict", deadline=None, max_examples=60)
settings.load_profile("verdict")

EXAMPLES = sorted(path.parent for path in (Path(__file__).parents[2] / "examples").glob("*/creature.yaml"))
SMALL = """\
marotte: 1
stock: 2026-1
name: Moss
seed: 3
build:
  eye: {diameter: 40 mm, spacing: 88 mm, toe_in: 2 deg}
functions:
  head_nod: {part: head_nod, travel: [-25 deg, 20 deg], means: {kind: hand, of: lead, site: right wrist}, carried_by: post}
  jaw:
    part: jaw
    travel: [0 deg, 22 deg]
    neutral: 3 deg
    tells_at: {point: incisors, arm: 100 mm}
    means: {kind: servo, model: jaw_servo, lead: face}
    mech: {kind: four_bar, horn: 14 mm, rod: 62 mm, arm: 22 mm, ground: 64 mm, branch: open, arm_at_neutral: 90 deg}
    load: {mass: 160 g, centre: [0 mm, -18 mm, 55 mm], friction: 0.01 N*m}
  lid_upper:
    sides: both
    part: lid_upper
    travel: [0 deg, 62 deg]
    neutral: 14 deg
    tells_at: {point: lid edge, arm: 21.7 mm}
    means: {kind: servo, model: mini_fast, lead: eyes}
    mech: {kind: four_bar, horn: 10 mm, rod: 38 mm, arm: 10 mm, ground: 39 mm, branch: open, arm_at_neutral: 73 deg}
    load: {mass: 6 g, centre: [0 mm, 8 mm, 11 mm], friction: 0.002 N*m}
  eye_turn: {sides: both, part: eye_turn, travel: [-25 deg, 25 deg], load: {mass: 18 g, inertia: 48 g*cm2, friction: 0.001 N*m}}
  eye_lift: {sides: both, part: eye_lift, travel: [-15 deg, 15 deg], load: {inertia: 48 g*cm2, friction: 0.001 N*m}}
  ear_lift:
    sides: both
    part: ear_lift
    travel: [-20 deg, 50 deg]
    means: {kind: servo, model: mini, lead: eyes}
    load: {mass: 20 g, centre: [0 mm, 80 mm, 0 mm], friction: 0.005 N*m, spring: {rate: 0.01 N*m/rad, slack_at: 0 deg}}
mechs:
  eye:
    kind: two_rod_gimbal
    sides: both
    moves: [eye_turn, eye_lift]
    means: {a: {kind: servo, model: mini_fast, lead: eyes}, b: {kind: servo, model: mini_fast, lead: eyes}}
    horn: 12 mm
    rod: 44 mm
    arms: {spacing: 16 mm, height: 12 mm}
skins:
  chin:
    strip: {material: silicone_00_50, thickness: 4 mm, width: 80 mm, length: 45 mm, backing: none}
    sculpted_at: {jaw: 0 deg}
    holds: {jaw: 70 mm/rad}
servos:
  jaw_servo:
    like: standard
    points:
      - {at: 6.0 V, stall: 1.1 N*m, free: 0.15 s/60deg, stall_current: 2.4 A, source: datasheet}
      - {at: 7.4 V, stall: 1.3 N*m, free: 0.12 s/60deg, stall_current: 2.9 A, source: datasheet}
supply:
  battery: {kind: lithium_polymer, cells: 2, capacity: 2200 mAh, resistance: 40 mohm, limit: 20 A, mass: 120 g, carried_by: post}
  leads:
    trunk: {fed_by: battery, awg: 16, length: 0.5 m, fuse: 10 A}
    face: {fed_by: trunk, awg: 20, length: 0.4 m, regulator: {volts: 6.0 V, limit: 8 A}}
    eyes: {fed_by: trunk, awg: 20, length: 0.4 m, regulator: {volts: 6.0 V, limit: 8 A}}
  link: {kind: radio, delay: 12 ms, on_loss: neutral}
masses: {skull: 230 g, hair: {mass: 70 g, carried_by: post}}
poses:
  mouth: {pbm: {jaw: -100 %}, aa: {jaw: 90 %}}
  moods: {wary: {lid_upper: 35 %, ear_lift: -40 %}}
brief:
  script: script.fountain
  cue: MOSS
  speech: hits
  voice: own
  moods: {quietly: wary}
  looks: {lens: {at: [0 m, 0 m, 2.4 m]}}
  attitudes: {nod: [-20 deg, 15 deg]}
performers: {lead: {stature: 1.68 m, mass: 64 kg, posture: low_stool}}
limits: {head_mass: 1.2 kg}
"""
SCRIPT = """\
INT. POST OFFICE - DAY

MOSS
Good morning. A parcel for the miller, and a letter.

She looks at the lens. [[blinks]]

MOSS
(quietly)
My, my. Somebody pays by the pound again.

MOSS
Put it by the window, please. I must weigh every one of them before noon.
"""


def small_folder(folder: Path, text: str = SMALL) -> Path:
    """Write the small creature into a folder."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "creature.yaml").write_text(text, encoding="utf-8")
    (folder / "script.fountain").write_text(SCRIPT, encoding="utf-8")
    return folder


@pytest.fixture(scope="session")
def small(tmp_path_factory: pytest.TempPathFactory) -> Examined:
    """The small creature, examined."""
    return examine(load(small_folder(tmp_path_factory.mktemp("small"))))


@pytest.fixture(scope="session", params=[*EXAMPLES, None], ids=lambda path: path.name if path else "small")
def examined(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Examined:
    """Each example and the small creature, examined once."""
    if request.param is None:
        return request.getfixturevalue("small")  # type: ignore[no-any-return]
    folder = tmp_path_factory.mktemp("examples") / request.param.name
    shutil.copytree(request.param, folder)
    return examine(load(folder))
