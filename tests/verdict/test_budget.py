"""Cost and hours: sums that a person can redo, against what is remembered of heads like this one."""

from __future__ import annotations

import shutil
from dataclasses import replace
from pathlib import Path

import pytest
from tests.verdict.conftest import SMALL, small_folder

from marotte.basis.contracts.common import Quantity, Unknown
from marotte.basis.contracts.finding import Finding
from marotte.basis.faults import BadInput
from marotte.creature.creature import Creature
from marotte.creature.load import build, load, open_tree
from marotte.verdict.cells import Cache
from marotte.verdict.check import examine, explain
from marotte.verdict.judge import judged
from marotte.verdict.ledger import Ledgers
from marotte.verdict.remedies import remedies
from marotte.verdict.requirements.budget import COST, HOURS, budget_of

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"


@pytest.fixture(scope="module")
def tansy() -> Creature:
    return load(EXAMPLES / "tansy")


def found(creature: Creature, name: str) -> Finding:
    return explain(creature, name)[0]


def has(finding: Finding) -> float:
    assert isinstance(finding.has, Quantity)
    return finding.has.value


def test_a_hero_head_comes_to_the_hours_that_are_remembered_for_one(tansy: Creature) -> None:
    """400 to 900 hours for some 26 servo functions, 80 to 200 of them hair: from memory, and what the stock is made for."""
    finding, working = explain(tansy, "limits.hours")
    assert 400 < has(finding) < 900
    assert working.steps[-1].result == pytest.approx(has(finding))
    assert finding.worst_source == "guess"


def test_cost_is_the_sum_of_the_prices(tansy: Creature) -> None:
    """By hand: servos by class, 2 ball links a rod (4 a gimbal or bell-crank), skin by the kilogram."""
    stock = tansy.stock_tables
    price = {name: stock.servos[name].price or 0.0 for name in stock.servos}
    servos = price["standard"] + 9 * price["mini"] + 2 * price["mini"] + 6 * price["mini_fast"] + 8 * price["micro"]
    rods = 1 + 1 + 2 + 2 + 2  # jaw, lower lip, ears, upper lids, lower lids
    balls = 2 * rods + 2 + 4 * 7 + 4 * 2  # and the cheeks' bar, bell-cranks at nose, corners and brows, two gimbals
    kilos = 0.203  # the whole face skin, as masses weighs it: its strips are 27 g of it
    wanted = (
        servos + balls * (stock.joints["ball_link"].price or 0.0) + kilos * (stock.skins["silicone_00_50"].price or 0.0)
    )
    assert has(found(tansy, "limits.cost")) == pytest.approx(wanted, rel=1e-9)


def test_a_price_in_the_file_wins_and_one_that_is_missing_is_asked_for(tansy: Creature) -> None:
    dear = tansy.servos["jaw_servo"].model_copy(update={"price": 235.0})
    costs = has(found(replace(tansy, servos={**tansy.servos, "jaw_servo": dear}), "limits.cost"))
    assert costs - has(found(tansy, "limits.cost")) == pytest.approx(200.0)
    none = tansy.servos["jaw_servo"].model_copy(update={"price": None})
    finding = found(replace(tansy, servos={**tansy.servos, "jaw_servo": none}), "limits.cost")
    assert finding.grade == "unknown"
    assert isinstance(finding.has, Unknown)
    assert "jaw_servo" in finding.has.why


def test_without_a_limit_or_a_price_nothing_is_claimed() -> None:
    pip = load(EXAMPLES / "pip")
    assert found(pip, "limits.cost").grade == "not_applicable"
    free = replace(pip, limits=pip.limits.model_copy(update={"hours": None}))
    assert found(free, "limits.hours").grade == "not_applicable"


SHOP = """
shop:
  prices: {ball_link: 9 EUR, mini: 31 EUR, silicone_00_50: 60 EUR}
  hours: {hair: 200 h, skin: 5 h}
"""


def test_a_shops_own_prices_and_hours_win_and_a_misspelt_one_is_refused(tansy: Creature, tmp_path: Path) -> None:
    """By hand: only the lines that the shop prices differ, each by its count times the difference."""
    folder = tmp_path / "tansy"
    shutil.copytree(EXAMPLES / "tansy", folder)
    path = folder / "creature.yaml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text + SHOP, encoding="utf-8")
    own = load(folder)
    stock = tansy.stock_tables
    hours = has(found(own, "limits.hours")) - has(found(tansy, "limits.hours"))
    assert hours == pytest.approx(200 - stock.hours["hair"].hours + 5 - stock.hours["skin"].hours)  # one casting
    finding, working = explain(own, "limits.cost")
    lines = {step.source: step.result for step in working.steps if step.source.startswith("/shop/prices/")}
    assert lines == {"/shop/prices/ball_link": 9.0, "/shop/prices/mini": 31.0, "/shop/prices/silicone_00_50": 60.0}
    assert working.steps[-1].result == pytest.approx(has(finding))
    path.write_text(text + SHOP.replace("hair:", "hairs:"), encoding="utf-8")
    with pytest.raises(BadInput) as refused:
        load(folder)
    (fault,) = refused.value.faults
    assert (fault.code, fault.try_, fault.place is not None) == ("no_such", "hair", True)


def test_what_leaves_hours_undecided_is_typed_in_at_the_shop(tansy: Creature, tmp_path: Path) -> None:
    now = has(found(tansy, "limits.hours"))
    near = replace(tansy, limits=tansy.limits.model_copy(update={"hours": 1.02 * now}))
    finding = found(near, "limits.hours")
    assert finding.grade == "undecided"
    (test,) = finding.settle
    assert "Write them at shop > hours, in place of these: `" in test.test


def test_a_brief_that_is_too_dear_is_offered_cheaper_servos_that_do_not_fail(tmp_path: Path) -> None:
    text = SMALL.replace("limits: {", "limits: {cost: 330 EUR, ").replace(
        "travel: [0 deg, 62 deg]", "travel: [0 deg, 40 deg]"
    )
    folder = small_folder(tmp_path / "moss", text)
    tree, cache = open_tree(folder), Cache()
    standing = examine(build(tree, folder), cache)
    dear = next(item for item in standing.verdict.findings if item.id == "limits.cost")
    assert dear.grade in ("fails", "undecided", "only_just"), dear.sentence
    cures = remedies(tree, folder, standing, "limits.cost", cache)
    assert cures
    assert cures[0].sentence.startswith("Take mini servos in place of 6 x mini fast, 120 EUR less")
    assert not any(text.endswith("-> fails") for text in cures[0].worsens)


def test_a_skin_that_nothing_weighs_is_priced_by_its_strip_and_cast_by_itself(tansy: Creature) -> None:
    """By hand: without the entry each of the seven cards is a casting, and their strips are all that is priced."""
    masses = {name: entry for name, entry in tansy.masses.items() if name != "face_skin"}
    bare = replace(tansy, masses=masses)
    stuff = tansy.stock_tables.skins["silicone_00_50"]
    strips = [skin.strip for skin in tansy.skins.values() if skin.strip is not None]
    kilos = sum(s.thickness * s.width * s.length for s in strips) * stuff.density
    costs = has(found(tansy, "limits.cost")) - has(found(bare, "limits.cost"))
    assert costs == pytest.approx((0.203 - kilos) * (stuff.price or 0.0))
    hours = has(found(bare, "limits.hours")) - has(found(tansy, "limits.hours"))
    assert hours == pytest.approx(6 * tansy.stock_tables.hours["skin"].hours)


def test_one_weight_of_two_materials_is_shared_by_their_strips() -> None:
    """By hand: 220 g of muzzle skin at 60 EUR and 40 EUR a kilogram, by 10.08 g of stretch fur and 16.8 g of foam latex."""
    colm = load(EXAMPLES / "colm")
    fur = 0.120 * 0.120 * 0.002 * 350
    latex = (0.070 * 0.060 + 2 * 0.050 * 0.070) * 0.006 * 250
    finding, working = explain(colm, "limits.cost")
    costs = [step.result for step in working.steps if step.symbol.startswith("c_k")]
    assert costs == pytest.approx([0.220 * 60 * fur / (fur + latex), 0.220 * 40 * latex / (fur + latex)])
    assert working.steps[-1].result == pytest.approx(has(finding))


def test_what_has_no_price_is_named_by_what_the_creature_has(tansy: Creature) -> None:
    assert (
        "boards, wire, prints, eyes, moulds, supply, fur, hair and paint have none"
        in found(tansy, "limits.cost").sentence
    )
    bare = replace(tansy, skins={}, supply=None)
    assert "boards, wire, prints, eyes, fur, hair and paint have none" in found(bare, "limits.cost").sentence


@pytest.mark.parametrize(
    ("field", "clause"),
    [
        ("cost", "the cost rests on a typical price of one mini"),
        ("hours", "the hours rest on guessed hours for a servo with its bracket"),
    ],
)
def test_what_a_limit_rests_on_is_said_as_people_say_it(tansy: Creature, field: str, clause: str) -> None:
    now = has(found(tansy, f"limits.{field}"))
    near = replace(tansy, limits=tansy.limits.model_copy(update={field: 1.01 * now}))
    requirement, ledgers = {"cost": COST, "hours": HOURS}[field], Ledgers({**near.stock_tables.given, **near.given})
    item = judged(Cache(), requirement, "limits", budget_of(near, field), ledgers)
    assert item.finding.grade == "undecided"
    assert item.clause.startswith(clause)
