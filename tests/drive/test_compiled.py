"""What is compiled and kept on disk follows every file that it was made of."""

from __future__ import annotations

from pathlib import Path

import marotte.drive
from marotte.drive import compiled, kernels

HERE = Path(marotte.drive.__file__).parent


def test_kept_kernels_are_bound_to_every_file_that_they_are_made_of() -> None:
    using = {path.stem for path in HERE.glob("*.py") if "from marotte.drive.compiled import" in path.read_text()}
    assert using <= set(compiled.FILES)
    taken = {"plan", "vectors", "compiled"}
    assert set(compiled.FILES) == using | taken


def test_the_window_loop_is_kept_under_that_stamp() -> None:
    kept = kernels.run_window._cache._cache_file  # type: ignore[attr-defined]
    assert kept._source_stamp == compiled.STAMP == compiled.stamp()
