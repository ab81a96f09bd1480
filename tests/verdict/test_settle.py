"""Ten-minute tests: carried out as they are told, they settle what they are for, in the field that they name."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest
from tests.verdict.conftest import SMALL, small_folder

from marotte.creature.load import load
from marotte.verdict.check import Examined, examine
from marotte.verdict.requirements.drive import DRIVE
from marotte.verdict.settle import settle

MATERIAL = "stock:skins/silicone_00_50/modulus"


def test_a_skin_pulled_as_it_is_told_and_written_where_it_is_told_gives_the_same_drive(
    small: Examined, tmp_path: Path
) -> None:
    # The scale shows moment / (g x arm): statics of a lever. Here the engine's own skin is what hangs on the scale.
    creature = small.results.creature
    text = settle(creature.given, MATERIAL, DRIVE.gather(creature, small.results, "jaw")).test
    assert "incisors, 100 mm from the axis" in text
    degrees = [float(found) for found in re.findall(r"([\d.]+) deg[,:]", text)]
    kilograms_to_newton = float(re.search(r"kilograms x ([\d.]+)", text).group(1))  # type: ignore[union-attr]
    stretches = [float(found) for found in re.findall(r"([\d.]+) mm", text.split("stretches", 1)[1])]
    file = re.search(r"measured/\w+\.csv", text).group(0)  # type: ignore[union-attr]
    assert len(degrees) == 3
    assert len(stretches) == 4
    skin = next(one for one in small.results.mechs.skins if one.name == "chin")
    forces = [0.0]
    for angle in degrees:
        force = float(np.interp(0.070 * np.radians(angle), skin.curve[0], skin.curve[1]))
        scale_kg = force * 0.070 / (9.81 * 0.100)  # moment about the hinge over the telling arm
        forces.append(scale_kg * kilograms_to_newton)
    folder = small_folder(tmp_path / "pulled", re.sub(r"strip: \{.*\}", f"curve: {file}\n    source: measured", SMALL))
    (folder / file).parent.mkdir()
    rows = [f"{stretch},{force}" for stretch, force in zip(stretches, forces, strict=True)]
    (folder / file).write_text("stretch [mm],force [N]\n" + "\n".join(rows) + "\n", encoding="utf-8")
    after = examine(load(folder))
    before = next(item for item in small.verdict.findings if item.id == "jaw.drive")
    then = next(item for item in after.verdict.findings if item.id == "jaw.drive")
    # three points and straight lines between them for a curve that bends: a few per cent
    assert then.needed.value == pytest.approx(before.needed.value, rel=0.06)


def test_another_input_of_the_same_finding_keeps_its_own_test(small: Examined) -> None:
    creature = small.results.creature
    gathered = DRIVE.gather(creature, small.results, "jaw")
    assert settle(creature.given, "/functions/jaw/load/friction", gathered).test.startswith("Pull slowly")
    assert "kitchen scale" in settle(creature.given, "/functions/jaw/load/mass", gathered).test


def test_a_skin_at_22_degrees_says_that_its_factor_is_one_and_where_its_ends_come_from(small: Examined) -> None:
    step = next(one for one in small.workings["jaw.drive"].steps if one.symbol == "k_T")
    assert step.result == 1.0
    assert step.meaning.startswith("1, as at 22 degC and new; in use from 0.")
    assert "stock:" not in step.source, "no ref of another number stands beside it"
