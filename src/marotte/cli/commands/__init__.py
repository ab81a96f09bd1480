"""The commands, in the order in which the help shows them. A new one is a file here and its name in this list.

A command's module has ``HELP`` (one line), ``arguments(parser)`` and ``run(args, screen) -> exit code``. It imports nothing
heavy at its top, so that the help is quick.
"""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from importlib import import_module
from typing import Final, Protocol, cast

from marotte.cli.screen import Screen

COMMANDS: Final = ("new", "check", "why", "size", "plan", "script", "upgrade", "demo")


class Command(Protocol):
    """What a command's module offers."""

    HELP: str

    def arguments(self, parser: ArgumentParser) -> None:
        """Declare the command's own arguments."""

    def run(self, args: Namespace, screen: Screen) -> int:
        """Do it; return the exit code."""


def command(name: str) -> Command:
    """Return the module of a command."""
    return cast(Command, import_module(f"{__name__}.{name}"))
