"""How a mouth is played: ``flap``, ``hits`` or ``lips``.

``flap`` (a hand, a beak): opens on syllables, at most 4 a second and then 60 % wide. ``hits`` (one jaw): opens on stressed
syllables, rides half shut over the rest, shuts at the end of a phrase and on an m, p or b that carries stress or opens a phrase.
``lips``: all mouth shapes, blended, every p, b, m closed and every f, v on the teeth. It opens ON the syllable, never bites it.
These are rules of the trade (common practice, no source); docs/methods/speech-styles.md has them with their numbers.
"""

from __future__ import annotations

from dataclasses import dataclass
from operator import itemgetter
from typing import Final, Literal, NamedTuple

import numpy as np

from marotte.basis.contracts.common import F64, I64, Told, f64
from marotte.basis.contracts.script import Spoken
from marotte.basis.ticks import ticks
from marotte.script.closures import FRAME, HELD, TOUCH, Contact, contact, fitted
from marotte.script.mouth import DOMINANCE, UNSTRESSED
from marotte.script.strokes import Stroke, joined, strung
from marotte.script.syllables import PAUSE, Phrase, Syllable, phrases
from marotte.script.visemes import CLOSED, CONTACTS, VOWELS, shapes_of

Style = Literal["flap", "hits", "lips"]

FLAP_RATE: Final = 4.0
"""Openings a second that a hand can do, at ``FLAP_SHARE`` of the gape."""
FLAP_SHARE: Final = 0.60
WIDE: Final = {True: 0.75, False: 0.40}
"""``flap``: opening by stress, before the ceiling."""
HIT: Final = 0.75
"""``hits``: opening on a stressed syllable."""
ACCENT: Final = 0.15
"""How much wider a word opens that carries its phrase. Recorded jaws open about 28 % more on stressed words under narrow focus
(public recordings of jaw dynamics, 1016 words); here a fifth more (a rule of this project)."""
RIDE: Final = 0.20
"""``hits``: how far open the mouth rides through a phrase between its hits."""
JAW_FULL: Final = 0.144
"""``hits``: time from shut to wide open [s]. Two recorded jaws peak at 125 mm/s over 11.2 mm and 79 over 5.3 (rate-comparison
recordings, Tiede et al. 2017), 13.0 of their range a second in the mean; a minimum-jerk move peaks at 15/8 of its mean speed."""
HAND_FULL: Final = 0.5 / FLAP_RATE / FLAP_SHARE
"""``flap``: the same for a hand, from its own ceiling [s]."""
LOUD: Final = 0.25 / 6.0
"""How much wider per decibel that a word is louder than its line, to 6 dB either way (a rule of this project)."""
STAY_SHUT: Final = ticks(0.5)
"""A mouth that shut at the end of a phrase stays shut through a pause shorter than this [ticks]; a rule of this project."""
SEEN: Final = 0.70
"""Share of the opening asked that has to be reached for a hit."""


_PULLS: Final = np.array(DOMINANCE)


class Opening(NamedTuple):
    """One instant at which the mouth must be open."""

    start: int
    """The vowel [ticks]."""
    stop: int
    amount: float
    """0 to 1 of the way to the widest shape; for ``lips`` 0, where the blend says how wide."""
    word: int
    weight: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Mouthing:
    """What one line asks of a mouth, whatever mouth it is."""

    line: int
    start: int
    stop: int
    keys: tuple[tuple[int, float], ...]
    """``flap`` and ``hits``: (tick, opening) of the one curve; empty for ``lips``."""
    openings: tuple[Opening, ...]
    contacts: tuple[Contact, ...]
    shapes: I64
    """``lips``: (s,) shape of each sound in order."""
    centres: I64
    alphas: F64
    thetas: F64
    told: tuple[Told, ...] = ()


def mouthing(line: Spoken, style: Style, spans: tuple[Phrase, ...] | None = None) -> Mouthing:
    """Return what a line asks of a mouth that is played in a style; its phrases may be handed in where they are known."""
    if not line.seen:
        spans = ()
    elif spans is None:
        spans = phrases(line)
    if style == "flap":
        return _flap(line, spans)
    if style == "hits":
        return _hits(line, spans)
    return _lips(line, spans)


def _made(
    line: Spoken, keys: list[tuple[int, float]], openings: list[Opening], contacts: list[Contact], told: list[Told]
) -> Mouthing:
    none = _ticks_of([])
    return Mouthing(
        line=line.line, start=line.start, stop=line.stop, keys=tuple(keys), openings=tuple(openings),
        contacts=tuple(fitted(contacts)), shapes=none, centres=none, alphas=f64(np.zeros((0, 2))),
        thetas=f64(np.zeros(0)), told=tuple(told),
    )  # fmt: skip


def _ticks_of(numbers: list[int]) -> I64:
    out = np.array(numbers, np.int64)
    out.flags.writeable = False
    return out


def _peak(vowel_start: int, vowel_stop: int) -> int:
    """Return the tick at which the mouth is fully open: on the vowel, not after it."""
    return vowel_start + min((vowel_stop - vowel_start) // 3, ticks(0.040))


def _louder(line: Spoken, word: int) -> float:
    """Return the factor on an opening by how loud its word is in the recording; 1 without one."""
    if not 0 <= word < len(line.loudness):
        return 1.0
    return 1.0 + LOUD * max(-6.0, min(6.0, line.loudness[word]))


def _flap(line: Spoken, spans: tuple[Phrase, ...]) -> Mouthing:
    least = ticks(1.0 / FLAP_RATE)
    keys: list[tuple[int, float]] = []
    openings: list[Opening] = []
    contacts: list[Contact] = []
    told: list[Told] = []
    lost: list[str] = []
    for number, span in enumerate(spans):
        kept: list[Syllable] = []
        for syllable in span.syllables:
            if not kept or syllable.vowel.start - kept[-1].vowel.start >= least:
                kept.append(syllable)
                continue
            # over the ceiling: the weaker of the two is passed over, the earlier one where both weigh the same
            far = len(kept) < 2 or syllable.vowel.start - kept[-2].vowel.start >= least
            if syllable.stressed and not kept[-1].stressed and far:
                kept[-1] = syllable
            elif syllable.stressed:
                lost.append(_word(line, syllable.vowel.word))
        strokes: list[Stroke] = []
        for place, syllable in enumerate(kept):
            start = syllable.vowel.start
            gaps = [start - kept[place - 1].vowel.start] if place else []
            gaps += [kept[place + 1].vowel.start - start] if place + 1 < len(kept) else []
            # a hand has a top speed: what it does 4 times a second at 60 % it does twice a second at 100 %
            ceiling = min(1.0, FLAP_SHARE * min(gaps) / least) if gaps else 1.0
            wide = WIDE[syllable.stressed] + (ACCENT if syllable.accent else 0.0)
            amount = min(wide * _louder(line, syllable.vowel.word), ceiling)
            strokes.append(Stroke(_peak(start, syllable.vowel.stop), syllable.vowel.stop, amount))
            openings.append(
                Opening(
                    start=start, stop=syllable.vowel.stop, amount=amount, word=syllable.vowel.word,
                    weight=1.0 if syllable.stressed else 0.5,
                )
            )  # fmt: skip
        joined(keys, strung(strokes, 0.0, HAND_FULL, span))
        contacts.append(_shut(spans, number))
    if lost:
        told.append(
            Told(
                code="flap.ceiling", line=line.line,
                sentence=f"line {line.line}: more than {FLAP_RATE:g} openings a second are asked; passed over: {', '.join(lost)}",
            )
        )  # fmt: skip
    return _made(line, keys, openings, contacts, told)


def _hits(line: Spoken, spans: tuple[Phrase, ...]) -> Mouthing:
    keys: list[tuple[int, float]] = []
    openings: list[Opening] = []
    contacts: list[Contact] = []
    for place, span in enumerate(spans):
        stressed = [s for s in span.syllables if s.stressed]
        strokes: list[Stroke] = []
        for syllable in stressed:
            vowel = syllable.vowel
            accent = syllable.accent or (syllable is stressed[-1] and not line.accents)
            amount = min(1.0, (HIT + (ACCENT if accent else 0.0)) * _louder(line, vowel.word))
            openings.append(
                Opening(
                    start=vowel.start, stop=vowel.stop, amount=amount, word=vowel.word, weight=1.25 if syllable.accent else 1.0
                )
            )  # fmt: skip
            strokes.append(Stroke(_peak(vowel.start, vowel.stop), vowel.stop, amount))
        joined(keys, strung(strokes, RIDE, JAW_FULL, span))
        carried = {s.bilabial for s in stressed if s.bilabial >= 0}
        if line.phones[span.first].name in CLOSED:
            carried.add(span.first)
        for index in sorted(carried):
            phone = line.phones[index]
            made, _ = contact("closure", phone.start, phone.stop, phone.word, 1.0, FRAME)
            contacts.append(made)
        contacts.append(_shut(spans, place))
    return _made(line, keys, openings, contacts, [])


def _shut(spans: tuple[Phrase, ...], place: int) -> Contact:
    """Return the shutting at the end of a phrase: held two frames, or through the whole of a short pause."""
    start = spans[place].stop + TOUCH
    stop = start + 2 * FRAME
    if place + 1 < len(spans) and spans[place + 1].start - start < STAY_SHUT:
        stop = max(start + FRAME, spans[place + 1].start - TOUCH - 1)
    made, _ = contact("closure", start, stop, -1, 0.5, FRAME)
    return made


def _lips(line: Spoken, spans: tuple[Phrase, ...]) -> Mouthing:
    rows: list[tuple[int, int, float]] = []  # centre, shape, share of its pull
    contacts: list[Contact] = []
    openings: list[Opening] = []
    told: list[Told] = []
    short: list[str] = []
    phones = line.phones
    for span in spans:
        rows.append((span.start - PAUSE, 0, 1.0))
        for index in range(span.first, span.last + 1):
            phone = phones[index]
            if phone.name == "SIL":
                continue
            shapes = shapes_of(phone.name, phone.stress)
            if phone.name == "HH":
                shapes = _next_vowel(line, index, span.last)
            share = UNSTRESSED if phone.stress == 0 and phone.name in VOWELS else 1.0
            length = phone.stop - phone.start
            if len(shapes) == 1:
                rows.append((phone.start + length // 2, shapes[0], share))
            else:
                for k, shape in enumerate(shapes):
                    rows.append((phone.start + (length * (2 * k + 1)) // (2 * len(shapes)), shape, share))
            if phone.name in CONTACTS:
                kind: Literal["closure", "lip_teeth"] = "closure" if phone.name in CLOSED else "lip_teeth"
                made, by = contact(kind, phone.start, phone.stop, phone.word, 1.0 if phone.name in CLOSED else 0.7)
                contacts.append(made)
                if by > HELD // 2:
                    short.append(f"{phone.name} of {_word(line, phone.word)!r}")
        rows.append((span.stop + PAUSE, 0, 1.0))
        for syllable in span.syllables:
            if syllable.stressed:
                vowel = syllable.vowel
                openings.append(
                    Opening(
                        start=vowel.start,
                        stop=vowel.stop,
                        amount=0.0,
                        word=vowel.word,
                        weight=1.25 if syllable.accent else 1.0,
                    )
                )
    if short:
        told.append(
            Told(
                code="lips.gives_way", line=line.line,
                sentence=f"line {line.line}: so fast that sounds beside give way to a 60 ms contact: "
                + ", ".join(short),
            )
        )  # fmt: skip
    rows.sort(key=itemgetter(0))
    numbers = _ticks_of([shape for _, shape, _ in rows])
    share_ = np.array([share for _, _, share in rows])
    return Mouthing(
        line=line.line, start=line.start, stop=line.stop, keys=(), openings=tuple(openings), contacts=tuple(fitted(contacts)),
        shapes=numbers,
        centres=_ticks_of([row[0] for row in rows]),
        alphas=f64(_PULLS[numbers, :2] * share_[:, None] if rows else np.zeros((0, 2))),
        thetas=f64(_PULLS[numbers, 2] if rows else np.zeros(0)), told=tuple(told),
    )  # fmt: skip


def _next_vowel(line: Spoken, index: int, last: int) -> tuple[int, ...]:
    for later in range(index + 1, last + 1):
        phone = line.phones[later]
        if phone.name in VOWELS:
            return shapes_of(phone.name, phone.stress)[:1]
    return ()


def _word(line: Spoken, index: int) -> str:
    return line.words[index] if 0 <= index < len(line.words) else ""
