"""The example creatures and the templates: they read without a fault, and a save that changes nothing changes nothing."""

from __future__ import annotations

from pathlib import Path

import pytest

from marotte.creature.load import load
from marotte.creature.schema.means import Servo
from marotte.creature.tree import dump, parse_text

ROOT = Path(__file__).resolve().parents[2]
EXAMPLES = sorted(path.parent for path in (ROOT / "examples").glob("*/creature.yaml"))
TEMPLATES = sorted((ROOT / "src/marotte/cli/templates").glob("*/creature.yaml"))


@pytest.mark.parametrize(
    "path", [*(folder / "creature.yaml" for folder in EXAMPLES), *TEMPLATES], ids=lambda p: p.parent.name
)
def test_a_save_without_a_change_leaves_every_letter_as_it_was(path: Path) -> None:
    text = path.read_text(encoding="utf-8").replace("@NAME@", '"Hen"').replace("@CUE@", "HEN")
    assert dump(parse_text(text)) == text


def test_tansy_has_26_servos_and_her_masses_add_up_to_her_sheet() -> None:
    """The sheet is invented with her: 1.92 kg as shipped, 1.98 kg with the ear servos that she should have."""
    tansy = load(ROOT / "examples" / "tansy")
    servos = [means for means in tansy.means.values() if isinstance(means, Servo)]
    assert len(servos) == 26
    mass = sum(tansy.servos[means.model].mass for means in servos)
    assert mass == pytest.approx(0.579)
    mass += sum(f.load.mass for f in tansy.functions.values() if f.carried_by == "skull")
    mass += sum(item.mass for item in tansy.masses.values())
    assert mass == pytest.approx(1.915, abs=0.005)
    assert mass + 2 * (0.058 - 0.025) == pytest.approx(1.98, abs=0.005)


def test_colms_head_weighs_3_3_kg_and_all_of_him_15_5() -> None:
    colm = load(ROOT / "examples" / "colm")
    servos = [colm.servos[means.model].mass for means in colm.means.values() if isinstance(means, Servo)]
    assert (len(servos), sum(servos)) == (12, pytest.approx(0.600))
    parts = sum(f.load.mass for f in colm.functions.values())
    head = sum(servos) + parts + sum(colm.masses[n].mass for n in colm.masses if n not in ("cap", "yoke", "suit"))
    assert head == pytest.approx(3.3, abs=0.02)
    rest = sum(colm.masses[n].mass for n in ("cap", "yoke", "suit"))
    assert head + rest + 0.23 == pytest.approx(15.5, abs=0.05)


def test_pip_weighs_half_a_kilogram_and_has_no_electronics() -> None:
    pip = load(ROOT / "examples" / "pip")
    assert pip.supply is None
    assert not any(isinstance(means, Servo) for means in pip.means.values())
    mass = sum(f.load.mass for f in pip.functions.values()) + sum(item.mass for item in pip.masses.values())
    assert mass == pytest.approx(0.52, abs=0.005)
