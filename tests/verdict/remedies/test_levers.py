"""Levers and knobs: what may be turned, how far, and that parts which belong together go together."""

from __future__ import annotations

import cmath
from pathlib import Path

import pytest
from tests.verdict.conftest import SMALL, small_folder

from marotte.basis.contracts.mech import Transmission
from marotte.creature.edit import apply
from marotte.creature.load import build, open_tree
from marotte.creature.schema.mechs import FourBar
from marotte.verdict.check import Examined
from marotte.verdict.remedies.candidate import edits_of
from marotte.verdict.remedies.knobs import turned, turns
from marotte.verdict.remedies.levers import Lever, geared, lever
from marotte.verdict.remedies.screen import Screen


def rests_on(examined: Examined, name: str) -> frozenset[str]:
    return next(item.rests_on for item in examined.verdict.findings if item.id == name)


@pytest.fixture(scope="module")
def gears(small: Examined) -> Lever:
    knobs = turns(small.results.creature, rests_on(small, "jaw.drive"))
    found = geared(small.results.creature, small.results.mechs, "jaw", knobs)
    assert found is not None
    return found


def test_a_geared_four_bar_closes_with_horn_and_arm_at_the_angles_that_they_had(small: Examined, gears: Lever) -> None:
    # vector loop of a planar four-bar: |ground + arm - horn| = rod (any book on mechanisms)
    creature, old = small.results.creature, small.results.mechs.transmissions["jaw"]
    assert isinstance(old, Transmission)
    for setting in gears.settings:
        record = turned(creature, dict(setting.turns)).mechs["jaw"].record
        assert isinstance(record, FourBar)
        arm = cmath.rect(record.arm, old.clocking["arm"])
        horn = cmath.rect(record.horn, old.clocking["horn"])
        assert abs(abs(record.ground + arm - horn) - record.rod) <= 0.25e-3 + 1e-12  # rods come in half millimetres


def test_gears_go_from_less_to_more_ratio_and_leave_out_what_stands(small: Examined, gears: Lever) -> None:
    creature = small.results.creature
    ratios = []
    for setting in gears.settings:
        record = turned(creature, dict(setting.turns)).mechs["jaw"].record
        assert isinstance(record, FourBar)
        ratios.append(record.horn / record.arm)
    assert ratios == sorted(ratios)
    assert ratios[gears.below - 1] < 14 / 22 < ratios[gears.below]


def test_a_jaw_geared_down_for_torque_has_no_speed_left_and_is_no_cure(small: Examined, gears: Lever) -> None:
    # A servo at most of its stall has little of its speed left (the straight torque-speed line of a motor): gearing down
    # brings the torque wanted under what the servo has at rest, and must still be judged at the speed asked for.
    item = next(one for one in small.verdict.findings if one.id == "jaw.drive")
    screen = Screen(small, item, small.results.cache)
    for setting in gears.settings[: gears.below]:
        assert screen.score(turned(small.results.creature, dict(setting.turns))).grade == "fails"


def test_no_voltage_is_proposed_beyond_the_sheets_of_the_servos_on_it(tmp_path: Path) -> None:
    text = SMALL.replace(
        "      - {at: 7.4 V, stall: 1.3 N*m, free: 0.12 s/60deg, stall_current: 2.9 A, source: datasheet}\n", ""
    )
    creature = build(open_tree(small_folder(tmp_path / "low", text)), tmp_path / "low")
    refs = frozenset(creature.given)
    volts = {turn.ref: turn for turn in turns(creature, refs) if turn.ref.endswith("/regulator/volts")}
    assert max(float(v) for v in volts["/supply/leads/face/regulator/volts"].choices) <= 6.0 + 1e-9
    assert max(float(v) for v in volts["/supply/leads/eyes/regulator/volts"].choices) == pytest.approx(7.4)


def test_the_ladder_of_servos_begins_with_those_of_the_same_body(small: Examined) -> None:
    creature = small.results.creature
    knobs = {turn.ref: turn for turn in turns(creature, rests_on(small, "jaw.drive"))}
    rungs = [str(name) for name in knobs["/functions/jaw/means/model"].choices]
    stock, now = creature.stock_tables.servos, creature.servos["jaw_servo"]
    same = [all(abs(a - b) <= 2e-3 for a, b in zip(stock[name].body[:2], now.body[:2], strict=True)) for name in rungs]
    assert same == sorted(same, reverse=True)
    assert same[0]
    assert "standard" not in rungs  # the class that the file's own servo is filled in from is no other servo


def test_limits_and_what_nobody_wrote_are_never_turned(small: Examined) -> None:
    creature = small.results.creature
    for turn in turns(creature, frozenset(creature.given)):
        assert turn.ref.startswith(("/functions/", "/mechs/", "/skins/", "/supply/", "/masses/", "/servos/"))


def test_one_side_of_a_pair_is_turned_alone_where_only_one_side_fails(small: Examined, tmp_path: Path) -> None:
    folder = small_folder(tmp_path / "one")
    tree = open_tree(folder)
    creature = build(tree, folder)
    knobs = turns(creature, rests_on(small, "lid_upper_left.drive"), "left")
    horn = next(turn for turn in knobs if turn.ref == "/functions/lid_upper/left/mech/horn")
    longer = next(setting for setting in lever(horn).settings if setting.turns[0][1] == pytest.approx(0.012))
    back = apply(tree, edits_of(tree, (longer,)))
    after = build(tree, folder)
    left, right = after.mechs["lid_upper_left"].record, after.mechs["lid_upper_right"].record
    assert isinstance(left, FourBar)
    assert isinstance(right, FourBar)
    assert (left.horn, right.horn) == (pytest.approx(0.012), pytest.approx(0.010))
    assert left.__digest__() == turned(creature, dict(longer.turns)).mechs["lid_upper_left"].record.__digest__()
    apply(tree, back)
    assert (
        build(tree, folder).mechs["lid_upper_left"].record.__digest__()
        == creature.mechs["lid_upper_left"].record.__digest__()
    )
