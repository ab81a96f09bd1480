"""The house as CONTRIBUTING has it: what import-linter cannot see."""

from __future__ import annotations

from pathlib import Path
from typing import Final

import marotte

HOUSE = Path(marotte.__file__).parent
MOST: Final = 300
"""Lines of a file of the source (a rule of this project)."""
LONGER: Final = {
    "mech/fit/bodies.py": 359,
    "mech/fit/kernels.py": 352,
    "mech/fit/placement.py": 350,
    "verdict/requirements/fit.py": 405,
}
"""Files that are longer still, and how long at the most; nothing is added here."""


def test_no_file_of_the_source_is_longer_than_300_lines() -> None:
    lengths = {
        str(file.relative_to(HOUSE).as_posix()): len(file.read_text().splitlines()) for file in HOUSE.rglob("*.py")
    }
    assert len(lengths) > 250
    assert {name: lines for name, lines in lengths.items() if lines > LONGER.get(name, MOST)} == {}
