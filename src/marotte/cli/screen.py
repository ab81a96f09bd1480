"""What the command prints on: a terminal gets tables with colour, a pipe gets plain aligned text.

Answers go to standard output; progress, faults and troubles to standard error. No letter of a file steers the terminal.
"""

from __future__ import annotations

import json
import sys
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any, Final, TextIO

from marotte.basis.faults import Fault
from marotte.cli.letters import visible, visible_json

if TYPE_CHECKING:
    from rich.console import Console

PATIENCE_S: Final = 1.0
"""Work that takes longer shows its progress."""
LOG_EVERY_S: Final = 5.0
"""Progress that goes into a log says something new this often at most."""
PIPE_WIDTH: Final = 120
"""Columns of text that goes into a pipe."""
LEAST_PROSE: Final = 36
"""Columns that the wrapped columns of a table need to be read; with less, their text goes below each row."""
INDENT: Final = 4
"""Columns by which such text is set in."""
MOST_FAULTS: Final = 60
"""Faults that are printed one by one; more are counted."""


class Screen:
    """One command's output."""

    def __init__(self, out: TextIO | None = None, err: TextIO | None = None) -> None:
        self.out = out if out is not None else sys.stdout
        self.err = err if err is not None else sys.stderr
        self._console: Console | None = None

    @property
    def on_terminal(self) -> bool:
        """Whether a person looks at it directly."""
        return self.out.isatty()

    @property
    def console(self) -> Console:
        """The console of standard output, made when first used: its library is not loaded for --help or --json."""
        if self._console is None:
            from rich.console import Console

            width = None if self.on_terminal else PIPE_WIDTH
            self._console = Console(file=self.out, width=width, highlight=False, emoji=False)
        return self._console

    def can_show(self, text: str) -> bool:
        """Return whether standard output can carry these letters."""
        try:
            text.encode(self.out.encoding or "utf-8")
        except (UnicodeEncodeError, LookupError):
            return False
        return True

    def say(self, text: str = "", style: str | None = None) -> None:
        """Print text: wrapped on a terminal, as it is into a pipe. Brackets in it are text, not markup."""
        self.console.print(self._fit(text), style=style, markup=False, soft_wrap=not self.on_terminal)

    def item(self, text: str) -> None:
        """Print one entry of a list; what wraps on a terminal stands under its first word."""
        if not self.on_terminal:
            self.say(f"- {text}")
            return
        from rich.table import Table
        from rich.text import Text

        row = Table.grid(padding=0)
        row.add_column(no_wrap=True)
        row.add_column(overflow="fold")
        row.add_row("- ", Text(self._fit(text)))
        self.console.print(row)

    def table(
        self,
        heads: Sequence[str],
        rows: Sequence[Sequence[str]],
        right: Sequence[int] = (),
        wrapped: Sequence[int] | None = None,
    ) -> None:
        """Print rows under heads; columns in ``right`` are set to the right, those in ``wrapped`` (the last) may wrap.

        On a terminal that leaves those too little room their text goes below each row.
        """
        from rich import box
        from rich.table import Table
        from rich.text import Text

        rows = [[visible(cell) for cell in row] for row in rows]
        may_wrap = (len(heads) - 1,) if wrapped is None else wrapped
        kept = [place for place in range(len(heads)) if place not in may_wrap]
        widths = {place: max(len(row[place]) for row in (heads, *rows)) for place in kept}
        if self.on_terminal and self.console.width - sum(widths.values()) - 3 * len(heads) < LEAST_PROSE:
            self._narrow(heads, rows, right, widths, may_wrap)
            return
        shape = Table(
            box=box.SIMPLE_HEAD if self.on_terminal else None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold"
        )
        for place, head in enumerate(heads):
            shape.add_column(
                head, justify="right" if place in right else "left", overflow="fold", no_wrap=place not in may_wrap
            )
        for row in rows:
            shape.add_row(*(Text(self._fit(cell)) for cell in row))
        if self.on_terminal:
            self.console.print(shape)
            return
        with self.console.capture() as held:
            self.console.print(shape)
        self.out.writelines(line.rstrip() + "\n" for line in held.get().splitlines())

    def _narrow(
        self,
        heads: Sequence[str],
        rows: Sequence[Sequence[str]],
        right: Sequence[int],
        widths: dict[int, int],
        below: Sequence[int],
    ) -> None:
        """Print a table whose long texts stand below their rows; where even the rest is too wide, row by row in words."""
        from rich.padding import Padding
        from rich.text import Text

        def line(row: Sequence[str]) -> str:
            cells = (row[at].rjust(width) if at in right else row[at].ljust(width) for at, width in widths.items())
            return "  ".join(cells).rstrip()

        def set_in(text: str) -> None:
            if text:
                self.console.print(Padding(Text(self._fit(text)), (0, 0, 0, INDENT)))

        fits = sum(widths.values()) + 2 * (len(widths) - 1) <= self.console.width
        if fits:
            self.say(line(heads), style="bold")
        for row in rows:
            first, *others = widths
            self.say(line(row) if fits else row[first])
            if not fits:
                set_in(", ".join(f"{heads[at]} {row[at]}".strip() for at in others if row[at]))
            for at in below:
                set_in(row[at])

    def json(self, content: Any) -> None:
        """Print one object for machines."""
        text = json.dumps(content, indent=2, ensure_ascii=not self.can_show("é·°"), allow_nan=False)
        self.out.write(visible_json(text) + "\n")

    def faults(self, faults: Sequence[Fault], *, as_json: bool = False) -> None:
        """Print what is wrong with the input, all of it, each with its place."""
        if as_json:
            self.json({"faults": [fault_object(fault) for fault in faults]})
        for fault in faults[:MOST_FAULTS]:
            self._err(str(fault))
        if len(faults) > MOST_FAULTS:
            self._err(f"... and {len(faults) - MOST_FAULTS} more")
        if len(faults) > 1:
            self._err(f"{len(faults)} things are wrong; nothing was changed.")

    def trouble(self, text: str) -> None:
        """Print one sentence about what went wrong."""
        self._err(text)

    def ours(self, error: Exception) -> None:
        """Print the one sentence of an error that is our own."""
        what = " ".join(f"{type(error).__name__}: {error}".split())[:300]
        self._err(f"Marotte itself failed ({what}).")
        self._err("Nothing was changed. Please report this with the creature folder; --debug shows where it happened.")

    def flush(self) -> None:
        """Push out what is still held, so that a closed pipe is noticed here."""
        self.out.flush()

    @contextmanager
    def progress(self, doing: str) -> Iterator[Callable[[str], None]]:
        """Say on standard error what is being done, if it takes longer than a second.

        What it gives may be called with what is done now.
        """
        now = [doing]
        done = threading.Event()
        watcher = threading.Thread(target=self._watch, args=(now, done), daemon=True)
        watcher.start()
        try:
            yield lambda text: now.__setitem__(0, f"{doing}: {text}")
        finally:
            done.set()
            watcher.join()

    def _watch(self, now: list[str], done: threading.Event) -> None:
        began = time.monotonic()
        live = self.err.isatty()
        wait, said = PATIENCE_S, ""
        while not done.wait(wait):
            wait = 0.25 if live else LOG_EVERY_S
            if live:
                text = f"{visible(now[0])} ... {time.monotonic() - began:.0f} s"
                self.err.write(f"\r{text[:100]}\033[K")
                self.err.flush()
            elif now[0] != said:
                said = now[0]
                self._err(f"{said} ...")
        if live and time.monotonic() - began >= PATIENCE_S:
            self.err.write("\r\033[K")
            self.err.flush()

    def _err(self, text: str) -> None:
        encoding = self.err.encoding or "utf-8"
        self.err.write(visible(text).encode(encoding, "replace").decode(encoding) + "\n")
        self.err.flush()

    def _fit(self, text: str) -> str:
        encoding = self.out.encoding or "utf-8"
        return visible(text).encode(encoding, "replace").decode(encoding)


def fault_object(fault: Fault) -> dict[str, Any]:
    """Return a fault as machines read it."""
    place = fault.place
    return {
        "code": fault.code,
        "what": fault.what,
        "file": place.file if place else None,
        "line": place.line if place else None,
        "column": place.column if place else None,
        "path": fault.path,
        "found": fault.found,
        "allowed": fault.allowed,
        "try": fault.try_,
    }
