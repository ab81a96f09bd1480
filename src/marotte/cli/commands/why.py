"""``marotte why FOLDER FINDING``: how one number came about."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from dataclasses import replace
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
    """Print a finding with its working; of a mass the whole sheet of what bears it."""
    from marotte.creature.load import load

    creature = load(args.folder)
    with screen.progress(f"Checking {creature.name}"):
        from marotte.verdict.check import examine, named_finding

        done = examine(creature)
        finding = named_finding(done, args.finding)
    from marotte.cli.grades import graded, margin, marked, number, sides
    from marotte.verdict.said import told_tests

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
    if finding.decides is not None and finding.margin is not None:
        has_torque = f"{number(finding.needed)} needed, {number(finding.has)} there"
        screen.say(f"What is graded there: {has_torque}, margin {margin(replace(finding, decides=None))}")
    if finding.marks is not None:
        screen.say(marked(finding))
    if finding.settle:
        for line in told_tests("it", [one.test for one in finding.settle]):
            screen.say(line)
    steps = done.workings[finding.id].steps
    if finding.requirement == "mass" and steps:
        from marotte.cli.mass_sheet import print_sheet

        screen.say()
        limit = finding.needed.value if finding.grade != "not_applicable" else None
        print_sheet(finding.about, done.verdict.masses, limit, creature.given, screen)
    elif steps:
        screen.say()
        rows = [_row(step, creature.given) for step in steps]
        screen.table(("", "value", "what it is", "how it came about"), rows, right=(1,), wrapped=(2, 3))
    screen.say()
    screen.say(f"Method {done.workings[finding.id].method}; its page is in docs/methods.")
    return 0


def _row(step: Step, given: Mapping[Ref, Given]) -> list[str]:
    from marotte.basis.units import show
    from marotte.cli.grades import source_words

    how = f"= {step.formula}" if step.formula else source_words(step.source, given)
    return [step.symbol, show(step.result, step.unit, 4), step.meaning, how]
