"""Print the peak memory [MB] of this process after ``drive``, or after ``check`` of a part with so many pages more."""

from __future__ import annotations

import sys
from pathlib import Path
from tempfile import TemporaryDirectory


def drive() -> None:
    """Run the drive over three minutes of a 30-function head."""
    from tests.drive.rigs import windows

    from benchmarks.heads import COUNT, MINUTES, asked, head
    from marotte.drive.respond import respond

    model = head(COUNT, skins=True, tree=True, lossless=False)
    respond(model, asked(model, 60.0 * MINUTES), windows(72000 * MINUTES))


def whole(pages: int) -> None:
    """Check a creature of 32 functions."""
    from benchmarks.creatures import regulated
    from marotte.creature.load import load
    from marotte.verdict.check import check

    with TemporaryDirectory() as made:
        check(load(regulated(Path(made) / "creature", pages)))


if __name__ == "__main__":
    drive() if sys.argv[1] == "drive" else whole(int(sys.argv[2]))
    # not getrusage: that remembers the process that this one was forked from
    peak = next(line for line in Path("/proc/self/status").read_text().splitlines() if line.startswith("VmHWM"))
    print(int(peak.split()[1]) / 1024)
