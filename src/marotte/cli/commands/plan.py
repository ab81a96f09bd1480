"""``marotte plan FOLDER``: what to change, in which order, so that the creature performs."""

from __future__ import annotations

import shlex
from argparse import ArgumentParser, Namespace
from pathlib import Path

from marotte.cli.screen import Screen

HELP = "find the changes that make the creature perform, cheapest to undo first"


def arguments(parser: ArgumentParser) -> None:
    """Declare the arguments."""
    parser.add_argument("folder", metavar="FOLDER", type=Path, help="the creature folder")
    parser.add_argument("--apply", action="store_true", help="write the changes into creature.yaml; comments stay")


def run(args: Namespace, screen: Screen) -> int:
    """Print the plan, and carry it out where that is asked; exit 1 where something would still fail."""
    from marotte.desk.session import Session

    folder: Path = args.folder
    session = Session(folder)
    with screen.progress(f"Planning {session.creature.name}") as tell:
        from marotte.verdict.remedies.plan import plan
        from marotte.verdict.remedies.words import worsened

        found = plan(session.tree, folder, session.cache, tell)
    screen.say(session.creature.name, style="bold")
    screen.say(f"Now: {found.before.verdict.summary}")
    if not found.steps:
        screen.say("Nothing was found that helps." if found.remains else "Nothing fails; there is nothing to change.")
        for line in found.left:
            screen.item(line)
        return 1 if found.remains else 0
    screen.say()
    for number, step in enumerate(found.steps, 1):
        screen.say(f"{number}. {step.sentence} {worsened(step)}".rstrip())
    screen.say()
    screen.say(f"Then: {found.after.verdict.summary}")
    for line in found.left:
        screen.item(line)
    if args.apply:
        session.edit(found.edits)
        session.save()
        screen.say("The changes are written into creature.yaml.")
    else:
        screen.say(f"Nothing was changed. To write it: marotte plan {shlex.quote(str(folder))} --apply")
    return 1 if found.remains else 0
