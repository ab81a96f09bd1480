"""Named random streams of one seed: what is drawn for one purpose never moves what is drawn for another."""

from __future__ import annotations

from hashlib import blake2b

import numpy as np


def stream(seed: int, *names: str | int) -> np.random.Generator:
    """Return the generator that belongs to a seed and a purpose, such as ``stream(seed, "blinks", line_id)``.

    The same seed and names give the same numbers in every process; names are hashed, so adding a purpose elsewhere
    leaves all others as they were.
    """
    text = "\x1f".join((str(seed), *map(str, names))).encode()
    return np.random.Generator(np.random.PCG64(int.from_bytes(blake2b(text, digest_size=16).digest(), "little")))
