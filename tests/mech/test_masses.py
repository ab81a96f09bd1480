from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from marotte.basis.contracts.common import Unknown
from marotte.creature.creature import Creature
from marotte.creature.load import load
from marotte.mech.balance import shell_inertia, steiner
from marotte.mech.masses import MassParts, mass_sheet

SMALL = """\
marotte: 1
stock: 2026-1
name: Test head
build: {eye: {diameter: 40 mm, spacing: 88 mm}, skull: {shape: [150 mm, 160 mm, 140 mm]}, points: {neck: [0 mm, -100 mm, -40 mm]}}
functions:
  jaw:
    part: jaw
    at: [0 mm, -40 mm, -60 mm]
    travel: [0 deg, 22 deg]
    means: {kind: servo, model: standard, box: {at: [0 mm, -50 mm, -40 mm]}}
    load: {mass: 160 g, centre: [0 mm, 0 mm, 60 mm], inertia: 100 g*cm2}
  ear_lift:
    sides: both
    part: ear_lift
    at: [50 mm, 80 mm, -50 mm]
    travel: [-20 deg, 70 deg]
    means: {kind: servo, model: mini, count: 2, box: {at: [40 mm, 40 mm, -50 mm]}}
    load: {mass: 40 g, centre: [0 mm, 100 mm, 0 mm]}
skins:
  cheek: {strip: {material: silicone_00_50, thickness: 4 mm, width: 80 mm, length: 50 mm}, holds: {jaw: 70 mm/rad}}
supply: {battery: {kind: bench, volts: 6 V, limit: 5 A}, leads: {face: {fed_by: battery, awg: 20, length: 1 m}}}
masses:
  shell: 200 g
  screws: {mass: 30 g, at: [0 mm, 0 mm, -30 mm]}
  grip: {mass: 90 g, carried_by: hand}
"""


@pytest.fixture
def made(tmp_path: Path) -> Callable[..., Creature]:
    def make(*replaced: tuple[str, str]) -> Creature:
        text = SMALL
        for old, new in replaced:
            assert old in text, old
            text = text.replace(old, new)
        (tmp_path / "creature.yaml").write_text(text, encoding="utf-8")
        return load(tmp_path)

    return make


def test_what_the_skull_bears_adds_up_line_by_line(made: Callable[..., Creature]) -> None:
    creature = made()
    sheet = mass_sheet(MassParts.of(creature)).carriers["skull"]
    servos = creature.servos["standard"].mass + 4 * creature.servos["mini"].mass
    skin = 0.08 * 0.05 * 0.004 * creature.stock_tables.skins["silicone_00_50"].density
    assert sheet.total == pytest.approx(0.160 + 2 * 0.040 + servos + skin + 0.200 + 0.030, rel=1e-12)
    assert sheet.total == pytest.approx(sum(line.count * line.each for line in sheet.lines), rel=1e-12)


def test_what_is_forgotten_is_shown_and_never_added(made: Callable[..., Creature]) -> None:
    sheet = mass_sheet(MassParts.of(made()))
    skull = sheet.carriers["skull"]
    assert skull.forgotten == (0.10 * skull.total, 0.15 * skull.total)
    told = next(note for note in sheet.told if note.code == "mass_forgotten")
    assert "glue" in told.sentence
    assert "screws" not in told.sentence


def test_each_carrier_bears_its_own_only(made: Callable[..., Creature]) -> None:
    sheet = mass_sheet(MassParts.of(made()))
    assert list(sheet.carriers) == ["hand", "skull"]
    assert sheet.carriers["hand"].total == pytest.approx(0.09)


def test_a_pair_balances_in_the_middle_plane(made: Callable[..., Creature]) -> None:
    skull = mass_sheet(MassParts.of(made())).carriers["skull"]
    assert not isinstance(skull.centre, Unknown)
    assert not isinstance(skull.inertia, Unknown)
    assert skull.centre[0] == pytest.approx(0.0, abs=1e-12)
    assert abs(skull.inertia[0, 1]) < 1e-12
    assert abs(skull.inertia[0, 2]) < 1e-12


def test_inertia_about_the_neck_is_that_about_the_centre_and_steiner(made: Callable[..., Creature]) -> None:
    """Closed form: moving the neck by d changes the inertia by m (d.d 1 - d d^T) about the centre of mass."""
    here = mass_sheet(MassParts.of(made()))
    there = mass_sheet(MassParts.of(made(("neck: [0 mm, -100 mm, -40 mm]", "neck: [10 mm, -160 mm, 20 mm]"))))
    a, b = here.carriers["skull"], there.carriers["skull"]
    assert not isinstance(a.centre, Unknown)
    assert not isinstance(a.inertia, Unknown)
    assert not isinstance(b.inertia, Unknown)
    centre = np.array(a.centre)
    about_centre = a.inertia - steiner(a.total, centre - np.array(here.neck))
    wanted = about_centre + steiner(a.total, centre - np.array(there.neck))
    np.testing.assert_allclose(b.inertia, wanted, atol=1e-12)
    assert np.linalg.eigvalsh(a.inertia).min() > 0.0


def test_a_shell_of_a_sphere_has_two_thirds_m_r_squared() -> None:
    """Thin spherical shell: 2/3 m r^2 (any mechanics handbook; from memory)."""
    np.testing.assert_allclose(shell_inertia(0.3, (0.2, 0.2, 0.2)), 2 / 3 * 0.3 * 0.1**2 * np.eye(3), rtol=1e-12)


def test_a_proposed_place_moves_the_balance_and_not_the_sum(made: Callable[..., Creature]) -> None:
    creature = made((", box: {at: [0 mm, -50 mm, -40 mm]}", ""))
    plain = mass_sheet(MassParts.of(creature)).carriers["skull"]
    placed = mass_sheet(MassParts.of(creature, {"jaw": (0.0, -0.05, -0.04)})).carriers["skull"]
    assert plain.total == placed.total
    assert plain.centre != placed.centre
    assert {line.placed for line in placed.lines if line.of == "jaw"} == {"hinge", "proposed"}


def test_a_skin_that_stands_under_masses_is_not_counted_twice(made: Callable[..., Creature]) -> None:
    sheet = mass_sheet(MassParts.of(made(("  shell: 200 g", "  face_skin: 200 g"))))
    assert not [line for line in sheet.carriers["skull"].lines if line.kind == "skin"]
    assert any(re.search("not counted twice", note.sentence) for note in sheet.told)


def test_a_mass_without_a_place_leaves_its_carrier_without_a_balance(made: Callable[..., Creature]) -> None:
    hand = mass_sheet(MassParts.of(made())).carriers["hand"]
    assert isinstance(hand.centre, Unknown)
    assert hand.centre.wants == ("/masses/grip/mass",)


def test_no_mass_at_all_is_said_and_not_divided_by(made: Callable[..., Creature]) -> None:
    hand = mass_sheet(MassParts.of(made(("mass: 90 g", "mass: 0 g")))).carriers["hand"]
    assert hand.total == 0.0
    assert isinstance(hand.centre, Unknown)
    assert "weighs nothing" in hand.centre.why


def test_a_battery_without_mass_is_told(made: Callable[..., Creature]) -> None:
    cells = "battery: {kind: lithium_polymer, cells: 2, capacity: 1000 mAh, resistance: 50 mohm}"
    sheet = mass_sheet(MassParts.of(made(("battery: {kind: bench, volts: 6 V, limit: 5 A}", cells))))
    assert any(note.code == "battery_mass" for note in sheet.told)


def test_what_is_written_as_weighing_nothing_is_told_and_what_is_left_out_is_not(made: Callable[..., Creature]) -> None:
    found = mass_sheet(MassParts.of(made(("mass: 40 g", "mass: 0 g"), ("shell: 200 g", "shell: 0 g"))))
    told = [note for note in found.told if note.code == "mass_zero"]
    assert [note.ref for note in told] == ["/functions/ear_lift/load/mass", "/masses/shell"]
    assert told[0].sentence.startswith("functions > ear_lift > load > mass is written as nothing")
    left_out = mass_sheet(MassParts.of(made(("mass: 40 g, ", ""))))
    assert not [note for note in left_out.told if note.code == "mass_zero"]


def test_what_was_weighed_whole_gets_no_forgotten_share(made: Callable[..., Creature]) -> None:
    """By hand: of the sum of the parts alone, 10 to 15 %; an entry on a scale has its own glue and wire with it."""
    guessed = mass_sheet(MassParts.of(made())).carriers["skull"]
    shell = "shell: {mass: {value: 200 g, source: measured, from: kitchen scale}}"
    sheet = mass_sheet(MassParts.of(made(("shell: 200 g", shell))))
    weighed = sheet.carriers["skull"]
    assert weighed.total == guessed.total == guessed.parts
    assert weighed.parts == pytest.approx(guessed.total - 0.200, rel=1e-12)
    assert weighed.forgotten == pytest.approx((0.10 * weighed.parts, 0.15 * weighed.parts), rel=1e-12)
    assert [line.of for line in weighed.lines if line.whole] == ["shell"]
    told = next(note.sentence for note in sheet.told if note.code == "mass_forgotten")
    assert told.endswith("; 200 g of it was weighed whole and is left out of that")


def test_a_suit_is_taken_whole_and_a_weighed_jaw_is_not(made: Callable[..., Creature]) -> None:
    """A suit weighs what it weighs as it is worn, guessed or not; on a bare jaw paint and screws still come on top."""
    jaw = ("load: {mass: 160 g,", "load: {mass: {value: 160 g, source: measured},")
    sheets = mass_sheet(MassParts.of(made(("grip: {mass: 90 g", "hare_suit: {mass: 9 kg"), jaw))).carriers
    assert sheets["hand"].parts == 0.0
    assert sheets["hand"].forgotten == (0.0, 0.0)
    assert sheets["skull"].parts == sheets["skull"].total


def test_a_skin_is_borne_as_what_holds_it_and_has_no_place_where_no_skull_bears_it(
    made: Callable[..., Creature],
) -> None:
    suit = ("    load: {mass: 160 g,", "    carried_by: shoulders\n    load: {mass: 160 g,")
    servo = ("model: standard, box: {at: [0 mm, -50 mm, -40 mm]}", "model: standard")
    shoulders = mass_sheet(MassParts.of(made(suit, servo))).carriers["shoulders"]
    assert {line.kind: line.placed for line in shoulders.lines} == {
        "part": "hinge",
        "servo": "nowhere",
        "skin": "nowhere",
    }
    assert isinstance(shoulders.centre, Unknown)


def test_a_battery_with_a_place_lets_what_bears_it_balance(made: Callable[..., Creature]) -> None:
    """Two point masses on one line, 90 g at 0 and 210 g at 100 mm: they balance at 70 mm."""
    cells = (
        "battery: {kind: lithium_polymer, cells: 2, capacity: 1 Ah, resistance: 50 mohm, mass: 210 g, carried_by: hand"
    )
    bench = "battery: {kind: bench, volts: 6 V, limit: 5 A"
    grip = ("grip: {mass: 90 g, carried_by: hand}", "grip: {mass: 90 g, carried_by: hand, at: [0 mm, 0 mm, 0 mm]}")
    lost = mass_sheet(MassParts.of(made(grip, (bench, cells)))).carriers["hand"]
    assert isinstance(lost.centre, Unknown)
    found = mass_sheet(MassParts.of(made(grip, (bench, f"{cells}, at: [0 mm, 100 mm, 0 mm]")))).carriers["hand"]
    assert found.centre == pytest.approx((0.0, 0.07, 0.0))
