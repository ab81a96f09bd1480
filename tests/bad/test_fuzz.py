"""Coverage-guided fuzzing of the creature file, a short run of it; tools/fuzz.py says how to run it for long."""

from __future__ import annotations

import importlib.util
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
RUNS = 150


@pytest.mark.skipif(
    importlib.util.find_spec("atheris") is None,
    reason="atheris is not installed: it has no wheels for macOS and Windows, so it is not in the lock (pip install atheris)",
)
def test_mutated_examples_under_coverage_are_read_or_refused_with_places(tmp_path: Path) -> None:
    ran = subprocess.run(
        [sys.executable, "tools/fuzz.py", "-len_control=0", "-max_len=256", f"-runs={RUNS}", "-seed=1", f"-artifact_prefix={tmp_path}/"],
        cwd=ROOT, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert ran.returncode == 0, (ran.stdout + ran.stderr)[-4000:]
    assert f"Done {RUNS} runs" in ran.stderr
