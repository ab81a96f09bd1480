"""How kernels are compiled, and what is kept of them on disk: fresh as long as everything is that a kernel rests on.

Numba keeps compiled code beside the source and asks only whether the file that a kernel stands in is still the same: not
after the kernels that were taken into it, nor after numbers from other files, nor after the rules by which it was compiled.
Here it is kept under a stamp of all of that.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from functools import cache
from hashlib import blake2b
from pathlib import Path
from types import CodeType, FunctionType, ModuleType
from typing import Any, Final, TypeVar, cast

from numba import njit
from numba.core.dispatcher import Dispatcher
from numba.extending import intrinsic

from marotte.basis.digest import digest

Kernel = TypeVar("Kernel", bound=Callable[..., Any])

INTRINSIC: Final[Any] = type(intrinsic(lambda typing: None))
"""What ``numba.extending.intrinsic`` makes; the class has no public name."""


def compiled(**rules: Any) -> Callable[[Kernel], Kernel]:
    """Return what compiles a kernel and keeps it on disk; it runs without the interpreter's lock.

    Args:
        rules: further options of ``numba.njit``.
    """

    def made(function: Kernel) -> Kernel:
        kernel: Any = njit(cache=True, nogil=True, **rules)(function)
        if kernel is not function:  # it is where NUMBA_DISABLE_JIT is set
            file_digest(function.__module__)  # now, while the file is what was imported
            kernel._cache._cache_file._source_stamp = Stamp(kernel)
        return cast(Kernel, kernel)

    return made


class Stamp:
    """What a kernel is kept under; worked out when Numba first asks, for a kernel may stand above those that it calls."""

    def __init__(self, kernel: object) -> None:
        self.kernel = kernel

    def __eq__(self, other: object) -> bool:
        return other == stamped(self.kernel)

    def __hash__(self) -> int:
        return hash(stamped(self.kernel))

    def __reduce__(self) -> tuple[type[bytes], tuple[bytes]]:
        """Lie on disk as plain bytes."""
        return bytes, (stamped(self.kernel),)


@cache
def stamped(kernel: object) -> bytes:
    """Return the digest of all that a kernel rests on."""
    return digest(rests_on(kernel))


@cache
def file_digest(module: str) -> bytes:
    """Return the digest of a module's file, as it was when this was first asked."""
    return blake2b(Path(str(sys.modules[module].__file__)).read_bytes(), digest_size=16).digest()


def rests_on(kernel: object) -> dict[str, object]:
    """Return what a kernel rests on, by full names.

    Of a kernel, and of what an intrinsic is made of, the digest of the file it stands in, and of a kernel the rules by which
    it is compiled; of any other name that they read, its value. Builtins and what other packages give are left out.

    Raises:
        TypeError: something is read of which nobody could say whether it is still the same.
    """
    found: dict[str, object] = {}
    todo: list[Any] = [kernel]
    while todo:
        thing = todo.pop()
        where = f"{thing.__module__}.{thing.__qualname__}"
        if where in found:
            continue
        found[where] = _rules(thing)
        found[thing.__module__] = file_digest(thing.__module__)
        for function in _functions(thing):
            for name, value in _read(function):
                if isinstance(value, Dispatcher | INTRINSIC) or _is_own(value, function):
                    todo.append(value)
                elif not (isinstance(value, ModuleType) or callable(value)):
                    found[f"{function.__module__}.{name}"] = (type(value).__name__, value)
    return found


def _rules(thing: object) -> tuple[tuple[str, object], ...]:
    """Return the options that a kernel is compiled with; none for anything else."""
    return tuple(sorted(thing.targetoptions.items())) if isinstance(thing, Dispatcher) else ()


def _functions(thing: Any) -> tuple[FunctionType, ...]:
    """Return the functions that a kernel, an intrinsic, a function or a class is made of."""
    if isinstance(thing, Dispatcher):
        return (thing.py_func,)
    if isinstance(thing, INTRINSIC):
        return (thing._defn,)
    return tuple(part for part in (thing, *vars(thing).values()) if isinstance(part, FunctionType))


def _read(function: FunctionType) -> Iterator[tuple[str, Any]]:
    """Yield names and values of the file's names that a function, or one inside it, may read."""
    codes: list[CodeType] = [function.__code__]
    for code in codes:
        codes += (part for part in code.co_consts if isinstance(part, CodeType))
        for name in code.co_names:
            if name in function.__globals__:
                yield name, function.__globals__[name]
    if function.__defaults__:
        yield f"{function.__qualname__}.__defaults__", function.__defaults__


def _is_own(value: Any, function: FunctionType) -> bool:
    """Return whether something is a function or a class of a function's own package.

    Raises:
        TypeError: it is a module of it: what is read through it cannot be seen.
    """
    package = function.__module__.partition(".")[0]
    if isinstance(value, ModuleType) and value.__name__.partition(".")[0] == package:
        raise TypeError(
            f"{function.__module__}.{function.__qualname__} reads through {value.__name__}: import the names themselves"
        )
    return isinstance(value, FunctionType | type) and value.__module__.partition(".")[0] == package
