"""One line: its words, their phones with the stress they have in this sentence, and its times from 0."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from marotte.basis.contracts.common import Told
from marotte.basis.ticks import ticks
from marotte.script.align import HeardLine, Wanted
from marotte.script.casting import Ask
from marotte.script.phones import FUNCTION_WORDS, VOWELS, pronounce
from marotte.script.pieces import fold
from marotte.script.spoken import SaidWord, spoken
from marotte.script.timing import TimedPhone, WordPhones, by_rule, fastest


@dataclass(frozen=True, slots=True, kw_only=True)
class TimedLine:
    """One line with its times from 0 [ticks]."""

    words: tuple[str, ...]
    places: tuple[int, ...]
    """Per word: letters of the text before it."""
    phones: tuple[TimedPhone, ...]
    stop: int
    syllables: int
    accents: tuple[int, ...]
    from_recording: bool = False
    quality: float | None = None
    loudness: tuple[float, ...] = ()
    word_quality: tuple[float, ...] = ()
    told: tuple[Told, ...] = ()
    """Without line and file line: those are not this cell's to know."""

    def word_spans(self) -> tuple[tuple[int, int], ...]:
        """Return (start, stop) of every word [ticks]."""
        spans: dict[int, tuple[int, int]] = {}
        for phone in self.phones:
            if phone.word >= 0:
                start = spans.get(phone.word, (phone.start, 0))[0]
                spans[phone.word] = (start, phone.stop)
        return tuple(spans[w] for w in range(len(self.words)))


def lower_says(says: Mapping[str, str]) -> dict[str, str]:
    """Return the file's own words as ``line`` wants them: lower case, without accents."""
    return {fold(word).lower().replace("’", "'"): phones for word, phones in says.items()}


def line(ask: Ask, says: Mapping[str, str], heard: HeardLine | None = None) -> TimedLine:
    """Return one line, timed from 0: as a recording has it, else by rule.

    Args:
        ask: its text, pace and rests; pace and rests count only without a recording.
        says: the file's own words, through ``lower_says``.
        heard: where a recording holds this line.
    """
    utterance = spoken(ask.text)
    words, guessed = word_phones(utterance.words, says)
    told: list[Told] = [_guess(word, arpabet) for word, arpabet in guessed.items()]
    told += [Told(code="unread", sentence=f"{piece!r} has no reading and is left out") for piece in utterance.skipped]
    written = tuple(w.written for w in utterance.words)
    places = tuple(w.at for w in utterance.words)
    accents = tuple(k for k, w in enumerate(words) if w.accent)
    if heard is not None:
        return TimedLine(
            words=written, places=places, phones=heard.phones, stop=heard.phones[-1].stop, accents=accents, told=tuple(told),
            syllables=sum(p.name in VOWELS for p in heard.phones), from_recording=True, quality=heard.quality, loudness=heard.loudness,
            word_quality=heard.word_quality,
        )  # fmt: skip
    phones = _with_rests(by_rule(words, ask.pace), utterance.words, ask.rests)
    if words and ask.pace > fastest(words):
        sentence = f"{ask.pace:.1f} syllables a second is faster than its phones at their shortest"
        told.append(Told(code="pace", sentence=sentence))
    return TimedLine(
        words=written, places=places, phones=phones, stop=phones[-1].stop if phones else 0, accents=accents, told=tuple(told),
        syllables=sum(p in VOWELS for w in words for p in w.phones),
    )  # fmt: skip


def wanted(number: int, ask: Ask, says: Mapping[str, str]) -> Wanted:
    """Return what to listen for in a recording of a line."""
    said = spoken(ask.text).words
    return Wanted(line=number, said=said, words=word_phones(said, says)[0])


def _guess(word: str, arpabet: str) -> Told:
    return Told(
        code="letters",
        sentence=f"{word!r} is in no dictionary and was read by its letters, {arpabet}; write it under brief > says",
    )


def word_phones(words: Sequence[SaidWord], says: Mapping[str, str]) -> tuple[tuple[WordPhones, ...], dict[str, str]]:
    """Return the words as they are spoken in this sentence, and those that were read by their letters.

    Function words lose their stress unless the writer set them off; of every phrase (up to a pause) the last word with stress
    carries the weight. ``the`` before a vowel is DH IY.
    """
    said = [pronounce(w.word, says) for w in words]
    guessed = {w.written: p.arpabet for w, p in zip(words, said, strict=True) if p.origin == "letters"}
    first = 0
    out: list[WordPhones] = []
    while first < len(words):
        last = first
        while last < len(words) - 1 and not words[last].pause:
            last += 1
        span = range(first, last + 1)
        weak = {k: words[k].word in FUNCTION_WORDS and not words[k].emphasis for k in span}
        strong = [k for k in span if not weak[k] and 1 in said[k].stress]
        main = strong[-1] if strong else next((k for k in reversed(span) if 1 in said[k].stress), last)
        for k in span:
            phones, stress = said[k].phones, said[k].stress
            if weak[k] and k != main:
                stress = tuple(0 if s > 0 else s for s in stress)
            if (
                words[k].word == "the"
                and k < len(words) - 1
                and said[k + 1].phones[:1]
                and said[k + 1].phones[0] in VOWELS
            ):
                phones = ("DH", "IY")
            accent = k == main or (words[k].emphasis and not weak[k])
            out.append(
                WordPhones(
                    phones=phones, stress=stress, accent=accent, weak=weak[k] and k != main, pause=words[k].pause
                )
            )
        first = last + 1
    return tuple(out), guessed


def _with_rests(
    phones: tuple[TimedPhone, ...], words: Sequence[SaidWord], rests: Sequence[tuple[int, float]]
) -> tuple[TimedPhone, ...]:
    """Put silences before the words that follow them; a pause already there grows to the silence."""
    if not rests or not phones:
        return phones
    before = {next((k for k, w in enumerate(words) if w.at >= at), len(words)): length for at, length in rests}
    out: list[TimedPhone] = []
    shift = 0
    for phone in phones:
        if phone.word > 0 and phone.word in before and (not out or out[-1].word != phone.word):
            length = ticks(before.pop(phone.word))
            here = phone.start + shift
            start = here
            if out and out[-1].name == "SIL":
                start = out.pop().start
            stop = max(start + length, here)
            out.append(TimedPhone(name="SIL", stress=-1, start=start, stop=stop, word=-1))
            shift += stop - here
        out.append(
            TimedPhone(
                name=phone.name,
                stress=phone.stress,
                start=phone.start + shift,
                stop=phone.stop + shift,
                word=phone.word,
            )
        )
    return tuple(out)
