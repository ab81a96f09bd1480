"""What wires and fuses bear, and how noise and weight are spoken of where a creature stands."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from tests.verdict.conftest import SMALL, small_folder

from marotte.basis.contracts.finding import Finding, Working
from marotte.creature.load import load
from marotte.creature.shelf import LATEST, shelf
from marotte.verdict.cautions import cautions
from marotte.verdict.cells import Cache
from marotte.verdict.check import examine
from marotte.verdict.graph import Results

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"


def found(folder: Path, finding: str, *pairs: tuple[str, str]) -> tuple[Finding, Working]:
    text = SMALL
    for old, new in pairs:
        assert text.count(old) == 1
        text = text.replace(old, new)
    done = examine(load(small_folder(folder, text)))
    return next(item for item in done.verdict.findings if item.id == finding), done.workings[finding]


@pytest.mark.parametrize(("fuse", "grade"), [(11, "performs"), (12, "fails")])
def test_a_fuse_over_half_of_what_its_wire_bears_in_free_air_fails(fuse: int, grade: str, tmp_path: Path) -> None:
    """AWG 16 bears 22 A in free air (Handbook of Electronic Tables and Formulas, from memory); among 10 to 20 wires half of it
    (NFPA 70:2014, table 310.15(B)(3)(a), from copies on the web): 11 A."""
    item, working = found(
        tmp_path, "power.fuse", ("awg: 16, length: 0.5 m, fuse: 10 A", f"awg: 16, length: 0.5 m, fuse: {fuse} A")
    )
    assert item.grade == grade
    assert "11 A" in item.sentence
    assert {step.symbol: step.result for step in working.steps}["I_w"] == pytest.approx(11.0)


@pytest.mark.parametrize("name", ["tansy", "colm"])
def test_no_fuse_of_an_example_outlives_its_wire(name: str) -> None:
    creature = load(EXAMPLES / name)
    assert creature.supply is not None
    for lead in creature.supply.leads.values():
        assert lead.fuse is None or lead.fuse <= shelf(LATEST).ampacity[lead.awg].chassis / 2


def test_what_a_wire_is_loaded_with_and_what_it_bears_in_a_fault_are_told_apart(tmp_path: Path) -> None:
    """700 circular mils an ampere keep it cool (AWG 16 has 2583: 3.69 A); the fuse is judged by what damages it."""
    wire, _ = found(tmp_path / "a", "power.wire")
    fuse, _ = found(tmp_path / "b", "power.fuse")
    assert "is loaded in a bundle to stay cool" in wire.sentence
    assert "bears among others" in fuse.sentence
    assert shelf(LATEST).ampacity[16].bundled == pytest.approx(2583 / 700, rel=2e-3)


def noise_of(name: str) -> str:
    return next(item for item in examine(load(EXAMPLES / name)).verdict.findings if item.id == "noise").sentence


def test_a_voice_out_of_a_speaker_before_a_crowd_is_not_told_to_be_put_on_later() -> None:
    sentence = noise_of("colm")
    assert "the live voice of the face performer out of a speaker" in sentence
    assert "revoice" not in sentence
    assert "revoice later" in noise_of("tansy")  # before a camera


def test_a_head_on_a_post_is_not_held_over_people_and_one_in_the_hand_is() -> None:
    creature = load(EXAMPLES / "tansy")
    on_post = {item.id: item.sentence for item in cautions(creature, Results(creature, Cache()))}
    assert "overhead" not in on_post
    assert "stands on a post" in on_post["post"]
    turns = {
        name: item.model_copy(update={"carried_by": "skull"}) if item.carried_by == "post" else item
        for name, item in creature.functions.items()
    }
    held = replace(creature, functions=turns)
    in_hand = {item.id: item.sentence for item in cautions(held, Results(held, Cache()))}
    assert "post" not in in_hand
    assert "held or hung over people" in in_hand["overhead"]
