"""Sizing: what it proposes must perform when it is looked at again, and it must say so where nothing does."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from marotte.basis.contracts.common import Unknown
from marotte.basis.contracts.mech import Transmission
from marotte.creature.anatomy import PARTS
from marotte.creature.load import load
from marotte.mech.ask import least_jerk
from marotte.mech.size import edits, size
from marotte.mech.size_candidate import GOOD_ANGLE, GOOD_USE
from marotte.mech.solve import transmission
from tests.mech.rigs import DEG

HEAD = """\
marotte: 1
stock: 2026-1
name: Bench head
functions:
  jaw:
    part: jaw
    travel: [0 deg, 22 deg]
    neutral: 3 deg
    means: {{kind: servo, model: jaw_servo}}
    mech: {{kind: four_bar, horn: 14 mm, rod: 62 mm, arm: 22 mm, ground: 64 mm, arm_at_neutral: 73 deg}}
    load: {{mass: 160 g, centre: [0 mm, -18 mm, 58 mm], friction: 0.01 N*m}}
  lid_upper:
    sides: both
    part: lid_upper
    travel: [0 deg, 62 deg]
    neutral: 14 deg
    means: {{kind: servo, model: mini}}
    mech: {{kind: four_bar, horn: 10 mm, rod: 38 mm, arm: 10 mm, ground: 39 mm, arm_at_neutral: 104 deg}}
    load: {{mass: 6 g, shell: {{inner: 20.5 mm, thickness: 1.2 mm}}}}
  brow:
    part: brow
    side: left
    travel: [-4 mm, 7 mm]
    means: {{kind: servo, model: mini}}
    mech: {{kind: crank_slider, horn: 8 mm, rod: 40 mm, horn_at_neutral: 60 deg}}
    load: {{mass: 5 g, friction: 0.5 N}}
  head_turn:
    part: head_turn
    travel: [-40 deg, 40 deg]
    means: {{kind: hand}}
skins:
  chin:
    strip: {{material: silicone_00_50, thickness: {thickness}, width: 80 mm, length: 45 mm, relief: {relief}}}
    sculpted_at: {{jaw: {sculpted}}}
    holds: {{jaw: 70 mm/rad}}
servos:
  jaw_servo:
    like: standard
    points: [{{at: 6.0 V, stall: 1.1 N*m, free: 0.15 s/60deg, stall_current: 2.4 A, source: datasheet}}]
supply:
  battery: {{kind: lithium_polymer, cells: 2, capacity: 2200 mAh, resistance: 40 mohm}}
  leads: {{trunk: {{fed_by: battery, awg: 18, length: 0.6 m}}}}
brief: {{attitudes: {{nod: [-20 deg, 25 deg]}}}}
"""


@pytest.fixture
def head(tmp_path: Path):
    def made(thickness="4 mm", sculpted="0 deg", relief="0 %"):
        (tmp_path / "creature.yaml").write_text(HEAD.format(thickness=thickness, sculpted=sculpted, relief=relief))
        return load(tmp_path)

    return made


def again(creature, sizing, candidate):
    mechanism = creature.mechs[sizing.mechanism]
    changed = type(mechanism)(
        name=mechanism.name, record=candidate.record, inputs=mechanism.inputs, outputs=mechanism.outputs, side=mechanism.side
    )  # fmt: skip
    return transmission(changed, creature.functions, creature.points, PARTS, None, creature.stock_tables)


def test_the_lids_first_remedy_is_to_clock_it_anew(head):
    creature = head()
    found = size(creature, "lid_upper_left")
    assert not isinstance(found, Unknown)
    assert found.now is not None
    assert found.now.least_angle == pytest.approx(25.6 * DEG, abs=0.1 * DEG)
    assert not found.now.performs
    first = found.candidates[0]
    assert first.what == "clocked anew"
    assert set(first.changes) == {"arm_at_neutral"}
    assert first.performs
    assert first.least_angle > 1.8 * found.now.least_angle
    assert first.play < 0.6 * found.now.play


def test_what_is_proposed_does_what_it_says(head):
    creature = head()
    for name in ("lid_upper_right", "brow"):
        found = size(creature, name)
        assert not isinstance(found, Unknown)
        assert found.candidates
        for candidate in found.candidates:
            moved = again(creature, found, candidate)
            assert isinstance(moved, Transmission)
            assert moved.angle is not None
            assert float(moved.angle.min()) == pytest.approx(candidate.least_angle, abs=1e-9)
            if candidate.performs:
                low, high = creature.functions[name].travel
                assert moved.position[0].min() == pytest.approx(low, abs=1e-6)
                assert moved.position[0].max() == pytest.approx(high, abs=1e-6)
                assert candidate.least_angle >= GOOD_ANGLE
                assert candidate.use <= GOOD_USE


def test_a_jaw_under_a_thick_skin_cast_shut_is_beyond_any_linkage_and_the_skin_is_named(head):
    found = size(head(), "jaw")
    assert not isinstance(found, Unknown)
    assert not any(candidate.performs for candidate in found.candidates)
    assert "skin" in found.told[-1].sentence


def test_cast_ajar_and_thinned_the_jaw_can_be_sized(head):
    # what a workshop does: sculpt at 8 deg, thin the fold to 2 mm with a crease over two fifths, and clock anew
    creature = head(thickness="2 mm", sculpted="8 deg", relief="40 %")
    found = size(creature, "jaw")
    assert not isinstance(found, Unknown)
    assert found.now is not None
    assert not found.now.performs
    assert found.candidates
    assert found.candidates[0].performs
    assert found.candidates[0].use < found.now.use or found.candidates[0].least_angle > found.now.least_angle


def test_edits_speak_the_files_language_and_make_the_proposal_true(head, tmp_path):
    creature = head()
    found = size(creature, "lid_upper_left")
    assert not isinstance(found, Unknown)
    (edit,) = edits(creature, found.candidates[0])
    assert edit.path == "/functions/lid_upper/mech/arm_at_neutral"
    assert edit.from_ == "104 deg"
    assert edit.to.endswith(" deg")
    text = (tmp_path / "creature.yaml").read_text().replace("arm_at_neutral: 104 deg", f"arm_at_neutral: {edit.to}")
    (tmp_path / "creature.yaml").write_text(text)
    after = size(load(tmp_path), "lid_upper_left")
    assert not isinstance(after, Unknown)
    assert after.now is not None
    assert after.now.least_angle == pytest.approx(found.candidates[0].least_angle, abs=1e-3)
    assert after.now.performs


def test_the_same_file_gives_the_same_answer(head):
    one, two = (size(head(), "brow") for _ in range(2))
    assert not isinstance(one, Unknown)
    assert not isinstance(two, Unknown)
    assert [c.changes for c in one.candidates] == [c.changes for c in two.candidates]


def test_what_a_hand_holds_cannot_be_sized(head):
    found = size(head(), "head_turn")
    assert isinstance(found, Unknown)
    assert "nothing to size" in found.why


def test_the_horns_swing_stays_inside_the_servos_turn(head):
    creature = head(thickness="2 mm", sculpted="8 deg", relief="40 %")
    for name in ("jaw", "brow", "lid_upper_left"):
        found = size(creature, name)
        assert not isinstance(found, Unknown)
        assert all(candidate.swing <= found.ask.line.turn for candidate in found.candidates if candidate.performs)
        assert np.isfinite([candidate.score for candidate in found.candidates]).all()


def test_the_move_that_is_asked_is_of_least_jerk():
    speed, acceleration = least_jerk(201, 0.4, 0.25)
    # closed form: 1.875 D / T and 5.7735 D / T^2
    assert speed.max() == pytest.approx(1.875 * 0.4 / 0.25, rel=1e-3)
    assert acceleration.max() == pytest.approx(5.7735 * 0.4 / 0.25**2, rel=1e-2)
    assert speed[0] == speed[-1] == 0.0
