"""What can be read and cannot all be meant is told with its place, and the rest is checked."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.bad.corpus import GOOD

from marotte.cli.main import main
from marotte.creature.load import load
from marotte.verdict.check import examine, to_json

BOX = "lead: main, box: {{at: [0 mm, 20 mm, -20 mm], axis: [1, 0, 0], along: {}}}}}"
SHAPE = "eye: {diameter: 40 mm, spacing: 88 mm}\n  skull: {shape: [150 mm, 160 mm, 150 mm]}"


def odd(folder: Path, *changes: tuple[str, str]) -> list[tuple[str, str]]:
    """Return what stands at the place that is named, and the sentence, of what is told of the build as a fault is."""
    text = GOOD.replace("eye: {diameter: 40 mm, spacing: 88 mm}", SHAPE)
    for written, becomes in changes:
        assert written in text
        text = text.replace(written, becomes, 1)
    (folder / "creature.yaml").write_text(text, encoding="utf-8")
    done = examine(load(folder))
    told = to_json(done.verdict, done.workings, {}, places=done.places)["told"]
    return [(at(text, t["place"]), t["sentence"]) for t in told if t["code"] in ("geometry", "twice", "cannot_read")]


def at(text: str, place: str) -> str:
    """Return the rest of the line at a place."""
    file, line, column = place.split(":")
    assert file == "creature.yaml"
    return text.splitlines()[int(line) - 1][int(column) - 1 :]


def test_a_build_whose_sizes_go_together_is_told_nothing(tmp_path: Path) -> None:
    assert odd(tmp_path, ("  points:", "  head_width: 170 mm\n  points:")) == []


@pytest.mark.parametrize(
    ("written", "becomes", "stands", "says"),
    [
        ("  points:", "  head_width: 100 mm\n  points:", "100 mm", "150 mm wide inside and the head 100 mm wide"),
        ("  points:", "  head_width: 80 mm\n  points:", "80 mm", "150 mm wide inside and the head 80 mm wide"),
        ("  points:", "  head_width: 80 mm\n  points:", "88 mm}", "the eyes are 88 mm apart and the head is 80 mm wide"),
        ("  points:", "  neck_bore: 200 mm\n  points:", "200 mm", "bore of 200 mm is wider than the skull"),
        ("spacing: 88 mm", "spacing: 30 mm", "30 mm}", "stand in one another"),
        ("[150 mm, 160 mm, 150 mm]", "[15 mm, 16 mm, 15 mm]", "shape: [15 mm", "look at the unit of its sizes"),
        ("lead: main}", BOX.format("[1, 0, 1]"), "along: [1, 0, 1]", "drives the jaw is written at 45 deg to its shaft"),
    ],
)  # fmt: skip
def test_sizes_that_cannot_all_be_meant_are_told_where_they_stand(
    written: str, becomes: str, stands: str, says: str, tmp_path: Path
) -> None:
    found = [(where, sentence) for where, sentence in odd(tmp_path, (written, becomes)) if says in sentence]
    assert len(found) == 1
    assert found[0][0].startswith(stands)


def test_a_long_side_square_to_its_shaft_but_for_rounding_is_told_nothing(tmp_path: Path) -> None:
    assert odd(tmp_path, ("lead: main}", BOX.format("[0.01, 0, 1]"))) == []
    assert odd(tmp_path, ("lead: main}", BOX.format("[0.02, 0, 1]"))) != []


def test_a_mesh_beside_a_shape_and_one_that_cannot_be_read_are_told_at_their_places(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "skull.stl").write_bytes(b"not a mesh at all")
    found = odd(tmp_path, ("{shape: [150", "{mesh: skull.stl, shape: [150"))
    assert [there.partition(",")[0] for there, _ in found] == ["shape: [150 mm", "skull.stl"]
    assert "the shape is not looked at" in found[0][1]
    assert "formats that are read: .stl, .obj, .ply, .off, .glb" in found[1][1]
    main(["check", str(tmp_path)])
    assert "- creature.yaml:7:17: the mesh skull.stl" in capsys.readouterr().out


def test_a_cue_that_nobody_has_is_told_where_it_stands(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "script.fountain").write_text("INT. YARD - DAY\n\nCOCK\nWho is there?\n", encoding="utf-8")
    odd(tmp_path, ("cue: HEN", "cue: HEN\n  script: script.fountain"))
    main(["check", str(tmp_path)])
    assert "- creature.yaml:31:8: brief > cue: nobody in the script has the cue 'HEN'" in capsys.readouterr().out
    assert main(["script", str(tmp_path)]) == 2
    assert capsys.readouterr().err.startswith("creature.yaml:31:8: brief > cue: ")
