"""A shop test typed in where the finding says, as it says it: the grade is decided."""

from __future__ import annotations

import re
import shutil
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import pytest
from tests.verdict.bench import carry_out
from tests.verdict.conftest import SMALL, small_folder

from marotte.basis.contracts.finding import Finding
from marotte.creature.load import load
from marotte.creature.schema.audience import Shop
from marotte.creature.schema.base import Record
from marotte.creature.schema.mechs import BallRod, Cable, FourBar
from marotte.creature.schema.people import Control
from marotte.creature.schema.skins import SkinCard
from marotte.creature.shelf import LATEST, shelf
from marotte.verdict.cells import Cache
from marotte.verdict.check import examine
from marotte.verdict.settle import settle
from marotte.verdict.typed import where_to_write

EXAMPLE_FOLDER: Final = Path(__file__).parents[2] / "examples"
OWN: Final = SMALL[SMALL.index("  jaw_servo:\n") : SMALL.index("supply:\n")]
SKINS: Final = SMALL[SMALL.index("skins:\n") : SMALL.index("servos:\n")]
EAR: Final = SMALL[SMALL.index("    means: {kind: servo, model: mini, lead: eyes}\n") : SMALL.index("mechs:\n")]
BARE: Final = SMALL.replace(SKINS, "").replace("mass: 160 g, centre", "mass: 60 g, centre")


def ear(load_: str, model: str = "mini") -> str:
    return BARE.replace(EAR, f"    means: {{kind: servo, model: {model}, lead: eyes}}\n    load: {{{load_}}}\n")


def measured(written: str) -> str:
    return f"{{value: {written}, source: measured}}"


@dataclass(frozen=True)
class Undecided:
    """A creature, its undecided finding, the end of the input's ref, and words of the test."""

    text: str
    finding: str
    input: str
    test: str


CASES: Final = {
    "moving mass": Undecided(
        BARE.replace("mass: 60 g, centre", "mass: 330 g, centre"), "jaw.drive", "/functions/jaw/load/mass", "kitchen scale",
    ),
    "friction": Undecided(ear("inertia: 1800 g*cm2, friction: 0.06 N*m", "micro"), "ear_lift_left.drive", "/load/friction", "luggage scale"),
    "inertia": Undecided(
        ear(f"inertia: 220000 g*cm2, friction: {measured('0.002 N*m')}"), "ear_lift_left.drive", "/load/inertia", "two threads",
    ),
    "spring": Undecided(
        ear(f"inertia: 90 g*cm2, friction: {measured('0.002 N*m')}, spring: {{rate: 0.8 N*m/rad, slack_at: 0 deg}}"),
        "ear_lift_left.drive", "/spring/rate", "at two positions",
    ),
    "a servo's torque": Undecided(
        ear(f"mass: {measured('120 g')}, centre: [0 mm, 40 mm, 120 mm], friction: {measured('0.005 N*m')}"),
        "ear_lift_left.drive", "/points/0/stall", "press on a kitchen scale",
    ),
    "a servo's speed": Undecided(
        BARE.replace("travel: [0 deg, 62 deg]", "travel: [0 deg, 78 deg]"),
        "lid_upper_left.drive", "/points/0/free", "240 frames",
    ),
    "a servo's mass": Undecided(
        BARE.replace("head_mass: 1.2 kg", "head_mass: 655 g").replace("skull: 230 g", f"skull: {measured('230 g')}"),
        "mass.skull", "/mass", "kitchen scale",
    ),
    "an entry's mass": Undecided(BARE.replace("head_mass: 1.2 kg", "head_mass: 690 g"), "mass.skull", "/masses/skull", "kitchen scale"),
    "capacity": Undecided(BARE.replace("capacity: 2200 mAh", "capacity: 160 mAh"), "power.minutes", "/supply/battery/capacity", "from the charger"),
}  # fmt: skip


def found(folder: Path, name: str, cache: Cache) -> Finding:
    return next(item for item in examine(load(folder), cache).verdict.findings if item.id == name)


@pytest.mark.parametrize("name", CASES)
def test_what_is_typed_in_where_it_is_told_takes_the_doubt_away(name: str, tmp_path: Path) -> None:
    case, cache = CASES[name], Cache()
    folder = small_folder(tmp_path / "moss", case.text)
    item = found(folder, case.finding, cache)
    assert item.grade == "undecided", (item.sentence, item.margin, item.band)
    assert item.settle[0].inputs[0].endswith(case.input)
    assert case.test in item.settle[0].test
    margin = item.margin
    carry_out(folder, item)
    item = found(folder, case.finding, cache)
    assert item.grade in ("performs", "only_just", "fails"), item.sentence
    assert item.margin == pytest.approx(margin, rel=0.02, abs=0.02)  # the number typed in is the one that was expected


EXAMPLE_CASES: Final = {
    "colm": ("jaw.drive", ()),
    "tansy": ("ear_lift_right.drive", ()),
    "tansy, its cost": ("limits.cost", (("cost: 6000 EUR", "cost: 800 EUR"),)),
    "tansy, its hours": ("limits.hours", (("hours: 900 h", "hours: 600 h"),)),
}


@pytest.mark.parametrize("name", EXAMPLE_CASES)
def test_all_tests_of_an_example_carried_out_in_one_go_settle_it(name: str, tmp_path: Path) -> None:
    """One after another they leave it open: a throat measured alone rests on the free speed, a torque alone on friction."""
    finding, changes = EXAMPLE_CASES[name]
    folder = tmp_path / "example"
    shutil.copytree(EXAMPLE_FOLDER / name.partition(",")[0], folder)
    text = (folder / "creature.yaml").read_text(encoding="utf-8")
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    (folder / "creature.yaml").write_text(text, encoding="utf-8")
    cache = Cache()
    before = examine(load(folder), cache)
    item = next(one for one in before.verdict.findings if one.id == finding)
    assert item.grade == "undecided", item.sentence
    carry_out(folder, item, before.results.mechs.skins)
    after = found(folder, finding, cache)
    assert after.grade in ("performs", "only_just", "fails"), after.sentence
    assert after.margin == pytest.approx(item.margin, rel=0.02, abs=0.03)


def test_a_measured_efficiency_stands_for_the_wires_own_and_not_beside_it(tmp_path: Path) -> None:
    cable = "mech: {kind: cable, pulls: both_ways, horn: 9 mm, arm: 12 mm, bends: [60 deg, 60 deg], length: 600 mm}"
    text = ear("inertia: 300 g*cm2, friction: 0.01 N*m").replace(
        "    load: {inertia: 300", f"    {cable}\n    load: {{inertia: 300"
    )
    standing = examine(load(small_folder(tmp_path / "wire", text)))
    transmission = standing.results.mechs.transmissions["ear_lift_left"]
    assert transmission.forward < 0.95  # type: ignore[union-attr]
    item = next(one for one in standing.verdict.findings if one.id == "ear_lift_left.drive")
    (test,) = settle(standing.results.creature.given, ["stock:liners/ptfe/friction"], item)
    assert "efficiency" in test.test
    typed = text.replace(
        "length: 600 mm}", f"length: 600 mm, efficiency: {{value: {transmission.forward:.6f}, source: measured}}}}"
    )  # type: ignore[union-attr]
    after = examine(load(small_folder(tmp_path / "typed", typed)))
    then = next(one for one in after.verdict.findings if one.id == "ear_lift_left.drive")
    assert after.results.mechs.transmissions["ear_lift_left"].forward == pytest.approx(transmission.forward, rel=1e-5)  # type: ignore[union-attr]
    assert then.margin == pytest.approx(item.margin, rel=1e-3)
    assert not any(ref.startswith("stock:liners/") for ref in (step.source for step in after.workings[then.id].steps))


@pytest.mark.parametrize(
    ("ref", "field"),
    [
        ("stock:joints/ball_link/slop", "`slop` of the rod"),
        ("stock:servos/mini/mass", "`my_mini: {like: mini, mass: {value: ..., source: measured}}`"),
        ("stock:liners/ptfe/bore", "`bore` in the mech"),
        ("stock:controls/finger_trigger/travel", "`travel` of that control"),
        ("stock:skins/silicone_00_50/modulus", "`curve` of that skin"),
        ("stock:joints/ball_link/price", "shop > prices > ball_link"),
        ("stock:servos/mini/price", "shop > prices > mini"),
        ("/functions/jaw/load/mass", "functions > jaw > load > mass"),
    ],
)
def test_every_input_has_a_field_to_type_its_number_into(ref: str, field: str) -> None:
    assert field in where_to_write(ref)


def test_no_number_of_the_stock_is_sent_to_a_field_that_the_file_does_not_have() -> None:
    """Every value of the stock, against the schema: only servos can be `like` one, other fields are there, or it is said that none is."""
    holds: dict[str, tuple[type[Record], ...]] = {
        "mech": (Cable, BallRod, FourBar), "control": (Control,), "skin": (SkinCard,), "file": (Shop,),
    }  # fmt: skip
    for ref in shelf(LATEST).given:
        text = where_to_write(ref)
        assert ("like:" in text) == (ref.startswith("stock:servos/") and "/price" not in ref), (ref, text)
        field = re.search(r"^Write it (?:at skins )?as (?:the )?`(\w+)`", text)
        if field is not None:
            kinds = next(records for word, records in holds.items() if f"{word}" in text.split("`")[2])
            assert any(field.group(1) in record.model_fields for record in kinds), (ref, text)
        section = re.search(r"at shop > (\w+)", text)
        assert section is None or section.group(1) in Shop.model_fields
        assert (
            field or section or "masses" in text or "Under servos" in text or text.startswith("No field of the file")
        ), text
