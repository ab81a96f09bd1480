"""Open data for tests that is too large, or not ours, to keep in the repository.

It lies in a folder ``shared/data`` beside the repository, or where the environment variable MAROTTE_SHARED_DATA says.
Where it is not there, the tests that want it are skipped, with the reason.
"""

from __future__ import annotations

import os
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]


def shared_data(name: str) -> Path:
    """Return the path of one file or folder of the shared data, or skip the test."""
    written = os.environ.get("MAROTTE_SHARED_DATA")
    folder = Path(written) if written else ROOT.parent / "shared" / "data"
    path = folder / name
    if not path.exists():
        pytest.skip(f"open data {name!r} is not here: put it in shared/data beside the repository")
    return path
