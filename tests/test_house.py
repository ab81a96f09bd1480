"""The house as CONTRIBUTING has it: what import-linter cannot see."""

from __future__ import annotations

from pathlib import Path
from typing import Final

import marotte

HOUSE = Path(marotte.__file__).parent
MOST: Final = 300
"""Lines of a file of the source (a rule of this project)."""


def test_no_file_of_the_source_is_longer_than_300_lines() -> None:
    lengths = {file.relative_to(HOUSE).as_posix(): file.read_text().count("\n") for file in HOUSE.rglob("*.py")}
    assert len(lengths) > 250
    longer = {name: lines for name, lines in lengths.items() if lines > MOST}
    assert longer == {}
