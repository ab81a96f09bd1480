"""A shop test typed in where the finding says, as it says it: the grade that rested on the input is decided, or rests on another."""

from __future__ import annotations

import re
from dataclasses import dataclass
from io import StringIO
from pathlib import Path
from typing import Any, Final

import pytest
from ruamel.yaml import YAML
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

MOST: Final = 6
"""Inputs that a finding may rest on, one after another, before it must be decided."""
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


def type_in(folder: Path, item: Finding) -> None:
    """Do what the test of a finding says, with the number that was expected."""
    assert item.settle is not None
    text = item.settle.test
    path = folder / "creature.yaml"
    yaml = YAML()
    data = yaml.load(path.read_text(encoding="utf-8"))
    entry = re.search(r"Under servos write `(\w+): (\{.*\})`, with your number", text)
    own = re.search(r"At servos > (\w+) write `(.*)`, with your number", text)
    plain = re.search(r"Write it at (.*), with source: measured", text)
    if entry:
        name, block = entry.group(1), YAML().load(entry.group(2))
        data.setdefault("servos", {})[name] = block
        _models(data, str(block["like"]), name)
    elif own:
        data["servos"][own.group(1)].update(YAML().load("{" + own.group(2) + "}"))
    else:
        assert plain is not None, text
        *way, last = (int(step) if step.isdigit() else step for step in plain.group(1).split(" > "))
        holder: Any = data
        for step in way:
            holder = holder[step]
        value = holder[last]
        holder[last] = {"value": value["value"] if isinstance(value, dict) else value, "source": "measured"}
    out = StringIO()
    yaml.dump(data, out)
    path.write_text(out.getvalue(), encoding="utf-8")


def _models(node: Any, model: str, becomes: str) -> None:
    if isinstance(node, dict):
        for key, value in node.items():
            if key == "model" and value == model:
                node[key] = becomes
            else:
                _models(value, model, becomes)
    elif isinstance(node, list):
        for value in node:
            _models(value, model, becomes)


@pytest.mark.parametrize("name", CASES)
def test_what_is_typed_in_where_it_is_told_takes_the_doubt_away(name: str, tmp_path: Path) -> None:
    case, cache = CASES[name], Cache()
    folder = small_folder(tmp_path / "moss", case.text)
    item = found(folder, case.finding, cache)
    assert item.grade == "undecided", (item.sentence, item.margin, item.band)
    assert item.settle is not None
    assert item.settle.input.endswith(case.input)
    assert case.test in item.settle.test
    margin, done = item.margin, []
    while item.settle is not None:
        assert item.settle.input not in done, "what is measured is settled"
        assert len(done) < MOST, done
        done.append(item.settle.input)
        type_in(folder, item)
        item = found(folder, case.finding, cache)
    assert item.grade in ("performs", "only_just", "fails")
    assert item.margin == pytest.approx(margin, rel=0.02, abs=0.02)  # the number typed in is the one that was expected


def test_a_measured_efficiency_stands_for_the_wires_own_and_not_beside_it(tmp_path: Path) -> None:
    cable = "mech: {kind: cable, pulls: both_ways, horn: 9 mm, arm: 12 mm, bends: [60 deg, 60 deg], length: 600 mm}"
    text = ear("inertia: 300 g*cm2, friction: 0.01 N*m").replace(
        "    load: {inertia: 300", f"    {cable}\n    load: {{inertia: 300"
    )
    standing = examine(load(small_folder(tmp_path / "wire", text)))
    transmission = standing.results.mechs.transmissions["ear_lift_left"]
    assert transmission.forward < 0.95  # type: ignore[union-attr]
    item = next(one for one in standing.verdict.findings if one.id == "ear_lift_left.drive")
    assert "efficiency" in settle(standing.results.creature.given, "stock:liners/ptfe/friction", item).test
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
        assert ("like:" in text) == ref.startswith("stock:servos/") or "/price" in ref, (ref, text)
        field = re.search(r"^Write it (?:at skins )?as (?:the )?`(\w+)`", text)
        if field is not None:
            kinds = next(records for word, records in holds.items() if f"{word}" in text.split("`")[2])
            assert any(field.group(1) in record.model_fields for record in kinds), (ref, text)
        section = re.search(r"at shop > (\w+)", text)
        assert section is None or section.group(1) in Shop.model_fields
        assert (
            field or section or "masses" in text or "Under servos" in text or text.startswith("No field of the file")
        ), text
