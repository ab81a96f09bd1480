"""Where speed decides a drive, the finding says so: its margin is that of the speed, and its grade that of the torque."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.verdict.conftest import small_folder
from tests.verdict.test_typed import BARE

from marotte.basis.contracts.common import Quantity
from marotte.basis.contracts.finding import Finding
from marotte.cli.grades import margin
from marotte.creature.load import load
from marotte.verdict.cells import Cache
from marotte.verdict.check import examine, to_json

CACHE = Cache()


def drive(folder: Path, travel: int) -> tuple[Finding, dict[str, float]]:
    text = BARE.replace("travel: [0 deg, 62 deg]", f"travel: [0 deg, {travel} deg]")
    done = examine(load(small_folder(folder, text)), CACHE)
    steps = {step.symbol: step.result for step in done.workings["lid_upper_left.drive"].steps}
    return next(item for item in done.verdict.findings if item.id == "lid_upper_left.drive"), steps


def test_a_lid_asked_for_near_its_free_speed_shows_the_speed_that_is_left(tmp_path: Path) -> None:
    """Closed form: on the line of a motor it turns w0 (1 - tau/tau_s) under a load tau; a tenfold torque can be a third of speed."""
    item, steps = drive(tmp_path / "fast", 78)
    assert item.decides is not None
    assert item.margin is not None
    assert item.decides.what == "speed"
    left = steps["omega_0"] * (1.0 - steps["tau_count"] / steps["tau_real"])
    assert item.decides.has == Quantity(value=pytest.approx(left), unit="rad/s")  # type: ignore[arg-type]
    assert item.decides.needed.value == pytest.approx(steps["omega"])
    assert item.decides.margin == pytest.approx(left / steps["omega"] - 1.0)
    assert item.decides.margin < 0.5 * item.margin
    assert (item.decides.margin < 0.0) == (item.margin < 0.0), "both cross the line together"
    assert item.decides.band is not None
    assert item.band is not None
    assert (item.decides.band[0] < 0.0) == (item.band[0] < 0.0)
    assert "what decides is speed" in item.sentence
    assert margin(item).startswith("speed ")


def test_a_lid_asked_for_slowly_shows_its_torque(tmp_path: Path) -> None:
    item, _ = drive(tmp_path / "slow", 30)
    assert item.decides is None
    assert "decides" not in item.sentence
    assert not margin(item).startswith("speed")


def test_a_jaw_too_heavy_for_its_servo_at_rest_too_is_a_matter_of_torque(examined, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    """Of a servo with less than twice the load's torque at rest nobody says that speed decides."""
    for item in examined.verdict.findings:
        if item.decides is not None:
            steps = {step.symbol: step.result for step in examined.workings[item.id].steps}
            assert steps["tau_real"] >= 2.0 * steps["tau_count"]
            assert steps["omega"] >= 0.6 * steps["omega_0"]
            assert item.requirement == "drive"


def test_json_has_what_decides(tmp_path: Path) -> None:
    folder = small_folder(tmp_path / "fast", BARE.replace("travel: [0 deg, 62 deg]", "travel: [0 deg, 78 deg]"))
    done = examine(load(folder), CACHE)
    out = next(
        one for one in to_json(done.verdict, done.workings, {})["findings"] if one["id"] == "lid_upper_left.drive"
    )
    assert out["decides"]["what"] == "speed"
    assert out["decides"]["needed"]["unit"] == "rad/s"
