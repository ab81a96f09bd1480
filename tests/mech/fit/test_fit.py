from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from marotte.basis.contracts.common import Unknown
from marotte.basis.digest import digest
from marotte.creature.schema.build import Skull
from marotte.mech.fit import placement
from marotte.mech.fit.bodies import ROUND, worn_room
from marotte.mech.fit.fit import FitParts, fit
from marotte.mech.fit.skull import shell_of
from marotte.mech.mechs import mechs
from tests.mech.fit.heads import HEAD, fitted, head, servo


def test_two_servos_at_one_place_overlap_by_a_whole_side(tmp_path: Path) -> None:
    """Case 40 x 20 x 38 mm: the shortest way out is along the 20."""
    found = fitted(head(tmp_path, servo("one", "0 mm, -30 mm, -30 mm"), servo("two", "0 mm, -30 mm, -30 mm")))
    worst = found.clashes[0]
    assert {worst.first, worst.second} == {"one servo", "two servo"}
    assert worst.gap == pytest.approx(-0.020)
    assert abs(worst.way[1]) == pytest.approx(1.0)


def test_servos_side_by_side_with_two_millimetres_between_do_not_clash(tmp_path: Path) -> None:
    found = fitted(head(tmp_path, servo("one", "0 mm, 0 mm, -30 mm"), servo("two", "0 mm, 22 mm, -30 mm")))
    assert not found.clashes
    assert found.least is not None
    assert found.least.gap == pytest.approx(0.002, abs=1e-9)


def test_a_servo_outside_the_skull_reaches_out_by_what_a_rule_would_show(tmp_path: Path) -> None:
    """A case whose far corners lie at y = 80 + 20 + 10, near the pole of the ellipsoid at y = 80."""
    found = fitted(head(tmp_path, servo("one", "0 mm, 100 mm, 0 mm")))
    worst = found.clashes[0]
    assert worst.second == "skull"
    assert -worst.gap > 0.030
    assert -worst.gap < 0.045


def test_an_eye_takes_its_room(tmp_path: Path) -> None:
    found = fitted(head(tmp_path, servo("one", "44 mm, 0 mm, -20 mm")))
    assert any({"left eye", "one servo"} == {clash.first, clash.second} for clash in found.clashes)


def test_volume_is_that_of_the_ellipsoid(tmp_path: Path) -> None:
    assert fitted(head(tmp_path, servo("one"))).volume == pytest.approx(math.pi / 6 * 0.15 * 0.16 * 0.15)


def test_a_proposal_overlaps_nothing_and_stays_inside(tmp_path: Path) -> None:
    functions = [servo(f"f{k}", model="mini") for k in range(12)]
    found = fitted(head(tmp_path, *functions))
    assert not found.unplaced
    assert not found.clashes
    assert sum(placed.kind == "servo" for placed in found.placed) == 12


def test_too_many_servos_leave_some_without_a_place_and_none_overlapping(tmp_path: Path) -> None:
    functions = [servo(f"f{k}", model="quarter_scale") for k in range(9)]
    found = fitted(head(tmp_path, *functions))
    assert found.unplaced
    assert not found.clashes


def test_a_proposal_is_the_same_every_time_and_in_any_order_of_the_file(tmp_path: Path) -> None:
    functions = [servo(f"f{k}", model=("mini", "standard", "micro")[k % 3]) for k in range(9)]
    once, again = fitted(head(tmp_path, *functions)), fitted(head(tmp_path, *functions))
    assert digest(once) == digest(again)
    turned = fitted(head(tmp_path, *reversed(functions)))
    assert {p.name: p.at for p in once.placed} == {p.name: p.at for p in turned.placed}


def test_what_was_kept_from_before_does_not_change_a_proposal(tmp_path: Path) -> None:
    functions = [servo(f"f{k}", model=("mini", "standard", "micro")[k % 3]) for k in range(9)]
    first = digest(fitted(head(tmp_path, *functions)))
    fitted(head(tmp_path, *functions[:4], servo("f4", model="standard"), *functions[5:]))
    placement.kept_seats.cache_clear()
    placement.kept_places.cache_clear()
    assert digest(fitted(head(tmp_path, *functions))) == first


def test_a_pair_is_placed_as_a_mirror(tmp_path: Path) -> None:
    pair = (
        "  brow: {sides: both, part: brow, travel: [-5 mm, 6 mm], means: {kind: servo, model: mini}, "
        "mech: {kind: crank_slider, horn: 10 mm, rod: 46 mm}}\n"
    )
    found = {placed.name: placed for placed in fitted(head(tmp_path, pair)).placed}
    left, right = found["brow_left servo"], found["brow_right servo"]
    np.testing.assert_allclose(np.array(left.at) * [-1, 1, 1], right.at, atol=1e-12)
    np.testing.assert_allclose(
        np.array(found["brow_left horn"].at) * [-1, 1, 1], found["brow_right horn"].at, atol=1e-9
    )


def test_a_written_box_that_its_four_bar_cannot_reach_is_told(tmp_path: Path) -> None:
    jaw = (
        "  jaw: {part: jaw, at: [0 mm, -40 mm, -40 mm], travel: [0 deg, 20 deg], means: {kind: servo, model: mini, "
        "box: {at: [0 mm, -20 mm, -40 mm], axis: [1, 0, 0], along: [0, 0, 1]}}, "
        "mech: {kind: four_bar, horn: 14 mm, rod: 62 mm, arm: 22 mm, ground: 64 mm, arm_at_neutral: 90 deg}}\n"
    )
    notes = [note for note in fitted(head(tmp_path, jaw)).told if note.code == "fit_off_linkage"]
    assert len(notes) == 1
    assert "64 mm" in notes[0].sentence
    assert notes[0].ref == "/functions/jaw/means/box/at"


def test_both_boxes_of_a_pair_that_their_linkage_does_not_want_are_told_at_once_and_as_people_say_it(
    tmp_path: Path,
) -> None:
    lids = (
        "  lid_upper: {sides: both, part: lid_upper, travel: [0 deg, 50 deg], means: {kind: servo, model: mini, "
        "box: {at: [44 mm, 0 mm, -60 mm], axis: [1, 0, 0], along: [0, 0, 1]}}, "
        "mech: {kind: four_bar, horn: 10 mm, rod: 38 mm, arm: 12 mm, ground: 39 mm, arm_at_neutral: 90 deg}}\n"
    )
    notes = [note.sentence for note in fitted(head(tmp_path, lids)).told if note.code == "fit_off_linkage"]
    assert notes == [
        "both upper lids: the boxes put their shafts 14 mm from where the linkage wants it (its ground is 39 mm)"
    ]


def test_places_that_are_proposed_are_told_by_how_many(tmp_path: Path) -> None:
    one = fitted(head(tmp_path, servo("one"))).told
    assert any(note.sentence.startswith("the one servo in the skull has no box written: its place is") for note in one)
    two = fitted(head(tmp_path, servo("one", "0 mm, -30 mm, -30 mm"), servo("two"))).told
    assert any(note.sentence.startswith("1 of 2 servos in the skull has no box written") for note in two)


def test_a_direct_drive_away_from_its_axle_is_named(tmp_path: Path) -> None:
    ear = (
        "  ear: {part: ear_swivel, side: left, at: [120 mm, 90 mm, -40 mm], travel: [-40 deg, 40 deg], "
        "means: {kind: servo, model: mini}}\n"
    )
    found = fitted(head(tmp_path, ear))
    assert [item.servo for item in found.off] == ["ear"]
    assert found.off[0].wants == "a direct drive wants it on the axle"
    assert found.off[0].far > 0.04


def test_a_wearers_head_takes_its_room_as_far_as_it_is_in_the_skull() -> None:
    shell = shell_of(Skull(shape=(0.5, 0.5, 0.5)), None)
    assert not isinstance(shell, Unknown)
    sides = (0.18, 0.26, 0.22)
    # a rounded box in closed form (Steiner, for the box within its rounding)
    r = ROUND * 0.5 * min(sides)
    a, b, c = (side - 2 * r for side in sides)
    whole = a * b * c + 2 * r * (a * b + b * c + c * a) + math.pi * r**2 * (a + b + c) + 4 / 3 * math.pi * r**3
    assert worn_room(sides, (0.0, 0.0, 0.0), shell) == pytest.approx(whole, rel=0.01)
    assert worn_room(sides, (0.0, 1.0, 0.0), shell) == 0.0
    # the foot of an ellipsoid that is wide as a field is a plane: half of the head is above it
    cave = shell_of(Skull(shape=(20.0, 2.0, 20.0), centre=(0.0, 1.0, 0.0)), None)
    assert not isinstance(cave, Unknown)
    assert worn_room(sides, (0.0, 0.0, 0.0), cave) == pytest.approx(0.5 * whole, rel=0.02)


def test_no_skull_is_unknown_and_says_what_to_write(tmp_path: Path) -> None:
    creature = head(
        tmp_path,
        servo("one"),
        text=HEAD.replace("skull: {shape: [150 mm, 160 mm, 150 mm], hatch: [top, back]}", "points: {}"),
    )
    found = fit(FitParts.of(creature, mechs(creature), None), shell_of(creature.build.skull, None))
    assert isinstance(found, Unknown)
    assert found.wants == ("/build/skull",)


def test_what_is_not_geometry_does_not_change_what_fit_reads(tmp_path: Path) -> None:
    one = head(tmp_path, servo("one"))
    before = digest(FitParts.of(one, mechs(one), None))
    two = head(tmp_path, servo("one").replace("travel: [0 mm, 5 mm]", "travel: [0 mm, 5 mm], load: {mass: 40 g}"))
    assert digest(FitParts.of(two, mechs(two), None)) == before
