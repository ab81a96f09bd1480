"""What every engine's result is made of."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from marotte.basis.digest import kept_digest
from marotte.basis.given import Ref

F64: TypeAlias = NDArray[np.float64]
F32: TypeAlias = NDArray[np.float32]
I64: TypeAlias = NDArray[np.int64]
Bool: TypeAlias = NDArray[np.bool_]


def frozen_array(array: NDArray[np.generic], dtype: type[np.generic]) -> NDArray[np.generic]:
    """Return an array as results carry it: C-contiguous, of one dtype, read-only."""
    out = np.ascontiguousarray(array, dtype=dtype)
    if out is array and array.flags.writeable:
        out = array.copy()
    out.flags.writeable = False
    return out


def f64(array: object) -> F64:
    """Return a read-only, contiguous float64 array."""
    return frozen_array(np.asarray(array), np.float64)  # type: ignore[return-value]


def f32(array: object) -> F32:
    """Return a read-only, contiguous float32 array."""
    return frozen_array(np.asarray(array), np.float32)  # type: ignore[return-value]


@dataclass(frozen=True, slots=True, kw_only=True)
class Unknown:
    """Stands where a number cannot be computed; never NaN, never None."""

    why: str
    """A sentence without a full stop."""
    wants: tuple[Ref, ...] = ()
    """What would have to be written in the file."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """What an engine assumed, guessed or could not read; shown, never dropped."""

    code: str
    sentence: str
    ref: Ref | None = None
    line: int | None = None
    """Line of the script, where it is about one."""
    more: str = ""
    """All of it, part by part, where the sentence names only the worst; shown where everything is asked for."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Quantity:
    """A number with the name of its SI unit; the surface chooses how to show it."""

    value: float
    unit: str
    percent: bool = False
    """Whether people are shown it in percent: a share, which is 0 to 1 in SI."""
    word: str = ""
    """What people are shown instead of a rank's number."""
    more: bool = False
    """Whether it is that or more: a bound, where no further can be looked."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Motion:
    """The one time series."""

    names: tuple[str, ...]
    units: tuple[str, ...]
    """"rad", "m" or "1", one per row."""
    start: int
    """Tick of the first sample."""
    every: int
    """Ticks between samples; 5 is 240 Hz."""
    values: F32
    """(n, samples): row per name."""
    _digest: list[bytes] = field(default_factory=list, init=False, compare=False, repr=False)

    def __digest__(self) -> bytes:
        return kept_digest(self, self._digest)

    @property
    def samples(self) -> int:
        """How many samples a row has."""
        return int(self.values.shape[1])

    @property
    def stop(self) -> int:
        """The tick just after the last sample's own interval."""
        return self.start + self.every * self.samples

    def row(self, name: str) -> F32:
        """Return the row of one name, (samples,)."""
        row: F32 = self.values[self.names.index(name)]
        return row

    def index(self, tick: int) -> int:
        """Return the sample that holds a tick, kept inside the series."""
        return min(max((tick - self.start) // self.every, 0), self.samples - 1)
