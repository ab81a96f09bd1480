"""``marotte``: arguments in, exit code out.

Exit codes: 0 nothing fails, 1 something fails (or is unknown, with --strict), 2 the input or the request is bad.
No traceback reaches a user, unless --debug asks for it.
"""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

from marotte import __version__
from marotte.basis.faults import BadInput, MarotteError
from marotte.cli.commands import COMMANDS, command
from marotte.cli.letters import visible
from marotte.cli.screen import Screen

if TYPE_CHECKING:
    from _typeshed import SupportsWrite

FINE: Final = 0
FAILS: Final = 1
BAD: Final = 2
STOPPED: Final = 130
"""As shells have it for a command stopped by the keyboard."""


class Parser(argparse.ArgumentParser):
    """A parser that shows what was typed without letting it steer the terminal."""

    def _print_message(self, message: str, file: SupportsWrite[str] | None = None) -> None:
        super()._print_message(visible(message), file)


def parser() -> Parser:
    """Return the parser of all commands."""
    common = Parser(add_help=False)
    common.add_argument("--debug", action="store_true", help="show where an error of ours came from")
    top = Parser(
        prog="marotte",
        description="Will the creature perform? A creature folder in, a verdict with its working out.",
        epilog="Everything computed here is a planning estimate; local codes, makers' data and competent people decide.",
    )
    top.add_argument("--version", action="version", version=f"marotte {__version__}")
    commands = top.add_subparsers(dest="command", metavar="COMMAND", title="commands")
    for name in COMMANDS:
        module = command(name)
        own = commands.add_parser(name, help=module.HELP, description=module.HELP, parents=[common])
        module.arguments(own)
    return top


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; return its exit code."""
    top = parser()
    try:
        args = top.parse_args(arguments)
    except SystemExit as stop:  # argparse ends the process itself for --help and for what it does not understand
        return int(stop.code or 0)
    if args.command is None:
        top.print_help()
        return FINE
    return _run(args, Screen())


def _run(args: argparse.Namespace, screen: Screen) -> int:
    try:
        code = command(args.command).run(args, screen)
        screen.flush()
    except BadInput as error:
        screen.faults(error.faults, as_json=getattr(args, "json", False))
        return BAD
    except MarotteError as error:
        screen.trouble(str(error))
        return BAD
    except KeyboardInterrupt:
        screen.trouble("Stopped.")
        return STOPPED
    except BrokenPipeError:  # the reader has seen enough: marotte check tansy | head
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return FINE
    except Exception as error:
        if args.debug:
            raise
        screen.ours(error)
        return BAD
    return code


if __name__ == "__main__":
    sys.exit(main())
