"""The recogniser: forced alignment of words to a recording, and a rough reading of a long one.

pocketsphinx (BSD) with its US English model. Frames are 10 ms apart; a frame stands for the 25.6 ms of sound that begin with it,
so the border between two frames lies 7.8 ms after the start of the second: ``FRAME_SHIFT_S`` (geometry, not a fitted number).

Settings that matter, each found by trial: no best path through the lattice (else silences between words vanish into the word
before); beams wide open (else an extra word ends the search); the feature computer made new before every pass (else a second
alignment of the same sound differs).
"""

from __future__ import annotations

import tempfile
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from marotte.script.voices import I16

FRAME_S: Final = 0.010
WINDOW_S: Final = 0.025625
FRAME_SHIFT_S: Final = WINDOW_S / 2 - FRAME_S / 2
"""From the start of a frame to the border before it [s]."""


@dataclass(frozen=True, slots=True)
class HeardPhone:
    """A phone in a recording; times from the start of the sound that was given [s]."""

    name: str
    start: float
    stop: float


@dataclass(frozen=True, slots=True)
class HeardWord:
    """A word in a recording, or a silence or noise between words (``word`` empty)."""

    word: str
    start: float
    stop: float
    score: float
    """Acoustic score a frame against the best that any sound of the model has there; 0 at best."""
    phones: tuple[HeardPhone, ...]


class Recogniser:
    """A decoder whose dictionary is a given list of words and no more; it starts in a few hundredths of a second."""

    def __init__(self, words: Mapping[str, Sequence[tuple[str, ...]]]) -> None:
        self._folder = tempfile.TemporaryDirectory(prefix="marotte-")
        self._dictionary = Path(self._folder.name) / "words.dict"
        lines = []
        for word in sorted(words):
            for k, phones in enumerate(words[word]):
                lines.append(f"{word}{f'({k + 1})' if k else ''} {' '.join(phones)}\n")
        self._dictionary.write_text("".join(lines), encoding="ascii")
        self._forced: Any = None
        self._rough: Any = None

    def close(self) -> None:
        """Let go of the decoders and the folder."""
        self._forced = self._rough = None
        self._folder.cleanup()

    def __enter__(self) -> Recogniser:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def force(self, pcm: I16, words: Sequence[str]) -> tuple[HeardWord, ...] | None:
        """Return words, silences and noises in order, or None where the words cannot be laid over the sound.

        Args:
            pcm: (n,) samples at 16 kHz; at most some 40 s, for memory grows with its square.
            words: all of them in the dictionary.
        """
        if self._forced is None:
            from pocketsphinx import Decoder

            self._forced = Decoder(
                lm=None,
                dict=str(self._dictionary),
                loglevel="FATAL",
                bestpath=False,
                beam=1e-200,
                pbeam=1e-200,
                wbeam=1e-200,
            )
        decoder = self._forced
        try:
            decoder.set_align_text(" ".join(words))
            _run(decoder, pcm)
            if decoder.hyp() is None:
                return None
            decoder.set_alignment()
            _run(decoder, pcm)
            alignment = decoder.get_alignment()
        except RuntimeError:  # the search found no way through
            return None
        if alignment is None:
            return None
        out = []
        for word in alignment:
            name = "" if word.name[:1] in "<[" else word.name.split("(")[0]
            frames = max(word.duration, 1)
            phones = tuple(HeardPhone(p.name, _s(p.start), _s(p.start + p.duration)) for p in word)
            out.append(
                HeardWord(
                    name, _s(word.start), _s(word.start + word.duration), sum(p.score for p in word) / frames, phones
                )
            )
        return tuple(out) if [w.word for w in out if w.word] == list(words) else None

    def rough(
        self, pieces: Sequence[I16], starts: Sequence[float], texts: Sequence[Sequence[str]]
    ) -> list[tuple[str, float, float]]:
        """Return (word, start, stop) [s] of what is heard, by a language model of the texts alone.

        Args:
            pieces: stretches of sound, each (n,) at 16 kHz.
            starts: where each begins [s].
            texts: the lines that may be spoken.
        """
        if self._rough is None:
            from pocketsphinx import Decoder
            from pocketsphinx.lm import ArpaBoLM

            model = ArpaBoLM(text="\n".join(" ".join(words) for words in texts if words), add_start=True)
            model.compute()
            path = Path(self._folder.name) / "script.lm"
            model.write_file(str(path))
            self._rough = Decoder(lm=str(path), dict=str(self._dictionary), loglevel="FATAL", bestpath=False)
        out = []
        for pcm, start in zip(pieces, starts, strict=True):
            try:
                _run(self._rough, pcm)
            except RuntimeError:
                continue
            if self._rough.hyp() is None:
                continue
            spoken = [found for found in self._rough.seg() if found.word[:1] not in "<["]
            out += [(f.word.split("(")[0], start + _s(f.start_frame), start + _s(f.end_frame + 1)) for f in spoken]
        return out


def _run(decoder: Any, pcm: I16) -> None:
    decoder.reinit_feat()
    decoder.start_utt()
    decoder.process_raw(pcm.tobytes(), full_utt=True)
    decoder.end_utt()


def _s(frame: int) -> float:
    return frame * FRAME_S + FRAME_SHIFT_S if frame > 0 else 0.0
