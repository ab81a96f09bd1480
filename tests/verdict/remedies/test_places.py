"""A case is moved or turned where something overlaps, sticks out or is shut in; the full check has the last word."""

from __future__ import annotations

from pathlib import Path

import pytest

from marotte.basis.contracts.common import Quantity
from marotte.basis.contracts.finding import Remedy
from marotte.cli.main import main
from marotte.creature.edit import apply
from marotte.creature.load import build, open_tree
from marotte.creature.schema.means import MOVE_BOX, Box
from marotte.verdict.cells import Cache
from marotte.verdict.check import examine
from marotte.verdict.remedies import remedies

HEAD = """\
marotte: 1
stock: 2026-1
name: Test head
build: {eye: {diameter: 40 mm, spacing: 88 mm}, skull: {shape: [170 mm, 200 mm, 170 mm], hatch: top}}
functions:
FUNCTIONS
supply: {battery: {kind: bench, volts: 6 V, limit: 5 A}, leads: {face: {fed_by: battery, awg: 20, length: 1 m}}}
"""
CABLE = "mech: {kind: cable, horn: 9 mm, length: 160 mm, pulls: both_ways}"


def slide(name: str, at: str, axis: str = "[0, 0, 1]", model: str = "standard") -> str:
    return (
        f"  {name}: {{part: other_slide, axis: [0, 1, 0], at: [0 mm, 0 mm, 0 mm], travel: [0 mm, 5 mm], "
        f"means: {{kind: servo, model: {model}, box: {{at: [{at}], axis: {axis}}}}}, {CABLE}}}\n"
    )


def cured(folder: Path, text: str, finding: str) -> tuple[tuple[Remedy, ...], Path]:
    (folder / "creature.yaml").write_text(text, encoding="utf-8")
    tree, cache = open_tree(folder), Cache()
    found = remedies(tree, folder, examine(build(tree, folder), cache), finding, cache)
    return tuple(one for one in found if one.edits[0].path.endswith("/box/at")), folder


def after(folder: Path, cure: Remedy, finding: str) -> tuple[str, float]:
    tree = open_tree(folder)
    apply(tree, cure.edits)
    item = next(one for one in examine(build(tree, folder), Cache()).verdict.findings if one.id == finding)
    assert isinstance(item.has, Quantity)
    return item.grade, item.has.value


@pytest.mark.parametrize(
    "second", ["0 mm, -10 mm, -30 mm", "0 mm, 0 mm, -30 mm", "8 mm, -18 mm, -22 mm"], ids=["deep", "half", "aslant"]
)
def test_of_two_at_one_place_one_is_moved_as_far_as_it_must_and_says_which_way(tmp_path: Path, second: str) -> None:
    text = HEAD.replace("FUNCTIONS\n", slide("one", "0 mm, -10 mm, -30 mm") + slide("two", second))
    found, folder = cured(tmp_path, text, "fit.skull")
    assert found
    assert found[0].sentence.startswith("Move the servo of the ")
    assert "the least gap is -" in found[0].sentence
    grade, gap = after(folder, found[0], "fit.skull")
    assert (grade, gap >= 1e-3) == ("performs", True)


def test_a_servo_outside_the_skull_is_brought_in(tmp_path: Path) -> None:
    text = HEAD.replace("FUNCTIONS\n", slide("one", "0 mm, 90 mm, 0 mm"))
    found, folder = cured(tmp_path, text, "fit.skull")
    assert " down" in found[0].sentence
    assert after(folder, found[0], "fit.skull")[0] == "performs"


def test_one_that_is_farther_out_than_a_box_may_be_moved_goes_where_it_would_without_a_box(tmp_path: Path) -> None:
    text = HEAD.replace("FUNCTIONS\n", slide("one", "0 mm, 300 mm, 0 mm")).replace("hatch: top", "hatch: [top, throat]")
    found, folder = cured(tmp_path, text, "fit.skull")
    assert " down" in found[0].sentence
    assert after(folder, found[0], "fit.skull")[0] == "performs"


def test_where_no_servo_of_its_size_goes_in_nothing_is_said_to_help(tmp_path: Path) -> None:
    text = HEAD.replace("FUNCTIONS\n", slide("one", "0 mm, 300 mm, 0 mm"))
    small = text.replace("[170 mm, 200 mm, 170 mm]", "[40 mm, 40 mm, 40 mm]")
    assert small != text
    assert not cured(tmp_path, small, "fit.skull")[0]


def test_both_of_a_pair_are_moved_as_mirrors(tmp_path: Path) -> None:
    pair = (
        "  brow: {sides: both, part: brow, travel: [-5 mm, 5 mm], means: {kind: servo, model: mini, "
        "box: {at: [6 mm, 30 mm, -30 mm], axis: [0, 0, 1], along: [1, 0, 0]}}, "
        "mech: {kind: crank_slider, horn: 10 mm, rod: 70 mm}}\n"
    )
    found, folder = cured(tmp_path, HEAD.replace("FUNCTIONS\n", pair), "fit.skull")
    assert "the servos of both brows" in found[0].sentence
    assert "to its left" not in found[0].sentence
    assert after(folder, found[0], "fit.skull")[0] == "performs"


def test_a_four_bar_is_moved_only_to_where_its_ground_still_holds(tmp_path: Path) -> None:
    jaw = (
        "  jaw: {part: jaw, at: [0 mm, -40 mm, -60 mm], travel: [0 deg, 20 deg], means: {kind: servo, model: mini, "
        "box: {at: [0 mm, 6 mm, -35 mm], axis: [1, 0, 0], along: [0, 0, 1]}}, "
        "mech: {kind: four_bar, horn: 10 mm, rod: 55 mm, arm: 16 mm, ground: 56 mm, arm_at_neutral: 90 deg}}\n"
    )
    text = HEAD.replace("FUNCTIONS\n", jaw + slide("two", "0 mm, 9 mm, -34 mm", "[1, 0, 0]"))
    found, folder = cured(tmp_path, text, "fit.skull")
    moved = [one for one in found if "/jaw/" in one.edits[0].path]
    assert moved
    tree = open_tree(folder)
    apply(tree, moved[0].edits)
    told = examine(build(tree, folder), Cache()).results.told
    assert not [note for note in told if note.code == "fit_off_linkage"]


def test_a_stack_that_is_four_deep_is_broken_up_and_the_command_says_so(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    stack = "".join(slide(f"f{k}", f"0 mm, {-60 + 30 * k} mm, -35 mm") for k in range(4))
    found, folder = cured(tmp_path, HEAD.replace("FUNCTIONS\n", stack), "fit.access")
    assert found
    assert "3 -> " in found[0].sentence
    assert after(folder, found[0], "fit.access")[1] <= 2
    assert main(["check", str(folder), "--remedies"]) in (0, 1)
    assert "Move the servo of the f" in " ".join(capsys.readouterr().out.split())


def test_the_knob_is_declared_beside_its_field() -> None:
    assert Box.model_fields["at"].json_schema_extra == {"knob": MOVE_BOX.ladder}
    assert MOVE_BOX.high == pytest.approx(0.040)
