"""The collector of the interpreter waits until an answer is there.

It walks everything that lives whenever enough was made, and what a check makes is nearly all kept: 50 to 100 ms in the middle
of an edit, to find nothing. What is let go without cycles, and that is all of it, is freed at once as ever.
"""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def collected_after() -> Iterator[None]:
    """Hold the collector back meanwhile; where it was off already it is left so."""
    on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if on:
            gc.enable()
