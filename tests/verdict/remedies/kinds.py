"""A creature with something wrong, its cure, and the cure held to its promise by the public command."""

from __future__ import annotations

import json
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


def written(folder: Path, text: str) -> Path:
    small_folder(folder, text)
    (folder / "chin.csv").write_text(CURVE, encoding="utf-8")
    return folder


def checked(folder: Path, capsys: pytest.CaptureFixture[str]) -> dict[str, Any]:
    """Return what the public command says of a folder, findings by id."""
    main(["check", str(folder), "--json"])
    said = json.loads(capsys.readouterr().out)
    return {finding["id"]: finding for finding in said["findings"]}


def promised(kind: Kind, tmp_path: Path, cache: Cache, capsys: pytest.CaptureFixture[str]) -> Remedy:
    """Return the remedy of a kind, after the public command has said of a copy with it what it promised."""
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
    return cure


def _with(cure: Remedy, kind: Kind, folder: Path) -> Path:
    tree = open_tree(written(folder, kind.text))
    apply(tree, cure.edits)
    (folder / "creature.yaml").write_text(dump(tree), encoding="utf-8")
    return folder


def _fell(before: str, after: str) -> bool:
    rank = {"performs": 0, "only_just": 1, "undecided": 2, "not_applicable": 2, "unknown": 3, "fails": 3}
    return rank[after] > rank[before]
