"""Packs for the day, and where functions go when the link is lost."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from marotte.creature.load import load
from marotte.creature.schema.audience import Limits, Show
from marotte.creature.schema.supply import Cells
from marotte.verdict.loss import loss_of_link
from marotte.verdict.requirements.power import Minutes
from marotte.verdict.requirements.spares import Args

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"


@pytest.mark.parametrize(
    ("mean_a", "calls", "needed"),
    [
        (2.0, 4, 2),  # 2 A h usable over 2 A: an hour, three calls of 18 min to a pack
        (4.0, 4, 4),  # half an hour: one call to a pack
        (10.0, 4, 8),  # 12 min: two packs in every call
        (0.5, 1, 1),
    ],
)
def test_packs_are_swapped_between_calls_where_one_lasts_a_call(mean_a: float, calls: int, needed: int) -> None:
    pack = Cells(kind="lithium_iron", cells=2, capacity=2.5 * 3600.0, resistance=0.03, usable=0.8, spares=3)
    args = Args(Minutes(pack, mean_a, Limits(), Show(calls=calls, call_length=18 * 60.0)))
    assert (args.needed, args.packs) == (needed, 4)


def test_what_falls_unpowered_is_told_by_group_with_its_place() -> None:
    (told,) = loss_of_link(load(EXAMPLES / "colm"))
    assert "loses power and falls" in told.sentence
    assert "eyes (upper lid 30 deg)" in told.sentence
    assert "jaw" in told.sentence.split("to 0:")[1]


def test_a_creature_without_servos_has_no_link_to_lose() -> None:
    assert not list(loss_of_link(load(EXAMPLES / "pip")))


def test_servos_that_hold_are_said_to_hold() -> None:
    colm = load(EXAMPLES / "colm")
    assert colm.supply is not None
    link = colm.supply.link.model_copy(update={"on_loss": "hold"})
    holding = replace(colm, supply=colm.supply.model_copy(update={"link": link}))
    (told,) = loss_of_link(holding)
    assert "holds where it is" in told.sentence
