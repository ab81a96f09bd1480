"""Make the demand of a part of some minutes, and print the peak memory [MB] of this process."""

from __future__ import annotations

import sys
from pathlib import Path

from benchmarks.creatures import MORE, TANSY
from benchmarks.script import part
from marotte.creature.load import load

creature = load(TANSY)
assert creature.script_text
text = creature.script_text.rstrip()
wanted_s = 60.0 * float(sys.argv[1])
one = part(creature, "INT. POST OFFICE" + MORE, "lips").spans.stop / 1200
if wanted_s:
    both = part(creature, text + MORE, "lips").spans.stop / 1200 - part(creature, text, "lips").spans.stop / 1200
    made = part(creature, text + MORE * int((wanted_s - one) / both), "lips")
    assert made.spans.stop / 1200 > 0.95 * wanted_s
# not getrusage: that remembers the process that this one was forked from
peak = next(row for row in Path("/proc/self/status").read_text().splitlines() if row.startswith("VmHWM"))
print(int(peak.split()[1]) / 1024)
