"""The mass findings: every carrier has one, with a working; what is weighed whole leaves room; and the sheet for machines."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from jsonschema import Draft202012Validator
from tests.verdict.conftest import SMALL, small_folder

from marotte.basis.contracts.common import Quantity
from marotte.basis.contracts.finding import Finding
from marotte.creature.creature import Creature
from marotte.creature.load import load
from marotte.verdict.check import Examined, examine
from marotte.verdict.mass_object import masses_object, masses_schema


def found(done: Examined, name: str) -> Finding:
    return next(item for item in done.verdict.findings if item.id == name)


@pytest.fixture(scope="module")
def moss(tmp_path_factory: pytest.TempPathFactory) -> Creature:
    return load(small_folder(tmp_path_factory.mktemp("moss")))


@pytest.fixture(scope="module")
def done(moss: Creature) -> Examined:
    return examine(moss)


def test_a_carrier_without_a_limit_has_its_number_and_its_working(done: Examined) -> None:
    """By hand: hair 70 g and the battery's 120 g."""
    post = found(done, "mass.post")
    assert post.grade == "not_applicable"
    assert post.has == Quantity(value=pytest.approx(0.190), unit="kg")
    steps = {step.symbol: step for step in done.workings[post.id].steps}
    assert steps["m_all"].result == pytest.approx(0.190)
    assert steps["m_f"].result == pytest.approx(0.15 * 0.190)


def test_what_only_bears_a_servo_has_a_finding(tmp_path: Path) -> None:
    text = SMALL.replace("model: jaw_servo", "model: jaw_servo, carried_by: rod")
    assert text != SMALL
    rod = found(examine(load(small_folder(tmp_path / "moss", text))), "mass.rod")
    assert isinstance(rod.has, Quantity)
    assert rod.has.value == pytest.approx(0.058)  # a standard servo, of the stock


def test_a_limit_on_what_bears_nothing_is_said_and_not_dropped(moss: Creature) -> None:
    limits = moss.limits.model_copy(update={"hand_mass": 1.0})
    hand = found(examine(replace(moss, limits=limits)), "mass.hand")
    assert hand.grade == "not_applicable"
    assert hand.sentence == "Nothing that the hand carries is written."


@pytest.mark.parametrize(("over", "grade"), [(1.16, "performs"), (1.14, "only_just"), (0.5, "fails")])
def test_a_mass_performs_where_its_limit_holds_with_fifteen_percent_of_the_parts(
    moss: Creature, done: Examined, over: float, grade: str
) -> None:
    head = found(done, "mass.skull")
    assert isinstance(head.has, Quantity)
    limits = moss.limits.model_copy(update={"head_mass": over * head.has.value})
    sure = {ref: replace(given, spread=0.0) for ref, given in moss.given.items()}
    again = found(examine(replace(moss, limits=limits, given=sure)), "mass.skull")
    assert again.grade == grade
    assert again.marks is not None
    assert again.marks.performs_at == pytest.approx(again.needed.value - 0.15 * head.has.value)
    assert again.marks.only_just_at == pytest.approx(again.needed.value)


def test_a_suit_leaves_the_forgotten_share_to_the_parts(tmp_path: Path) -> None:
    """By hand: 11 kg of suit and the head's parts on 12.2 kg: 15 % of all would be over it, 15 % of the parts is not."""
    suit = "suit: {mass: {value: 11 kg, source: measured, from: bathroom scale}}"
    text = SMALL.replace("masses: {", f"masses: {{{suit}, ").replace("head_mass: 1.2 kg", "head_mass: 12.2 kg")
    head = found(examine(load(small_folder(tmp_path / "moss", text))), "mass.skull")
    assert isinstance(head.has, Quantity)
    assert head.has.value > 11.5
    assert 1.15 * head.has.value > 12.2 > head.has.value + 0.15 * (head.has.value - 11.0)
    assert head.grade == "performs"
    assert "to what is taken whole (suit) it adds nothing" in head.sentence


def test_the_heaviest_entry_is_one_that_can_be_built_lighter(done: Examined) -> None:
    """The stock's servos weigh what they weigh, so they are summed and not named as an entry."""
    sentence = found(done, "mass.skull").sentence
    assert "the heaviest entry is skull with 230 g" in sentence
    assert "servos weigh" in sentence


def test_the_sheet_for_machines_adds_up_and_balances(tmp_path: Path) -> None:
    """Sums and moments of the lines themselves: statics, from memory."""
    text = SMALL.replace(
        "build:\n", "build:\n  skull: {shape: [150 mm, 160 mm, 140 mm], centre: [0 mm, 5 mm, -20 mm]}\n"
    )
    assert text != SMALL
    done = examine(load(small_folder(tmp_path / "moss", text)))
    out = masses_object(done.verdict.masses)
    assert list(Draft202012Validator(masses_schema()).iter_errors(out)) == []
    for name, sheet in out["carriers"].items():
        assert sheet["total"] == pytest.approx(sum(line["count"] * line["each"] for line in sheet["lines"])), name
        assert sheet["forgotten"] == pytest.approx([0.10 * sheet["parts"], 0.15 * sheet["parts"]]), name
    assert "unknown" in out["carriers"]["post"]["centre"]  # the battery has no place
    skull = out["carriers"]["skull"]
    middle = [0.0, 0.005, -0.020]
    moment = sum(line["mass"] * np.array(line["at"] or middle) for line in skull["lines"])
    assert np.allclose(moment / skull["total"], skull["centre"])
    placed = [line for line in skull["lines"] if line["at"] is not None]
    arms = [np.array(line["at"]) - np.array(out["neck"]) for line in placed]
    least = sum(line["mass"] * (r[0] ** 2 + r[2] ** 2) for line, r in zip(placed, arms, strict=True))
    assert skull["inertia"][1][1] > least  # turning: the points alone, without shells and own inertias
