"""Coverage-guided fuzzing of the creature file: bytes in, a creature or faults with places out, never anything else.

Needs atheris, which is no dependency of this project (``pip install atheris`` where it has a build). Run from the root:
``python tools/fuzz.py -len_control=0 -max_len=256 -max_total_time=60``; what it finds belongs into tests/bad.
"""

from __future__ import annotations

import sys
from pathlib import Path

import atheris

with atheris.instrument_imports(include=["marotte.creature", "marotte.basis"]):
    from marotte.basis.faults import BadInput
    from marotte.creature.load import build
    from marotte.creature.migrate import migrate
    from marotte.creature.tree import parse_text

EXAMPLES = [
    path.read_text(encoding="utf-8").splitlines(keepends=True)
    for path in sorted(Path("examples").glob("*/creature.yaml"))
]


def once(data: bytes) -> None:
    """Read one file: an example with some of its lines cut, doubled, swapped or written over."""
    source = atheris.FuzzedDataProvider(data)
    lines = list(source.PickValueInList(EXAMPLES))
    for _ in range(source.ConsumeIntInRange(1, 4)):
        at = source.ConsumeIntInRange(0, len(lines) - 1)
        deed = source.ConsumeIntInRange(0, 3)
        if deed == 0:
            del lines[at]
        elif deed == 1:
            lines.insert(at, lines[source.ConsumeIntInRange(0, len(lines) - 1)])
        elif deed == 2:
            cut = source.ConsumeIntInRange(0, len(lines[at]))
            lines[at] = lines[at][:cut] + source.ConsumeUnicodeNoSurrogates(12) + lines[at][cut:]
        else:
            lines[at] = source.ConsumeUnicodeNoSurrogates(40) + "\n"
        if not lines:
            return
    try:
        tree = parse_text("".join(lines))
        migrate(tree)
        build(tree, None)
    except BadInput as error:
        if not error.faults or any(fault.place is None for fault in error.faults):
            raise RuntimeError(f"a fault without a place: {error}") from error


if __name__ == "__main__":
    atheris.Setup(sys.argv, once)
    atheris.Fuzz()
