"""``marotte why FOLDER FINDING``: how one number came about."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from pathlib import Path
from typing import TYPE_CHECKING

from marotte.cli.screen import Screen

if TYPE_CHECKING:
    from collections.abc import Mapping

    from marotte.basis.contracts.finding import Step
    from marotte.basis.given import Given, Ref

HELP = "show the working of one finding, step by step, to redo by hand"


def arguments(parser: ArgumentParser) -> None:
    """Declare the arguments."""
    parser.add_argument("folder", metavar="FOLDER", type=Path, help="the creature folder")
    parser.add_argument("finding", metavar="FINDING", help="its name, as check prints it: jaw.drive")


def run(args: Namespace, screen: Screen) -> int:
    """Print a finding with its working."""
    from marotte.creature.load import load

    creature = load(args.folder)
    with screen.progress(f"Checking {creature.name}"):
        from marotte.verdict.check import explain

        finding, working = explain(creature, args.finding)
    from marotte.cli.grades import graded, margin, sides

    screen.say(f"{finding.id}: {graded(finding.grade, screen)}", style="bold")
    screen.say(finding.sentence)
    needed, has = sides(finding, screen)
    said = (
        f"needs {needed}" if needed else "",
        f"has {has}" if has else "",
        margin(finding) and f"margin {margin(finding)}",
    )
    if any(said):
        screen.say(", ".join(part for part in said if part))
    if finding.settle is not None:
        screen.say(f"To settle it: {finding.settle.test}")
    if working.steps:
        screen.say()
        rows = [_row(step, creature.given) for step in working.steps]
        screen.table(("", "value", "what it is", "how it came about"), rows, right=(1,), wrapped=(2, 3))
    screen.say()
    screen.say(f"Method {working.method}; its page is in docs/methods.")
    return 0


def _row(step: Step, given: Mapping[Ref, Given]) -> list[str]:
    from marotte.basis.units import show

    how = f"= {step.formula}" if step.formula else _source(step, given)
    return [step.symbol, show(step.result, step.unit, 4), step.meaning, how]


def _source(step: Step, given: Mapping[Ref, Given]) -> str:
    found = given.get(step.source)
    if found is None and step.source.startswith("default:"):
        return "not written: our default, which counts as typical"
    if found is None and step.source.startswith("stock:"):
        return f"stock, {step.source.removeprefix('stock:').replace('/', ' > ')}"
    if found is None:
        return step.source.lstrip("/").replace("/", " > ") if step.source.startswith("/") else step.source
    unsaid = {"measured": "as drawn", "guess": "unsaid: a guess"}
    return f"{found.written}, {found.source if found.said else unsaid[found.source]} ({found.place})"
