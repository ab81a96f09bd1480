"""Ten-minute tests: carried out as they are told, they settle what they are for, in the field that they name."""

from __future__ import annotations

import math
import re
from pathlib import Path

import numpy as np
import pytest
from scipy.optimize import brentq
from tests.verdict.conftest import SMALL, small_folder

from marotte.creature.load import load
from marotte.creature.shelf import LATEST, shelf
from marotte.verdict.check import Examined, examine
from marotte.verdict.requirements.drive import DRIVE
from marotte.verdict.settle import FILMED, settle
from marotte.verdict.typed import FILM

MATERIAL = "stock:skins/silicone_00_50/modulus"


def test_a_skin_pulled_as_it_is_told_and_written_where_it_is_told_gives_the_same_drive(
    small: Examined, tmp_path: Path
) -> None:
    # The scale shows moment / (g x arm): statics of a lever. Here the engine's own skin is what hangs on the scale.
    creature = small.results.creature
    text = settle(creature.given, [MATERIAL], DRIVE.gather(creature, small.results, "jaw"))[0].test
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
    friction, mass = settle(creature.given, ["/functions/jaw/load/friction", "/functions/jaw/load/mass"], gathered)
    assert friction.test.startswith("Pull slowly")
    assert "kitchen scale" in mass.test


def test_what_is_measured_of_one_servo_is_one_test_and_one_entry(small: Examined) -> None:
    creature = small.results.creature
    gathered = DRIVE.gather(creature, small.results, "lid_upper_left")
    point = "stock:servos/mini_fast/points/0"
    refs = [f"{point}/free", "stock:servos/mini_fast/derate", f"{point}/stall"]
    (test,) = settle(creature.given, refs, gathered)
    assert test.inputs == tuple(refs)
    assert "240 frames" in test.test
    assert "Then clamp the servo" in test.test
    assert test.test.count("my_mini_fast: {like: mini_fast") == 1
    assert test.test.count("source: measured") == 3
    assert "with your numbers for 0.08 s/60deg and 0.11 N*m" in test.test


def test_sweeps_counted_as_told_are_as_sure_as_is_told_for_every_servo_of_the_stock() -> None:
    """Motor from rest on its line (closed form: x = w (t - T (1 - exp(-t/T))), T = J w / stall), frames counted at chance phase.

    19 of 20 counts must lie within the spread that is told with the number; a single sweep of 60 deg from rest lies far outside.
    The last mark lies before the servo begins to brake.
    """
    first, last, frames = (float(found) for found in re.findall(r"at (\d+) (?:deg|frames)", FILMED))
    assert f"{frames:.0f} frames a second" in FILMED
    assert f"/ {10 * frames:.0f}" in FILMED
    assert last - first == 60.0
    rng = np.random.default_rng(5)
    worst = {"told": 0.0, "once": 0.0}
    for servo in shelf(LATEST).servos.values():
        for point in servo.points:
            whole = math.pi / 3.0 / point.free
            brakes = math.degrees(servo.full_at + servo.brake_time * point.free)
            assert last + brakes < math.degrees(servo.travel)
            lags = servo.inertia * point.free / (servo.derate * point.stall)

            def passes(degrees: float, speed: float = point.free, lags: float = lags) -> float:
                x = math.radians(degrees)
                return float(brentq(lambda t: speed * (t - lags * (1.0 - math.exp(-t / lags))) - x, 0.0, 5.0))

            for name, begin, end, sweeps in (("told", first, last, 10), ("once", 0.0, 60.0, 1)):
                a, b = passes(begin) if begin else 0.0, passes(end)
                phase = rng.uniform(0.0, 1.0 / frames, (4000, sweeps))
                counted = np.floor((b + phase) * frames) - np.floor((a + phase) * frames)
                off = np.abs(counted.sum(axis=1) / (sweeps * frames) / whole - 1.0)
                worst[name] = max(worst[name], float(np.quantile(off, 0.95)))
    told = float(FILM.removesuffix(" %")) / 100.0
    assert 0.8 * told < worst["told"] <= told
    assert worst["once"] > 5 * told


def test_a_skin_at_22_degrees_says_that_its_factor_is_one_and_where_its_ends_come_from(small: Examined) -> None:
    step = next(one for one in small.workings["jaw.drive"].steps if one.symbol == "k_T")
    assert step.result == 1.0
    assert step.meaning.startswith("1, as at 22 degC and new; in use from 0.")
    assert "stock:" not in step.source, "no ref of another number stands beside it"
