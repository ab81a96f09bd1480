"""The house as CONTRIBUTING has it: what import-linter cannot see."""

from __future__ import annotations

from pathlib import Path
from typing import Final

import marotte

HOUSE = Path(marotte.__file__).parent
MOST: Final = 300
"""Lines of a file of the source (a rule of this project)."""
LONGER: Final = {"mech/fit/kernels.py", "verdict/requirements/fit.py"}
"""Files that are longer still; nothing is added here, and what has been split is taken out."""


def test_no_file_of_the_source_is_longer_than_300_lines() -> None:
    lengths = {file.relative_to(HOUSE).as_posix(): file.read_text().count("\n") for file in HOUSE.rglob("*.py")}
    assert len(lengths) > 250
    longer = {name: lines for name, lines in lengths.items() if lines > MOST}
    assert longer.keys() - LONGER == set(), longer
    assert longer.keys() >= LONGER, "take it out of the list: it is no longer than others"
