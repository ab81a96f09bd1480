"""Every kind of remedy: proposed for a creature whose cure it is, and then as good as it promised by the public command."""

from __future__ import annotations

import json
import re
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import pytest
from tests.verdict.conftest import SMALL, small_folder

from marotte.basis.contracts.finding import Remedy
from marotte.cli.main import main
from marotte.creature.edit import apply
from marotte.creature.load import build, open_tree
from marotte.creature.tree import dump
from marotte.verdict.cells import Cache
from marotte.verdict.check import examine
from marotte.verdict.remedies import remedies

SKINS: Final = SMALL[SMALL.index("skins:\n") : SMALL.index("servos:\n")]
JAW: Final = SMALL[SMALL.index("    mech: {kind: four_bar, horn: 14 mm") : SMALL.index("  lid_upper:\n")]
EAR: Final = SMALL[SMALL.index("    means: {kind: servo, model: mini, lead: eyes}\n") : SMALL.index("mechs:\n")]
OWN: Final = SMALL[SMALL.index("  jaw_servo:\n") : SMALL.index("supply:\n")]
BIG: Final = """\
  big: {like: quarter_scale, mass: {value: 160 g, source: measured}, derate: {value: 50 %, source: measured}, points: [
    {at: 6.0 V, stall: 3.0 N*m, free: 0.19 s/60deg, stall_current: 5 A, source: measured},
    {at: 7.4 V, stall: 3.6 N*m, free: 0.16 s/60deg, stall_current: 6 A, source: measured}]}
"""
SHEET: Final = """\
  jaw_servo: {like: standard, derate: {value: 50 %, source: measured}, points: [
    {at: 5.0 V, stall: 0.9 N*m, free: 0.18 s/60deg, stall_current: 2.0 A, source: measured},
    {at: 6.0 V, stall: 1.1 N*m, free: 0.15 s/60deg, stall_current: 2.4 A, source: measured},
    {at: 7.4 V, stall: 1.3 N*m, free: 0.12 s/60deg, stall_current: 2.9 A, source: measured}]}
"""
PULLED: Final = "skins:\n  chin: {curve: chin.csv, source: measured, holds: {jaw: 70 mm/rad}}\n"
CURVE: Final = "stretch [mm],force [N]\n0,0\n7,2.6\n14,6\n28,14\n"


def measured(written: str) -> str:
    return f"{{value: {written}, source: measured}}"


def changed(text: str, *pairs: tuple[str, str]) -> str:
    for written, becomes in pairs:
        assert written in text, written
        text = text.replace(written, becomes)
    return text


def lead(name: str, awg: int, volts: str, limit: str) -> tuple[str, str]:
    """Return the change of one lead of the small creature."""
    return (
        f"    {name}: {{fed_by: trunk, awg: 20, length: 0.4 m, regulator: {{volts: 6.0 V, limit: 8 A}}}}",
        f"    {name}: {{fed_by: trunk, awg: {awg}, length: 0.4 m, regulator: {{volts: {volts}, limit: {measured(limit)}}}}}",
    )


BARE: Final = changed(SMALL, (SKINS, ""), ("mass: 160 g, centre", "mass: 60 g, centre"))
"""The small creature without a skin, its jaw light: nothing of it fails."""
JAW_BARE: Final = JAW.replace("160 g", "60 g")
DROOPING: Final = f"mass: {measured('120 g')}, centre: [0 mm, 40 mm, 120 mm], friction: {measured('0.005 N*m')}"
OPEN: Final = ("sculpted_at: {jaw: 0 deg}", "sculpted_at: {jaw: 6 deg}")
CUT: Final = ("skull: 230 g", f"skull: {measured('230 g')}")


def jaw_of_big(inertia: float, friction: float, *pairs: tuple[str, str]) -> str:
    """Return a creature with the strongest servo of the stock straight on its jaw, on the highest voltage of its sheet."""
    load = f"    load: {{inertia: {inertia} g*cm2, friction: {measured(f'{friction} N*m')}}}\n"
    return changed(
        BARE, (JAW_BARE, load), ("model: jaw_servo", "model: big"), ("servos:\n", f"servos:\n{BIG}"), lead("face", 12, "7.4 V", "20 A"),
        *pairs,
    )  # fmt: skip


def ear(means: str, load: str) -> tuple[str, str]:
    return EAR, f"    means: {{kind: servo, model: {means}, lead: eyes}}\n    load: {{{load}}}\n"


def measured_jaw(mass: str, *pairs: tuple[str, str]) -> str:
    return changed(
        BARE, ("mass: 60 g, centre", f"mass: {measured(mass)}, centre"), ("55 mm], friction: 0.01 N*m", f"55 mm], friction: {measured('0.01 N*m')}"),
        (OWN, SHEET), *pairs,
    )  # fmt: skip


@dataclass(frozen=True)
class Kind:
    """A creature, the finding that is wrong with it, and what must be proposed."""

    text: str
    finding: str
    says: str
    writes: str
    """A path that the remedy writes."""


KINDS: Final = {
    "re-clocking": Kind(
        changed(SMALL, ("ground: 39 mm, branch: open, arm_at_neutral: 73 deg", "ground: 39 mm, branch: open, arm_at_neutral: 104 deg")),
        "lid_upper_left.mech", "Re-clock the upper lid by", "/functions/lid_upper/mech/arm_at_neutral",
    ),
    "lengths": Kind(
        measured_jaw("190 g", ("horn: 14 mm, rod: 62 mm, arm: 22 mm", "horn: 11 mm, rod: 62 mm, arm: 22 mm")),
        "jaw.drive", "Lengthen the horn of the jaw, 11 mm -> ", "/functions/jaw/mech/horn",
    ),
    "servo class": Kind(
        changed(BARE, ear("micro", f"inertia: 1800 g*cm2, friction: {measured('0.12 N*m')}")),
        "ear_lift_left.drive", "Put a low profile servo", "/functions/ear_lift/means/model",
    ),
    "voltage": Kind(
        measured_jaw("260 g", lead("face", 20, "5.0 V", "20 A")),
        "jaw.drive", "Turn the regulator of the lead face up from 5 V to", "/supply/leads/face/regulator/volts",
    ),
    "skin: sculpt it open": Kind(
        changed(SMALL, (SKINS, PULLED.replace("holds", "sculpted_at: {jaw: 0 deg}, holds")), (OWN, SHEET)),
        "jaw.drive", "culpt the chin skin with the jaw at", "/skins/chin/sculpted_at/jaw",
    ),
    "skin: sculpt it open where no pose is written": Kind(
        changed(
            SMALL, (SKINS, PULLED), (OWN, SHEET), ("neutral: 3 deg", "neutral: 0 deg")
        ),
        "jaw.drive", "culpt the chin skin with the jaw at", "/skins/chin/sculpted_at",
    ),
    "skin: thin it": Kind(
        changed(SMALL, ("thickness: 4 mm", "thickness: 2.5 mm"), OPEN, ("backing: none", "backing: net"), (OWN, SHEET)),
        "jaw.drive", "Thin the chin skin from 2.5 mm to", "/skins/chin/strip/thickness",
    ),
    "skin: relieve it": Kind(SMALL, "jaw.drive", "Crease or slit the chin skin over", "/skins/chin/strip/relief"),
    "skin: change the backing": Kind(
        changed(SMALL, ("thickness: 4 mm", "thickness: 1.5 mm"), OPEN, ("backing: none", "backing: woven")),
        "jaw.drive", "Cast the chin skin with backing", "/skins/chin/strip/backing",
    ),
    "remote drive through a cable": Kind(
        changed(
            BARE, ear("big", "mass: {value: 20 g, source: measured}, centre: [0 mm, 80 mm, 0 mm], friction: {value: 0.005 N*m, source: measured}"),
            ("head_mass: 1.2 kg", "head_mass: 860 g"), CUT, ("servos:\n", f"servos:\n{BIG}"),
        ),
        "mass.skull", "Drive the ear lift from the post through a cable", "/functions/ear_lift/means/carried_by",
    ),
    "balance spring": Kind(
        changed(BARE, ear("mini", DROOPING)),
        "ear_lift_left.drive", "Hang a long soft balance spring on the ear lift", "/functions/ear_lift/load/spring",
    ),
    "second servo": Kind(jaw_of_big(2000, 0.9), "jaw.drive", "Put a second big servo on the jaw", "/functions/jaw/means/count"),
    "lighter part": Kind(
        changed(BARE, ear("mini", DROOPING)),
        "ear_lift_left.drive", "Make the moving part of the ear lift lighter, 120 g -> ", "/functions/ear_lift/load/mass",
    ),
    "slower mood": Kind(
        changed(
            BARE, ear("big", "inertia: 100 g*cm2, spring: {rate: {value: 3.6 N*m/rad, source: measured}, slack_at: 0 deg}"),
            ("ear_lift: -40 %", "ear_lift: 60 %"), ("servos:\n", f"servos:\n{BIG}"), lead("eyes", 12, "7.4 V", "20 A"),
        ),
        "ear_lift_left.drive", "Let the ear lift go 75 % as far in its moods", "/poses/moods/wary/ear_lift",
    ),
    "fewer hits": Kind(
        jaw_of_big(2000, 0.5, ("speech: hits", "speech: hits\n  pace: {syllables: 7 /s}")),
        "speech.hits", "Play the mouth as flap instead of hits", "/brief/speech",
    ),
    "slower pace": Kind(
        jaw_of_big(60000, 0.02, ("speech: hits", "speech: hits\n  pace: {syllables: 8 /s}"), ("22 deg]\n    neutral: 3", "40 deg]\n    neutral: 3")),
        "speech.hits", "Speak slower, 8 -> ", "/brief/pace/syllables",
    ),
    "boards out of the head": Kind(
        changed(BARE, ("head_mass: 1.2 kg", "head_mass: 740 g"), CUT, ("masses: {", f"masses: {{boards: {measured('120 g')}, ")),
        "mass.skull", "Carry boards (120 g) at the post", "/masses/boards",
    ),
    "thicker wire": Kind(
        changed(SMALL, lead("face", 30, "6.0 V", "8 A")), "power.wire", "Wire the lead face with AWG", "/supply/leads/face/awg",
    ),
    "staggered start": Kind(
        changed(BARE, lead("eyes", 20, "6.0 V", "2.5 A")), "power.startup", "Let the servos come on one after another", "/supply/link/start",
    ),
    "a larger pack": Kind(changed(BARE, ("capacity: 2200 mAh", "capacity: 40 mAh")), "power.minutes", "Take a pack of", "/supply/battery/capacity"),
}  # fmt: skip


@pytest.fixture(scope="module")
def cache() -> Cache:
    return Cache()


def written(folder: Path, text: str) -> Path:
    small_folder(folder, text)
    (folder / "chin.csv").write_text(CURVE, encoding="utf-8")
    return folder


def checked(folder: Path, capsys: pytest.CaptureFixture[str]) -> dict[str, Any]:
    """Return what the public command says of a folder, findings by id."""
    main(["check", str(folder), "--json"])
    said = json.loads(capsys.readouterr().out)
    return {finding["id"]: finding for finding in said["findings"]}


@pytest.mark.parametrize("name", KINDS)
def test_what_is_wrong_gets_its_cure_and_the_cure_is_as_good_as_promised(
    name: str, tmp_path: Path, cache: Cache, capsys: pytest.CaptureFixture[str]
) -> None:
    kind = KINDS[name]
    folder = written(tmp_path / "moss", kind.text)
    tree = open_tree(folder)
    standing = examine(build(tree, folder), cache)
    cures = remedies(tree, folder, standing, kind.finding, cache)
    fitting = [
        cure for cure in cures if kind.says in cure.sentence and kind.writes in {edit.path for edit in cure.edits}
    ]
    assert fitting, [cure.sentence for cure in cures] or [
        item.id for item in standing.verdict.findings if item.grade == "fails"
    ]
    cure = fitting[0]
    then = checked(_with(cure, kind, tmp_path / "copy"), capsys)
    after = then[kind.finding]
    assert (after["grade"], after["margin"]) == (cure.grade, cure.after)
    assert after["grade"] in ("performs", "only_just", "undecided")
    fell = {
        item.id for item in standing.verdict.findings
        if item.id in then and item.id != kind.finding and _fell(item.grade, then[item.id]["grade"])
    }  # fmt: skip
    assert fell <= {text.split(": ")[0] for text in cure.worsens}, "a finding that falls a grade is told"
    assert not any(then[one]["grade"] == "fails" for one in fell)


def _with(cure: Remedy, kind: Kind, folder: Path) -> Path:
    tree = open_tree(written(folder, kind.text))
    apply(tree, cure.edits)
    (folder / "creature.yaml").write_text(dump(tree), encoding="utf-8")
    return folder


def _fell(before: str, after: str) -> bool:
    rank = {"performs": 0, "only_just": 1, "undecided": 2, "not_applicable": 2, "unknown": 3, "fails": 3}
    return rank[after] > rank[before]


def test_a_mass_in_a_remedy_has_the_tolerance_that_it_is_built_to(tmp_path: Path, cache: Cache) -> None:
    kind = KINDS["lighter part"]
    folder = written(tmp_path / "moss", kind.text)
    tree = open_tree(folder)
    standing = examine(build(tree, folder), cache)
    (lighter,) = [c for c in remedies(tree, folder, standing, kind.finding, cache) if kind.says in c.sentence]
    (edit,) = lighter.edits
    assert re.fullmatch(r"\d+ g ± 10 %", str(edit.to))
