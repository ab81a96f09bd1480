"""The recogniser's dictionary, searched where it lies: nothing is parsed before a word is asked for."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path


@dataclass(frozen=True, slots=True)
class Dictionary:
    """The dictionary file, searched in place."""

    data: bytes

    def find(self, word: str) -> tuple[str, ...] | None:
        """Return the first pronunciation of a word, phones without stress, or None."""
        return next(iter(self.find_all(word)), None)

    def find_all(self, word: str) -> list[tuple[str, ...]]:
        """Return every pronunciation of a word, in the order of the file."""
        want = word.encode()
        at = self._first(want)
        out = []
        while at < len(self.data) and self._word(at) == want:
            end = self.data.find(b"\n", at)
            end = len(self.data) if end < 0 else end
            out.append(tuple(self.data[at:end].decode().split(" #")[0].split()[1:]))
            at = end + 1
        return out

    def _first(self, want: bytes) -> int:
        """Return where the first line begins whose word is not below a wanted one; variants ``word(2)`` follow their word."""
        low, high = 0, len(self.data)
        while low < high:
            middle = max(self.data.rfind(b"\n", 0, (low + high) // 2) + 1, low)
            end = self.data.find(b"\n", middle)
            end = len(self.data) if end < 0 else end
            if self._word(middle) < want:
                low = end + 1
            elif middle == low:
                return low
            else:
                high = middle
        return low

    def _word(self, start: int) -> bytes:
        space = self.data.find(b" ", start)
        word = self.data[start:space]
        bracket = word.find(b"(", 1)
        return word[:bracket] if bracket > 0 else word


@lru_cache(maxsize=1)
def dictionary() -> Dictionary:
    """Return the dictionary that comes with the recogniser."""
    import pocketsphinx  # heavy: only when words are first asked for

    return Dictionary((Path(pocketsphinx.get_model_path()) / "en-us" / "cmudict-en-us.dict").read_bytes())
