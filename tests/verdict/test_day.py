"""Packs for the day; power on, link lost, power cut."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from tests.verdict.conftest import SMALL, small_folder

from marotte.basis.contracts.finding import Finding, Working
from marotte.creature.creature import Creature
from marotte.creature.load import load
from marotte.creature.schema.audience import Limits, Show
from marotte.creature.schema.supply import Cells
from marotte.verdict.cells import Cache
from marotte.verdict.check import examine
from marotte.verdict.graph import Results
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


def told_of(creature: Creature, *, more: bool = True) -> dict[str, str]:
    told = loss_of_link(creature, Results(creature, Cache()))
    return {item.code: (item.more if more else "") or item.sentence for item in told}


def linked(creature: Creature, **changes: object) -> Creature:
    assert creature.supply is not None
    link = creature.supply.link.model_copy(update=changes)
    return replace(creature, supply=creature.supply.model_copy(update={"link": link}))


def test_where_functions_go_without_power_is_told_by_group_as_written_and_as_run() -> None:
    """A skin pulls the jaw shut and brows down; an ear that stands on its servo's gears stays up, whatever the file says."""
    told = told_of(load(EXAMPLES / "colm"))
    assert "loses power" in told["link.loss"]
    assert "eyes (both upper lids 30 deg)" in told["link.loss"]
    assert "jaw" in told["link.loss"].split("to 0:")[1]
    assert "both brows from 4.8 mm to -7.5 mm" in told["power.cut"]
    assert "gears and friction hold the rest" in told["power.cut"]
    assert "both upper lids (written 30 deg; cut at 55 deg comes to rest at 55 deg)" in told["power_off"]


def test_what_is_told_of_an_upset_names_the_worst_and_counts_the_rest() -> None:
    """At most three parts each, pairs once, in a sentence that is read in one breath or two; all of it is kept beside it."""
    creature = load(EXAMPLES / "tansy")
    brief, whole = told_of(creature, more=False), told_of(creature)
    assert "neutral; hardest, from their farthest: both ear lifts 1.5 m/s" in brief["link.loss"]
    for code, sentence in brief.items():
        assert len(sentence) < 260, sentence
        assert max(sentence.count(f"{word} ") for word in ("both ear lifts", "the jaw")) <= 1
        assert len(whole[code]) >= len(sentence)
    assert "both cheeks" in whole["link.loss"]
    assert "both cheeks" not in brief["link.loss"]


def test_a_creature_without_servos_has_no_link_to_lose() -> None:
    assert not told_of(load(EXAMPLES / "pip"))


def test_servos_that_hold_are_said_to_hold() -> None:
    assert "holds where it is" in told_of(linked(load(EXAMPLES / "colm"), on_loss="hold"))["link.loss"]


def startup_of(folder: Path, **changes: tuple[str, str]) -> tuple[Finding, Working]:
    text = SMALL
    for old, new in changes.values():
        assert old in text
        text = text.replace(old, new)
    found = examine(load(small_folder(folder, text)))
    return next(item for item in found.verdict.findings if item.id == "power.startup"), found.workings["power.startup"]


def test_started_one_after_another_less_is_asked_of_the_supply(tmp_path: Path) -> None:
    """The run lies under the sum of stall currents, which the working shows, and each way of starting names the other."""
    together, work = startup_of(tmp_path / "a")
    staggered, other = startup_of(tmp_path / "b", start=("on_loss: neutral", "on_loss: neutral, start: staggered"))
    read = {step.symbol: step.result for step in work.steps}
    assert 0.3 * read["I_all"] < together.has.value < read["I_all"]  # a light lid is on its way within a sample
    assert staggered.has.value < 0.6 * together.has.value
    # the finding is about the lead that comes nearest to its limit, which may be another one
    assert read["I_other"] <= staggered.has.value
    assert {step.symbol: step.result for step in other.steps}["I_other"] <= together.has.value


def test_a_regulator_that_folds_at_power_up_fails_with_the_servo_and_what_would_help(tmp_path: Path) -> None:
    found, work = startup_of(tmp_path, eyes=(
        "eyes: {fed_by: trunk, awg: 20, length: 0.4 m, regulator: {volts: 6.0 V, limit: 8 A}}",
        "eyes: {fed_by: trunk, awg: 20, length: 0.4 m, regulator: {volts: 6.0 V, limit: 1.5 A}}",
    ))  # fmt: skip
    read = {step.symbol: step.result for step in work.steps}
    assert found.grade == "fails"
    assert read["U"] < read["U_min"] == pytest.approx(4.8)
    assert "drops out" in found.sentence
    assert "one after another it would be" in found.sentence
