"""A pack at the end of its time: what is used of it, and what reaches the servos then."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.verdict.conftest import SMALL, small_folder

from marotte.basis.contracts.finding import Finding
from marotte.creature.load import load
from marotte.creature.schema.audience import Show
from marotte.creature.schema.supply import Cells
from marotte.creature.shelf import LATEST, shelf
from marotte.drive.supply import spent_ohm, spent_volts
from marotte.verdict import graph_spent
from marotte.verdict.check import Examined, examine
from marotte.verdict.graph_spent import end_of

REGULATED = ", regulator: {volts: 6.0 V, limit: 8 A}"


def examined(folder: Path, *changes: tuple[str, str]) -> Examined:
    text = SMALL
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    return examine(load(small_folder(folder, text)))


def brownout(found: Examined) -> Finding:
    return next(item for item in found.verdict.findings if item.id == "power.brownout")


@pytest.mark.parametrize(
    ("mean_a", "calls", "used", "stays"),
    [
        (2.0, 4, 0.72, 3),  # 2.5 A h, four fifths usable: an hour, three calls of 18 min
        (2.0, 2, 0.48, 2),  # two calls in the day
        (10.0, 4, 0.8, 0),  # swapped within a call
    ],
)
def test_a_pack_comes_out_after_whole_calls_or_when_its_usable_part_is_used(
    mean_a: float, calls: int, used: float, stays: int
) -> None:
    pack = Cells(kind="lithium_iron", cells=2, capacity=2.5 * 3600.0, resistance=0.03, usable=0.8)
    assert end_of(pack, mean_a, Show(calls=calls, call_length=18 * 60.0)) == (pytest.approx(used), stays)


def test_a_cell_falls_from_full_over_half_to_empty_and_its_resistance_rises() -> None:
    cell = shelf(LATEST).batteries["lithium_polymer"]
    assert [spent_volts(cell, used) for used in (0.0, 0.5, 0.75, 1.0)] == pytest.approx([4.2, 3.7, 3.5, 3.3])
    assert [spent_ohm(0.04, used) for used in (0.2, 0.5, 1.0)] == pytest.approx([0.04, 0.04, 0.06])


def test_on_bare_leads_what_reaches_a_servo_falls_with_the_pack(tmp_path: Path) -> None:
    """The drop from the pack at rest stays nearly that of the half-used pack; the working adds up to the volt."""
    found = examined(tmp_path, (REGULATED, ""), ("capacity: 2200 mAh", "capacity: 180 mAh"))
    spent, response = found.results.spent, found.results.response
    assert spent is not None
    assert spent.used > 0.6
    half = float(response.worst.voltage.min())
    least = min(volts for volts, _ in spent.least.values())
    assert spent.volts < 2 * 3.7
    assert 2 * 3.7 - half == pytest.approx(spent.volts - least, rel=0.25)
    assert least < half - 0.1
    assert brownout(found).has.value == pytest.approx(least)
    assert "at the end of a pack" in brownout(found).sentence
    assert brownout(found).band is not None


def test_the_short_run_meets_the_long_one_where_nothing_is_spent(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Run on the pack half used, the cut-out moment has the lowest voltage of the whole part."""
    found = examined(tmp_path, (REGULATED, ""), ("capacity: 2200 mAh", "capacity: 180 mAh"))
    results = found.results
    monkeypatch.setattr(graph_spent, "spent_volts", lambda cell, used: cell.nominal)
    monkeypatch.setattr(graph_spent, "spent_ohm", lambda ohm, used: ohm)
    again = graph_spent.spent(results.creature, results.asked, results.response, results.model, results.cache)
    assert again is not None
    least = min(volts for volts, _ in again.least.values())
    assert least == pytest.approx(float(results.response.worst.voltage.min()), abs=0.01)


def test_a_regulator_hides_the_pack_until_it_drops_out(tmp_path: Path) -> None:
    held = brownout(examined(tmp_path / "held", ("capacity: 2200 mAh", "capacity: 180 mAh")))
    dropped = brownout(
        examined(tmp_path / "out", ("capacity: 2200 mAh", "capacity: 180 mAh"), ("volts: 6.0 V", "volts: 6.6 V"))
    )
    assert "at the end of a pack" not in held.sentence
    assert "at the end of a pack" in dropped.sentence


def test_drives_that_lose_their_torque_with_the_pack_are_named(tmp_path: Path) -> None:
    changes = (REGULATED, ""), ("mass: 160 g", "mass: 100 g"), ("thickness: 4 mm", "thickness: 2.5 mm")
    new = examined(tmp_path / "new", *changes)
    spent = examined(tmp_path / "spent", *changes, ("capacity: 2200 mAh", "capacity: 130 mAh"))
    jaws = [next(item for item in found.verdict.findings if item.id == "jaw.drive") for found in (new, spent)]
    assert jaws[0].grade == jaws[1].grade != "fails"  # the finding stands at the pack half used
    assert [[note.sentence for note in found.verdict.told if note.code == "power.spent"] for found in (new,)] == [[]]
    (told,) = (note.sentence for note in spent.verdict.told if note.code == "power.spent")
    assert "less torque than the part wants: jaw (" in told
