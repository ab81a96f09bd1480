"""Another hatch where a servo is shut in: cut where it helps, written at the boxes that name hatches, and true to its promise."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.verdict.remedies.kinds import Kind, promised
from tests.verdict.remedies.test_places import HEAD, slide

from marotte.basis.contracts.finding import Edit
from marotte.creature.load import build, open_tree
from marotte.verdict.cells import Cache
from marotte.verdict.check import examine
from marotte.verdict.remedies import remedies

STACK = "".join(slide(f"f{k}", f"0 mm, {-60 + 30 * k} mm, -35 mm") for k in range(4))
"""Four cases on top of one another under the cap: whoever wants the lowest takes out three."""
DEEP = HEAD.replace("FUNCTIONS\n", STACK)


def cured(kind: Kind, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> tuple[str, tuple[Edit, ...]]:
    cure = promised(kind, tmp_path, Cache(), capsys)
    return cure.grade, cure.edits


def test_a_stack_under_the_cap_comes_out_through_a_hatch_at_the_nape(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    kind = Kind(DEEP, "fit.access", "Cut another hatch, at the nape: 3 -> 0 others come out", "/build/skull/hatch")
    grade, (edit,) = cured(kind, tmp_path, capsys)
    assert (grade, edit.from_, edit.to) == ("performs", "top", ["top", "nape"])


def test_a_box_that_names_its_hatch_is_let_out_through_the_new_one(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = DEEP.replace("axis: [0, 0, 1]}", "axis: [0, 0, 1], access: [top]}")
    says = "Cut another hatch, at the nape, and let what drives the f0, the f1 come out there: 3 -> 1 others"
    grade, edits = cured(Kind(text, "fit.access", says, "/build/skull/hatch"), tmp_path, capsys)
    assert grade == "performs"
    assert {edit.path: edit.to for edit in edits} == {
        "/build/skull/hatch": ["top", "nape"],
        "/functions/f0/means/box/access": ["top", "nape"],
        "/functions/f1/means/box/access": ["top", "nape"],
    }


def test_a_hatch_that_a_box_names_and_the_skull_lacks_is_cut(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = DEEP.replace("axis: [0, 0, 1]}", "axis: [0, 0, 1], access: [back plate]}", 1)
    says = "Cut the hatch back plate, as boxes of the file have it: fails -> performs"
    assert cured(Kind(text, "fit.access", says, "/build/skull/hatch"), tmp_path, capsys)[0] == "performs"


@pytest.mark.parametrize(
    ("hatch", "cut"), [("[right]", {("right", "nape"), ("right", "cap")}), ("[right, crown, rear]", set())]
)
def test_a_row_behind_a_plate_at_the_side_gets_the_cheapest_seam_and_none_the_way_that_is_open(
    hatch: str, cut: set[tuple[str, ...]], tmp_path: Path
) -> None:
    # four from left to right: through the right three come out first; up and back the way is free, and a crown is a cap
    row = "".join(slide(f"f{k}", f"{-48 + 32 * k} mm, -30 mm, -35 mm", model="mini") for k in range(4))
    (tmp_path / "creature.yaml").write_text(
        HEAD.replace("FUNCTIONS\n", row).replace("hatch: top", f"hatch: {hatch}"), encoding="utf-8"
    )
    tree, cache = open_tree(tmp_path), Cache()
    standing = examine(build(tree, tmp_path), cache)
    found = [edit for cure in remedies(tree, tmp_path, standing, "fit.access", cache) for edit in cure.edits]
    written = {tuple(edit.to) for edit in found if edit.path == "/build/skull/hatch"}
    assert written <= cut
    assert bool(written) == bool(cut)


def test_where_one_hatch_frees_one_half_and_another_the_other_both_are_cut(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    # two crosses of cases: the lowest has six above it; the middle of one comes out to the side alone, past no eye, that of
    # the other to the back or the front
    upright = [(120, 20 * k, 0) for k in range(-3, 4)] + [(120, 0, 40 * k) for k in range(-3, 4) if k]
    across = [(40 * k, 0, -200) for k in range(-3, 4)] + [(0, 20 * k, -200) for k in range(-3, 4) if k]
    cases = [slide(f"f{n}", f"{x} mm, {y} mm, {z} mm", model="mini") for n, (x, y, z) in enumerate(upright + across)]
    text = HEAD.replace("FUNCTIONS\n", "".join(cases)).replace("hatch: top", "hatch: throat")
    text = text.replace("shape: [170 mm, 200 mm, 170 mm]", "shape: [900 mm, 900 mm, 900 mm]")
    says = "Cut two more hatches, at the nape and at the left: 6 -> 0 others come out"
    grade, (edit,) = cured(Kind(text, "fit.access", says, "/build/skull/hatch"), tmp_path, capsys)
    assert (grade, edit.to) == ("performs", ["throat", "nape", "left"])
