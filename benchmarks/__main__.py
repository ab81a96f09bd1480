"""Run all benchmarks: print the table as it comes, and write build/bench.json."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

from benchmarks import drive, fit, kinds, remedies, script, verdict
from benchmarks.rows import Row

PARTS: dict[str, Callable[[], Iterator[Row]]] = {
    "drive": drive.rows,
    "transmissions": kinds.rows,
    "fit": fit.rows,
    "script": script.rows,
    "verdict": verdict.rows,
    "remedies": remedies.rows,
}


def main(names: list[str]) -> None:
    """Run the parts named, or all."""
    found: list[Row] = []
    for name in names or list(PARTS):
        for row in PARTS[name]():
            found.append(row)
            ratio = f"{row.ratio:8.2f} x" if row.ratio is not None else " " * 10
            print(f"{row.name:58s} {row.value:10.4g} {row.unit:32s} {ratio}  {row.against}", flush=True)
            if row.agreement:
                print(f"{'':58s} {row.agreement}", flush=True)
    out = Path("build")
    out.mkdir(exist_ok=True)
    (out / "bench.json").write_text(json.dumps([row.plain() for row in found], indent=1) + "\n")


main(sys.argv[1:])
