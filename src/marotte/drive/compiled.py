"""How kernels are compiled: alike everywhere, so that a number does not depend on where it was worked out.

Of the compiler's freedoms with numbers only one is taken: a product and a sum may become one instruction. Nothing is
reordered, and what is not a number stays so.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, Final, TypeVar

from numba import njit

Kernel = TypeVar("Kernel", bound=Callable[..., Any])

RULES: Final[dict[str, Any]] = {"nogil": True, "error_model": "numpy", "fastmath": {"contract"}, "cache": True}
BORROWED: Final[dict[str, Any]] = RULES | {"_nrt": False}
"""For what makes no arrays and keeps none: none is counted in and out at every call and at every view. That took a quarter
of a tick, and the compiler finds such counts needless only in functions of moderate size."""


def entry(function: Kernel) -> Kernel:
    """Compile what is called from Python once for many ticks, and may make arrays."""
    return _compiled(function, RULES)


def kernel(function: Kernel) -> Kernel:
    """Compile what takes arrays and makes none."""
    return _compiled(function, BORROWED)


def inside(function: Kernel) -> Kernel:
    """Compile what is called at every tick, or in a loop: it becomes part of its caller."""
    return _compiled(function, BORROWED | {"forceinline": True})


FILES: Final = (
    "batch", "compare", "compiled", "keep", "kernels", "lookup", "moves", "plan", "rails", "skins", "step", "vectors",
)  # fmt: skip
"""What the kernels are made of."""


def stamp() -> tuple[tuple[str, int, int], ...]:
    """Return name, date and size of every file that the kernels are made of."""
    found = ((name, Path(__file__).with_name(f"{name}.py").stat()) for name in FILES)
    return tuple((name, file.st_mtime_ns, file.st_size) for name, file in found)


STAMP: Final = stamp()


def _compiled(function: Kernel, rules: dict[str, Any]) -> Kernel:
    """Compile; what is kept on disk holds as long as no file of the kernels changes.

    Numba asks only about the file that a kernel stands in, not about those whose kernels it took in: an edit of the rails
    would leave the window loop with the old ones.
    """
    made: Kernel = njit(**rules)(function)
    file = getattr(getattr(made, "_cache", None), "_cache_file", None)
    if file is not None:
        file._source_stamp = STAMP
    return made
