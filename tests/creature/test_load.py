from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path

import pytest

from marotte.basis.faults import BadInput, Fault
from marotte.creature.load import load
from marotte.creature.schema.means import Servo
from marotte.creature.schema.mechs import Direct, FourBar
from marotte.creature.shelf import LATEST

Write = Callable[..., Path]


def faults_of(folder: Path) -> tuple[Fault, ...]:
    with pytest.raises(BadInput) as caught:
        load(folder)
    return caught.value.faults


def test_numbers_in_the_model_are_si_and_their_story_stands_in_the_ledger(write: Write) -> None:
    creature = load(write())
    jaw = creature.functions["jaw"]
    assert jaw.travel[1] == pytest.approx(math.radians(22))
    assert jaw.load.mass == pytest.approx(0.160)
    given = creature.given[jaw.load.ref("mass")]
    assert (given.ref, given.source, given.written) == ("/functions/jaw/load/mass", "measured", "160 g")
    assert given.half_width == pytest.approx(0.008)
    assert (given.place.line, given.place.file) == (12, "creature.yaml")


def test_a_pair_shares_its_written_values_and_differs_where_it_is_written_to(write: Write) -> None:
    creature = load(write())
    left, right = creature.functions["lid_upper_left"], creature.functions["lid_upper_right"]
    assert left.travel == right.travel
    assert left.ref("travel", 1) == right.ref("travel", 1) == "/functions/lid_upper/travel/1"
    assert isinstance(left.means, Servo)
    assert isinstance(right.means, Servo)
    assert (left.means.model, right.means.model) == ("micro_fast", "jaw_servo")
    assert right.means.ref("model") == "/functions/lid_upper/right/means/model"
    assert creature.pair_of("lid_upper_left") == "lid_upper_right"
    assert creature.pair_of("jaw") is None


def test_a_means_without_a_mech_is_direct(write: Write) -> None:
    creature = load(write())
    assert isinstance(creature.mechs["lid_upper_left"].record, Direct)
    assert isinstance(creature.mechs["jaw"].record, FourBar)
    assert creature.mechs["jaw"].inputs == ("jaw",)


def test_like_fills_in_from_the_stock_and_what_is_written_wins(write: Write) -> None:
    creature = load(write())
    servo = creature.servos["jaw_servo"]
    assert servo.mass == pytest.approx(0.065)
    assert creature.given[servo.ref("mass")].source == "datasheet"
    stall = creature.given[servo.points[0].ref("stall")]
    assert stall.ref == "stock:servos/standard_strong/points/0/stall"
    assert stall.source == "typical"
    assert servo.points == creature.stock_tables.servos["standard_strong"].points


def test_the_narrower_name_wins_in_a_pose_whatever_the_order(write: Write) -> None:
    creature = load(write())
    assert creature.poses.moods["wary"] == pytest.approx({"lid_upper_left": 0.5, "lid_upper_right": 0.35})
    turned = load(write(("lid_upper: 35 %, lid_upper_left: 50 %", "lid_upper_left: 50 %, lid_upper: 35 %")))
    assert turned.poses.moods["wary"] == creature.poses.moods["wary"]


def test_neutral_is_nearest_to_zero_where_it_is_not_written(write: Write) -> None:
    creature = load(write())
    lid = creature.functions["lid_upper_left"]
    assert lid.neutral == 0.0
    assert lid.ref("neutral") == "default:Function/neutral" or lid.ref("neutral").startswith("default:")
    shifted = load(write(("travel: [0 deg, 62 deg]", "travel: [5 deg, 62 deg]")))
    assert shifted.functions["lid_upper_left"].neutral == pytest.approx(math.radians(5))


def test_a_short_mass_is_a_mass_on_the_skull(write: Write) -> None:
    masses = load(write()).masses
    assert (masses["paint_and_glue"].mass, masses["paint_and_glue"].carried_by) == (pytest.approx(0.06), "skull")
    assert masses["hair"].carried_by == "post"


def test_an_unsaid_length_counts_as_drawn_and_an_unsaid_property_as_a_guess(write: Write) -> None:
    creature = load(write())
    assert creature.given["/functions/jaw/mech/horn"].source == "measured"
    assert creature.given["/functions/jaw/load/friction"].source == "guess"


def test_equal_records_have_equal_digests_and_a_changed_number_shows(write: Write) -> None:
    one, same = load(write()), load(write(("# a jaw with its skin", "# a jaw")))
    other = load(write(("horn: 14 mm", "horn: 15 mm")))
    assert one.functions["jaw"].__digest__() == same.functions["jaw"].__digest__()
    assert one.functions["jaw"].__digest__() != other.functions["jaw"].__digest__()
    assert one.functions["lid_upper_left"].__digest__() == other.functions["lid_upper_left"].__digest__()


def test_a_changed_copy_of_a_record_has_a_digest_of_its_own(write: Write) -> None:
    mech = load(write()).mechs["jaw"].record
    before = mech.__digest__()
    assert mech.model_copy(update={"slop": 0.001}).__digest__() != before
    assert mech.__digest__() == before


def test_all_faults_come_at_once_each_with_its_place(write: Write) -> None:
    found = faults_of(
        write(
            ("horn: 14 mm", "horn: 14 inch"), ("rod: 62 mm", "rod: -62 mm"), ("kind: lithium_polymer", "kind: lithium_polymr"),
            ("part: lid_upper", "prt: lid_upper"),
        )
    )  # fmt: skip
    codes = [fault.code for fault in found]
    assert sorted(codes) == ["bounds", "choice", "missing", "unit", "unknown_key"]
    assert all(fault.place is not None and fault.place.line > 4 for fault in found)
    by_code = {fault.code: fault for fault in found}
    assert by_code["unit"].path == "/functions/jaw/mech/horn"
    assert by_code["unit"].try_ == "14 in"
    assert by_code["choice"].try_ == "lithium_polymer"
    assert by_code["unknown_key"].try_ == "part"


@pytest.mark.parametrize(
    ("change", "code", "path", "said"),
    [
        (("lead: face}\n    mech", "lead: fase}\n    mech"), "no_such", "/functions/jaw/means/lead", "face"),
        (("model: micro_fast", "model: micro_fats"), "no_such", "/functions/lid_upper/means/model", "micro_fast"),
        (("fed_by: battery", "fed_by: face"), "loop", "/supply/leads/face/fed_by", "comes back"),
        (("material: silicone_00_50", "material: silicone_0050"), "no_such", "/skins/cheek/strip/material", "silicone_00_50"),
        (("holds: {jaw:", "holds: {jow:"), "no_such", "/skins/cheek/holds/jow", "jaw"),
        (("part: jaw", "part: jav"), "no_such", "/functions/jaw/part", "jaw"),
        (("travel: [0 deg, 62 deg]", "travel: [0 mm, 62 mm]"), "unit", "/functions/lid_upper/travel/1", "degrees"),
        (("travel: [0 deg, 22 deg]", "travel: [22 deg, 0 deg]"), "order", "/functions/jaw/travel", "least to most"),
        (("neutral: 3 deg", "neutral: 30 deg"), "order", "/functions/jaw/neutral", "outside"),
        (("arm_at_neutral: 90 deg", "arm_at_neutral: 90 deg, horn_at_neutral: 3 deg"), "geometry", "/functions/jaw/mech", "clocking"),
        (("stock: 2026-1", "stock: 2031-1"), "no_such", "/stock", "2026-1"),
        (("marotte: 1", "marotte: 9"), "version", "/marotte", "newer release"),
        (("sides: both", "sides: bth"), "choice", "/functions/lid_upper/sides", "both"),
        (("source: datasheet", "source: datasheat"), "choice", "/servos/jaw_servo/source", "datasheet"),
        (("like: standard_strong", "like: standard_stron"), "no_such", "/servos/jaw_servo/like", "standard_strong"),
        (("wary: {lid_upper: 35 %", "wary: {lid_uper: 35 %"), "no_such", "/poses/moods/wary/lid_uper", "lid_upper"),
        (("friction: 0.01 N*m", "friction: .nan"), "number", "/functions/jaw/load/friction", "finite"),
        (("mass: 65 g", "mass: 65"), "unit", "/servos/jaw_servo/mass", "65 g"),
        (("regulator: {volts: 6.0 V", "regulator: {volts: 9.0 V"), "bounds", "/supply/leads/face/regulator/volts", "8.4 V at best"),
        (
            ("    mass: 65 g", "    mass: 65 g\n    measured:\n      - {at: 6 V, torque: 0 N*m, speed: 0.15 s/60deg, current: 0.2 A}\n"
             "      - {at: 6 V, torque: 0.2 N*m, speed: 0.12 s/60deg, current: 0.5 A}"),
            "order", "/servos/jaw_servo/measured/1/speed", "folds back",
        ),
        (("spread: 5 %", "spread: -5 %"), "bounds", "/functions/jaw/load/mass", "below zero"),
    ],
)  # fmt: skip
def test_each_fault_says_where_what_and_what_to_try(
    write: Write, change: tuple[str, str], code: str, path: str, said: str
) -> None:
    found = faults_of(write(change))
    match = [fault for fault in found if fault.code == code]
    assert match, [str(fault) for fault in found]
    assert match[0].path == path
    assert said in str(match[0])
    assert match[0].place is not None


def test_a_misspelt_pair_is_one_fault_and_not_one_for_everything_that_names_it(write: Write) -> None:
    found = faults_of(write(("sides: both", "sides: bth")))
    assert [(fault.code, fault.path) for fault in found] == [("choice", "/functions/lid_upper/sides")]


def test_a_function_moved_twice_and_one_moved_by_nobody_are_both_told(write: Write) -> None:
    text = "mechs:\n  share: {kind: tee_bar, moves: [jaw], shares: [100 %], means: {kind: servo, model: micro, lead: face}}\nskins:"
    found = faults_of(
        write(
            ("skins:", text),
            ("    means: {kind: servo, model: micro_fast, lead: face}\n", ""),
            ("    right: {means: {model: jaw_servo}}\n", ""),
        )
    )
    assert {fault.code for fault in found} == {"twice", "unmoved"}


def test_nothing_outside_the_folder_is_read(write: Write) -> None:
    found = faults_of(write(("poses:", "brief: {script: ../../etc/hostname}\nposes:")))
    assert [fault.code for fault in found] == ["no_folder"]
    assert "outside the creature folder" in found[0].what


def test_a_draft_without_version_is_read_as_version_one(write: Write) -> None:
    creature = load(write(("marotte: 1\nstock: 2026-1\n", "")))
    assert creature.stock == LATEST


def test_a_measured_curve_is_read_in_si_and_one_that_folds_back_is_told(write: Write) -> None:
    folder = write(
        (
            "    strip: {material: silicone_00_50, thickness: 4 mm, width: 80 mm, length: 45 mm}\n",
            "    curve: measured/cheek.csv\n",
        )
    )
    (folder / "measured").mkdir()
    table = folder / "measured" / "cheek.csv"
    table.write_text("stretch [mm],force [N]\n0,0\n5,2.5\n10,4\n")
    assert load(folder).tables["measured/cheek.csv"].tolist() == [[0.0, 0.005, 0.01], [0.0, 2.5, 4.0]]
    table.write_text("stretch [mm],force [N]\n0,0\n5,2.5\n4,4\n")
    found = faults_of(folder)
    assert [(fault.code, fault.place.line if fault.place else 0) for fault in found] == [("order", 4)]


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("horn: 14 mm", "horn: 14,5 mm", ("a comma parts two entries", "a decimal with a point", "14.5 mm")),
        ("neutral: 3 deg", "neutral: 25 deg", ("25 deg: neutral lies outside the travel", "[0 deg, 22 deg]")),
        ("[0 deg, 22 deg]", "[22 deg, 0 deg]", ("[22 deg, 0 deg]: travel goes from least to most",)),
        ("lid_upper: 35 %", "lid_upper: 35", ("Try: 35 %",)),
        ("    part: jaw\n", "   part: jaw\n", ("lines of one block begin in the same column",)),
        ("centre: [0 mm, -18 mm, 58 mm]", "centre: [0 mm, -18 mm, 58 mm", ("close the bracket opened in line 12",)),
        ("    neutral: 3 deg", "    neutral 3 deg", ("a name wants a colon and a space after it",)),
        ("name: Test head", 'name: "Test head', ("close the quotation mark opened in line 4",)),
        ("name: Test head", "name: @head", ("put the text in quotation marks",)),
    ],
)
def test_a_slip_of_the_keyboard_is_told_with_what_to_do(
    write: Write, old: str, new: str, says: tuple[str, ...]
) -> None:
    told = "\n".join(str(fault) for fault in faults_of(write((old, new))))
    for text in says:
        assert text in told


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("holds: {jaw: 70 mm/rad}", "holds: {jaws: 70 mm/rad}"),
        ("source: measured, spread: 5 %", "source: weighed, spread: 5 %"),
        ("travel: [0 deg, 22 deg]", "travel: 22 deg"),
    ],
)
def test_one_slip_is_one_fault_that_says_each_thing_once(write: Write, old: str, new: str) -> None:
    (fault,) = faults_of(write((old, new)))
    assert not fault.allowed or str(fault).count(fault.allowed) == 1


def test_the_ledger_knows_whether_a_source_was_written(write: Write) -> None:
    creature = load(write())
    jaw = creature.functions["jaw"]
    assert creature.given[jaw.load.ref("mass")].said
    assert not creature.given[jaw.load.ref("friction")].said
    assert creature.given[creature.servos["jaw_servo"].ref("mass")].said  # handed down by its block


def test_a_script_that_is_not_there_is_offered_the_nearest_file(write: Write) -> None:
    folder = write(("poses:", "brief: {script: scene.fountain, cue: TEST}\nposes:"))
    (folder / "scene1.fountain").write_text("INT. ROOM - DAY\n", encoding="utf-8")
    (fault,) = faults_of(folder)
    assert fault.try_ == "scene1.fountain"


@pytest.mark.parametrize(
    ("old", "new", "stands"),
    [
        ("horn: 14 mm", "horn: 14 furlong", "14 furlong"),
        ("rod: 62 mm", "rod: -62 mm", "-62 mm"),
        ("    neutral: 3 deg", "    neutrl: 3 deg", "neutrl"),
        ("kind: four_bar", "kind: five_bar", "{kind: five_bar"),
        ("[0 deg, 62 deg]", "[0 deg, 62 mm x]", "62 mm x"),
        ("wary: {lid_upper: 35 %", "wary: {lid_uper: 35 %", "lid_uper"),
        ("model: jaw_servo, lead: face", "model: jaw_servo, lead: fase", "fase"),
    ],
)
def test_line_and_column_of_a_fault_are_where_it_stands(write: Write, old: str, new: str, stands: str) -> None:
    folder = write((old, new))
    lines = (folder / "creature.yaml").read_text(encoding="utf-8").splitlines()
    places = [fault.place for fault in faults_of(folder)]
    assert any(place and lines[place.line - 1][place.column - 1 :].startswith(stands) for place in places), places
