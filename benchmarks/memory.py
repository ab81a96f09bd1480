"""Run the drive over three minutes of a 30-function head, and print the peak memory [MB] of this process."""

from __future__ import annotations

from pathlib import Path

from tests.drive.rigs import windows

from benchmarks.heads import COUNT, MINUTES, asked, head
from marotte.drive.respond import respond

model = head(COUNT, skins=True, tree=True, lossless=False)
respond(model, asked(model, 60.0 * MINUTES), windows(72000 * MINUTES))
# not getrusage: that remembers the process that this one was forked from
peak = next(line for line in Path("/proc/self/status").read_text().splitlines() if line.startswith("VmHWM"))
print(int(peak.split()[1]) / 1024)
