"""Every kind of remedy: proposed for a creature whose cure it is, and then as good as it promised by the public command."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Final

import pytest
from tests.verdict.conftest import SMALL
from tests.verdict.remedies.kinds import (
    BARE,
    BIG,
    CUT,
    DROOPING,
    OPEN,
    OWN,
    PULLED,
    SHEET,
    SKINS,
    Kind,
    changed,
    ear,
    jaw_of_big,
    lead,
    measured,
    measured_jaw,
    promised,
    written,
)

from marotte.creature.load import build, open_tree
from marotte.verdict.cells import Cache
from marotte.verdict.check import examine
from marotte.verdict.remedies import remedies

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
    "a smaller fuse": Kind(
        changed(SMALL, ("fuse: 10 A", "fuse: 15 A")), "power.fuse", "Put a fuse of 10 A into the lead trunk", "/supply/leads/trunk/fuse",
    ),
    "staggered start": Kind(
        changed(BARE, lead("eyes", 20, "6.0 V", "2.5 A")), "power.startup", "Let the servos come on one after another", "/supply/link/start",
    ),
    "a larger pack": Kind(changed(BARE, ("capacity: 2200 mAh", "capacity: 40 mAh")), "power.minutes", "Take a pack of", "/supply/battery/capacity"),
}  # fmt: skip


@pytest.fixture(scope="module")
def cache() -> Cache:
    return Cache()


@pytest.mark.parametrize("name", KINDS)
def test_what_is_wrong_gets_its_cure_and_the_cure_is_as_good_as_promised(
    name: str, tmp_path: Path, cache: Cache, capsys: pytest.CaptureFixture[str]
) -> None:
    promised(KINDS[name], tmp_path, cache, capsys)


def test_a_mass_in_a_remedy_has_the_tolerance_that_it_is_built_to(tmp_path: Path, cache: Cache) -> None:
    kind = KINDS["lighter part"]
    folder = written(tmp_path / "moss", kind.text)
    tree = open_tree(folder)
    standing = examine(build(tree, folder), cache)
    (lighter,) = [c for c in remedies(tree, folder, standing, kind.finding, cache) if kind.says in c.sentence]
    (edit,) = lighter.edits
    assert re.fullmatch(r"\d+ g ± 10 %", str(edit.to))
