"""Run the drive over three minutes of a 30-function head, and print the peak memory [MB] of this process."""

from __future__ import annotations

import resource

from tests.drive.rigs import windows

from benchmarks.heads import COUNT, MINUTES, asked, head
from marotte.drive.respond import respond

model = head(COUNT, skins=True, tree=True, lossless=False)
respond(model, asked(model, 60.0 * MINUTES), windows(72000 * MINUTES))
print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)
