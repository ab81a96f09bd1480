"""Packs for the day; power on, link lost, power cut."""

from __future__ import annotations

import re
import shutil
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from tests.verdict.conftest import SMALL, small_folder

from marotte.basis.contracts.common import Unknown
from marotte.basis.contracts.finding import Finding, Working
from marotte.creature.creature import Creature
from marotte.creature.load import load
from marotte.creature.schema.audience import Limits, Show
from marotte.creature.schema.supply import Cells
from marotte.verdict.cautions import cautions
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
    """With power the lids go to the failsafe place that is written, the rest to neutral; without it, a skin pulls the brows
    down and what stands on its servo's gears stays where it is cut."""
    creature = load(EXAMPLES / "colm")
    told = told_of(creature)
    assert "eyes (both upper lids 28 deg)" in told["link.loss"]
    assert "jaw" in told["link.loss"].split("to 0:")[1]
    assert "but for both upper lids (28 deg)" in told_of(creature, more=False)["link.loss"]
    assert re.search(r"both brows from 4\.\d mm to -7\.\d mm", told["power.cut"])
    assert "what else servos move stays where it is cut" in told["power.cut"]
    assert set(told) == {"link.loss", "power.cut"}


def test_a_failsafe_place_is_where_the_servo_takes_its_part_when_the_signal_is_lost() -> None:
    """Within what dead band and friction leave: two degrees of a lid."""
    results = Results(load(EXAMPLES / "colm"), Cache())
    assert np.degrees(results.upsets.lost["lid_upper_left"].end) == pytest.approx(28.0, abs=2.0)
    assert np.degrees(results.upsets.lost["jaw"].end) == pytest.approx(0.0, abs=0.5)


def test_a_signal_that_cuts_the_power_is_told_as_the_power_cut_and_as_nothing_else() -> None:
    creature = linked(load(EXAMPLES / "colm"), on_loss="power_off")
    told = told_of(creature)
    assert (
        told["link.loss"] == "link lost: every servo loses power, and its part does what it does when the power is cut"
    )
    results = Results(creature, Cache())
    assert results.upsets.lost == results.upsets.cut


def test_a_power_off_that_the_run_contradicts_is_a_caution_that_says_what_stays_and_what_moves(tmp_path: Path) -> None:
    """The lids' gears hold them where they are cut, and a balanced jaw hangs open: neither is where this file has them fall."""
    shutil.copytree(EXAMPLES / "colm", tmp_path / "colm")
    file = tmp_path / "colm" / "creature.yaml"
    text = file.read_text(encoding="utf-8")
    for old, new in (("failsafe: 28 deg", "power_off: 30 deg"), ("part: jaw\n", "part: jaw\n    power_off: 0 deg\n")):
        assert text.count(old) == 1
        text = text.replace(old, new)
    file.write_text(text, encoding="utf-8")
    creature = load(tmp_path / "colm")
    results = Results(creature, Cache())
    found = {item.id: item for item in cautions(creature, results)}["power_off"]
    assert "both upper lids stay where they are cut, in the part at up to 55 deg, and not at 30 deg" in found.sentence
    jaw = np.degrees(results.upsets.cut["jaw"].end)
    assert f"the jaw comes to rest at {jaw:.0f} deg, not 0 deg" in found.sentence
    assert found.about == "jaw, both upper lids"
    assert not any("power_off" in item.sentence for item in results.told)


@pytest.mark.parametrize("name", ["tansy", "colm"])
def test_no_example_says_of_power_off_what_its_own_run_contradicts(name: str) -> None:
    creature = load(EXAMPLES / name)
    assert "power_off" not in {item.id for item in cautions(creature, Results(creature, Cache()))}


def test_a_jaw_that_gapes_short_falls_from_where_it_gets_to() -> None:
    """The headline says that she gapes to 15 of 22 deg: no caution has her jaw at the 20 deg that are asked of it."""
    creature = load(EXAMPLES / "tansy")
    results = Results(creature, Cache())
    gapes = round(np.degrees(results.reach["jaw"][1]))
    falls = {item.id: item for item in cautions(creature, results)}["falls"]
    assert gapes == 15
    assert f"the jaw from {gapes} deg to 0 deg" in falls.sentence
    assert f"the jaw from {gapes} deg to 0 deg" in told_of(creature)["power.cut"]


def test_without_a_part_nothing_gets_farther_than_its_servo_can_hold_it() -> None:
    creature = load(EXAMPLES / "tansy")
    silent = replace(creature, brief=creature.brief.model_copy(update={"cue": "NOBODY"}))
    results = Results(silent, Cache())
    assert isinstance(results.demand, Unknown)
    assert results.upsets.cut["jaw"].start == pytest.approx(results.reach["jaw"][1], rel=1e-3)  # as the table has it
    assert abs(results.upsets.cut["nose"].start) == pytest.approx(3e-3)


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
