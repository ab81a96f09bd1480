"""How kernels of the drive are compiled: alike everywhere, so that a number does not depend on where it was worked out.

Of the compiler's freedoms with numbers only one is taken: a product and a sum may become one instruction. Nothing is
reordered, and what is not a number stays so.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final, TypeVar

from marotte.basis.compiled import compiled

Kernel = TypeVar("Kernel", bound=Callable[..., Any])

RULES: Final[dict[str, Any]] = {"error_model": "numpy", "fastmath": {"contract"}}
BORROWED: Final[dict[str, Any]] = RULES | {"_nrt": False}
"""For what makes no arrays and keeps none: none is counted in and out at every call and at every view. That took a quarter
of a tick, and the compiler finds such counts needless only in functions of moderate size."""


def entry(function: Kernel) -> Kernel:
    """Compile what is called from Python once for many ticks, and may make arrays."""
    return compiled(**RULES)(function)


def kernel(function: Kernel) -> Kernel:
    """Compile what takes arrays and makes none."""
    return compiled(**BORROWED)(function)


def inside(function: Kernel) -> Kernel:
    """Compile what is called at every tick, or in a loop: it becomes part of its caller."""
    return compiled(**BORROWED, forceinline=True)(function)
