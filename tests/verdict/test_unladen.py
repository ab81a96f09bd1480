"""A load that was forgotten is not told as one that is easily moved."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.verdict.conftest import SMALL, small_folder

from marotte.basis.contracts.common import Unknown
from marotte.basis.contracts.finding import Finding
from marotte.creature.load import load
from marotte.verdict.cells import Cache
from marotte.verdict.check import Examined, examine

SKINS = SMALL[SMALL.index("skins:\n") : SMALL.index("servos:\n")]
JAW = "    load: {mass: 160 g, centre: [0 mm, -18 mm, 55 mm], friction: 0.01 N*m}\n"
CACHE = Cache()


def drive(folder: Path, about: str, text: str) -> Finding:
    verdict = examine(load(small_folder(folder, text)), CACHE).verdict
    return next(item for item in verdict.findings if item.id == f"{about}.drive")


def jaw(written: str, *, skin: bool = False) -> str:
    assert JAW in SMALL
    return (SMALL if skin else SMALL.replace(SKINS, "")).replace(JAW, written)


@pytest.mark.parametrize(
    "written",
    [
        "",
        "    load: {}\n",
        "    load: {mass: 0 g, centre: [0 mm, -18 mm, 55 mm]}\n",
        "    load: {friction: 0.01 N*m}\n",
        "    load: {inertia: 0 g*cm2, damping: 0.001 N*m*s}\n",
    ],
    ids=["no load", "an empty one", "nothing", "friction alone", "no inertia"],
)
def test_a_jaw_without_mass_skin_or_spring_is_unknown_and_says_what_to_write(written: str, tmp_path: Path) -> None:
    found = drive(tmp_path, "jaw", jaw(written))
    assert found.grade == "unknown"
    assert isinstance(found.has, Unknown)
    assert found.has.wants == ("/functions/jaw/load/mass",)
    assert found.sentence.startswith("What the jaw moves weighs nothing as written")
    assert "write functions > jaw > load > mass" in found.sentence


def test_a_mass_that_is_left_on_the_axis_is_no_load_either(tmp_path: Path) -> None:
    # gravity has no arm there and a point on the axis has no inertia: m g r and m r^2 with r = 0
    found = drive(tmp_path, "jaw", jaw("    load: {mass: 160 g, friction: 0.01 N*m}\n"))
    assert found.grade == "unknown"
    assert isinstance(found.has, Unknown)
    assert found.has.wants == ("/functions/jaw/load/centre",)
    assert "functions > jaw > load > centre" in found.sentence


def test_a_pair_says_it_once_for_both(tmp_path: Path) -> None:
    ear = "    load: {mass: 20 g, centre: [0 mm, 80 mm, 0 mm], friction: 0.005 N*m, spring: {rate: 0.01 N*m/rad, slack_at: 0 deg}}\n"
    assert ear in SMALL
    found = drive(tmp_path, "ear_lift_right", SMALL.replace(ear, ""))
    assert isinstance(found.has, Unknown)
    assert found.has.wants == ("/functions/ear_lift/load/mass",)


@pytest.mark.parametrize(
    ("about", "text"),
    [
        ("jaw", jaw("    load: {inertia: 900 g*cm2}\n")),
        ("jaw", jaw("    load: {spring: {rate: 0.02 N*m/rad, slack_at: 0 deg}}\n")),
        ("jaw", jaw("", skin=True)),
        ("eye_left", SMALL),
        ("eye_left", SMALL.replace("load: {inertia: 48 g*cm2, friction: 0.001 N*m}}\n  ear", "load: {}}\n  ear")),
    ],
    ids=["inertia", "a spring", "a skin", "eyes", "eyes whose mass is written once, at their turn"],
)
def test_what_bears_anything_at_all_is_computed_as_ever(about: str, text: str, tmp_path: Path) -> None:
    assert drive(tmp_path, about, text).grade not in ("unknown", "not_applicable")


def test_no_part_of_the_examples_is_without_a_load(examined: Examined) -> None:
    assert not [item.id for item in examined.verdict.findings if "weighs nothing" in item.sentence]
