from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

SMALL = """\
# a jaw with its skin and a pair of lids
marotte: 1
stock: 2026-1
name: Test head   # the name
functions:
  jaw:
    part: jaw
    travel: [0 deg, 22 deg]
    neutral: 3 deg
    means: {kind: servo, model: jaw_servo, lead: face}
    mech: {kind: four_bar, horn: 14 mm, rod: 62 mm, arm: 22 mm, ground: 64 mm, arm_at_neutral: 90 deg}
    load: {mass: {value: 160 g, source: measured, spread: 5 %}, centre: [0 mm, -18 mm, 58 mm], friction: 0.01 N*m}
  lid_upper:
    sides: both
    part: lid_upper
    travel: [0 deg, 62 deg]
    means: {kind: servo, model: micro_fast, lead: face}
    right: {means: {model: jaw_servo}}
skins:
  cheek:
    strip: {material: silicone_00_50, thickness: 4 mm, width: 80 mm, length: 45 mm}
    sculpted_at: {jaw: 0 deg}
    holds: {jaw: 70 mm/rad}
servos:
  jaw_servo:
    like: standard_strong
    source: datasheet
    mass: 65 g
supply:
  battery: {kind: lithium_polymer, cells: 2, capacity: 2200 mAh, resistance: 40 mohm}
  leads:
    face: {fed_by: battery, awg: 22, length: 0.4 m, regulator: {volts: 6.0 V, limit: 8 A}}
masses: {paint_and_glue: 60 g, hair: {mass: 70 g, carried_by: post}}
poses:
  moods:
    wary: {lid_upper: 35 %, lid_upper_left: 50 %}
"""


@pytest.fixture
def write(tmp_path: Path) -> Callable[..., Path]:
    """Return a function that writes a creature folder from the small file with some texts replaced."""

    def make(*replaced: tuple[str, str], text: str = SMALL) -> Path:
        for old, new in replaced:
            assert old in text, old
            text = text.replace(old, new)
        folder = tmp_path / "creature"
        folder.mkdir(exist_ok=True)
        (folder / "creature.yaml").write_text(text, encoding="utf-8")
        return folder

    return make
