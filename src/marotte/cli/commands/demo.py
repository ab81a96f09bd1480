"""``marotte demo``: the verdict on an example creature."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from pathlib import Path

from marotte.basis.faults import BadRequest
from marotte.cli.screen import Screen

HELP = "check an example creature: Tansy, moor hare and postmistress"


def arguments(parser: ArgumentParser) -> None:
    """Declare the arguments."""


def run(args: Namespace, screen: Screen) -> int:
    """Check the example; exit 0, since it is meant to have faults."""
    from marotte.cli.commands.check import checked

    folder = examples() / "tansy"
    screen.say(
        "Tansy is a moor hare and postmistress: a counter-top head for television, with a live voice. "
        "She ships with mistakes that workshops really make. This is what a check says about her."
    )
    screen.say()
    checked(_shown(folder), screen)
    return 0


def examples() -> Path:
    """Return the folder of the example creatures: in the package, or beside it in a checkout.

    Raises:
        BadRequest: this installation has none.
    """
    import marotte

    package = Path(marotte.__file__).parent
    for folder in (package / "examples", package.parents[1] / "examples"):
        if (folder / "tansy").is_dir():
            return folder
    raise BadRequest("the example creatures are not part of this installation; they are in the source, under examples/")


def _shown(folder: Path) -> Path:
    """Return a folder as the user would write it from here."""
    try:
        return folder.relative_to(Path.cwd())
    except ValueError:
        return folder
