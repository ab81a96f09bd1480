"""A generated creature for the benchmarks: the largest example with a regulator at the start of each lead, and a longer part."""

from __future__ import annotations

import re
from pathlib import Path

TANSY = Path(__file__).parent.parent / "examples" / "tansy"
MORE = "\n\nTANSY\n(brisk)\nWipe your feet, mind the bucket, and shut the door before the weather comes in with you.\n"
"""A page more of the part, so that it lasts over three minutes."""
REGULATOR = "regulator: {kind: switching, volts: 6.0 V, limit: 12 A}"


def regulated(folder: Path, pages: int = 5, skull: bool = True) -> Path:
    """Write the creature into a folder that is made for it, and return the folder.

    Without a skull nothing is looked at for room. Three leads behind regulators are three islands: an edit of one
    mechanism re-runs the drive of its own island alone.
    """
    folder.mkdir(parents=True, exist_ok=True)
    text = (TANSY / "creature.yaml").read_text(encoding="utf-8")
    text = text.replace("{kind: bench, volts: 6.0 V, limit: 30 A}", "{kind: bench, volts: 12 V, limit: 30 A}")
    text, leads = re.subn(r"(fed_by: trunk, awg: \d+, length: [\d.]+ m)", rf"\1, {REGULATOR}", text)
    assert leads == 3
    if not skull:
        text = re.sub(r"\n  skull: .*", "", text)
    (folder / "creature.yaml").write_text(text, encoding="utf-8")
    script = (TANSY / "script.fountain").read_text(encoding="utf-8").rstrip()
    (folder / "script.fountain").write_text(script + MORE * pages, encoding="utf-8")
    return folder
