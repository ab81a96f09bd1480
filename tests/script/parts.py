"""A creature and a part made in code for the tests of the script engine."""

from __future__ import annotations

import math

import numpy as np

from marotte.basis.contracts.script import Phone, Spoken
from marotte.basis.ticks import ticks
from marotte.creature.schema.build import Build, Eye
from marotte.creature.schema.functions import Function
from marotte.creature.schema.poses import Poses

DEG = math.radians(1.0)
WORDS = {
    "puppet": "P AH1 P AH0 T", "people": "P IY1 P AH0 L", "mama": "M AA1 M AH0", "bob": "B AA1 B", "baby": "B EY1 B IY0",
    "letter": "L EH1 T ER0", "morning": "M AO1 R N IH0 NG", "give": "G IH1 V", "the": "DH AH0", "to": "T UW1", "a": "AH0",
    "voice": "V OY1 S", "five": "F AY1 V", "home": "HH OW1 M", "window": "W IH1 N D OW0", "stamp": "S T AE1 M P",
    "before": "B IH0 F AO1 R", "you": "Y UW1", "measure": "M EH1 ZH ER0", "canoe": "K AH0 N UW1", "birch": "B ER1 CH",
    "slid": "S L IH1 D", "on": "AA1 N", "smooth": "S M UW1 DH", "planks": "P L AE1 NG K S", "thing": "TH IH1 NG",
}  # fmt: skip


def spoken(
    text: str, start_s: float = 1.0, line: int = 1, phone_s: float = 0.08, mood: str = "", scene: str = "INT. HUT"
) -> Spoken:
    """Return a line whose phones all last as long; a comma is a pause of 0.3 s."""
    at = ticks(start_s)
    phones: list[Phone] = []
    words: list[str] = []
    spans: list[tuple[int, int]] = []
    length = ticks(phone_s)
    for token in text.split():
        word = token.strip(",.!?")
        begin = at
        for name in WORDS[word.lower()].split():
            vowel = name[-1].isdigit()
            phones.append(
                Phone(
                    name=name.rstrip("012"), stress=int(name[-1]) if vowel else -1, start=at,
                    stop=at + (length * 3 // 2 if vowel else length), word=len(words),
                )
            )  # fmt: skip
            at = phones[-1].stop
        words.append(word)
        spans.append((begin, at))
        if token.endswith(","):
            phones.append(Phone(name="SIL", stress=-1, start=at, stop=at + ticks(0.3), word=-1))
            at += ticks(0.3)
    return Spoken(
        line=line, scene=scene, file_line=10 + line, text=text, mood=mood, start=ticks(start_s), stop=at, words=tuple(words),
        word_spans=tuple(spans), phones=tuple(phones), syllables=sum(p.stress >= 0 for p in phones), from_recording=False,
    )  # fmt: skip


def long_part(lines: int, gap_s: float = 2.0, phone_s: float = 0.075) -> tuple[Spoken, ...]:
    """Return lines one after another, drawn from the word list."""
    draw = np.random.default_rng(4)
    names = sorted(WORDS)
    out: list[Spoken] = []
    at = 1.0
    for number in range(1, lines + 1):
        text = " ".join(str(w) for w in draw.choice(names, size=int(draw.integers(4, 14))))
        out.append(spoken(text, at, number, phone_s))
        at = out[-1].stop / 1200 + gap_s
    return tuple(out)


def turn(part: str, low: float, high: float, neutral: float = 0.0, side: str | None = None) -> Function:
    """Return a function in degrees."""
    return Function(
        part=part, side=side, travel=(low * DEG, high * DEG), neutral=neutral * DEG, power_off=neutral * DEG
    )  # type: ignore[arg-type]


def slide(part: str, low: float, high: float, neutral: float = 0.0, side: str | None = None) -> Function:
    """Return a function in millimetres."""
    return Function(
        part=part, side=side, travel=(low / 1e3, high / 1e3), neutral=neutral / 1e3, power_off=neutral / 1e3
    )  # type: ignore[arg-type]


def head() -> dict[str, Function]:
    """Return the functions of a head with skin, eyes, lids, ears and neck."""
    out = {
        "head_turn": turn("head_turn", -40, 40), "head_nod": turn("head_nod", -25, 20), "head_tilt": turn("head_tilt", -18, 18),
        "jaw": turn("jaw", 0, 22, 3), "lip_lower": slide("lip_lower", -2, 6), "nose": slide("nose", -3, 3),
    }  # fmt: skip
    for side in ("left", "right"):
        out |= {
            f"lip_corner_{side}": slide("lip_corner", -5, 9, 0, side), f"lip_upper_{side}": slide("lip_upper", 0, 6, 0, side),
            f"cheek_{side}": slide("cheek", 0, 6, 0, side), f"eye_turn_{side}": turn("eye_turn", -28, 28, 0, side),
            f"eye_lift_{side}": turn("eye_lift", -18, 18, 0, side), f"lid_upper_{side}": turn("lid_upper", 0, 62, 14, side),
            f"lid_lower_{side}": turn("lid_lower", 0, 16, 0, side), f"brow_inner_{side}": slide("brow_inner", -7, 7, 0, side),
            f"brow_outer_{side}": slide("brow_outer", -6, 6, 0, side), f"ear_lift_{side}": turn("ear_lift", -20, 70, 0, side),
            f"ear_swivel_{side}": turn("ear_swivel", -45, 45, 0, side), f"ear_tip_{side}": turn("ear_tip", 0, 70, 0, side),
        }  # fmt: skip
    return out


def build() -> Build:
    """Return the build of that head."""
    return Build(eye=Eye(diameter=0.040, spacing=0.088, toe_in=2 * DEG))


def poses() -> Poses:
    """Return its mouth shapes and moods, both sides written."""

    def both(**ways: float) -> dict[str, float]:
        out: dict[str, float] = {}
        for name, way in ways.items():
            pair = name in {"lip_corner", "lip_upper", "lid_upper", "ear_lift", "ear_tip", "brow_inner", "cheek"}
            out |= {f"{name}_left": way, f"{name}_right": way} if pair else {name: way}
        return out

    mouth = {
        "pbm": both(jaw=-1.0, lip_lower=-0.5, lip_upper=0.0), "fv": both(jaw=0.0, lip_lower=-0.6, lip_upper=0.4),
        "aa": both(jaw=0.95, lip_lower=0.6, lip_upper=0.4), "e": both(jaw=0.55, lip_lower=0.5, lip_corner=0.3),
        "i": both(jaw=0.25, lip_lower=0.4, lip_corner=0.6), "o": both(jaw=0.65, lip_lower=0.3, lip_corner=-0.5),
        "u": both(jaw=0.25, lip_lower=0.2, lip_corner=-0.8), "chjsh": both(jaw=0.1, lip_lower=0.4, lip_corner=-0.4),
        "sz": both(jaw=0.05, lip_lower=0.4, lip_corner=0.3), "td": both(jaw=0.15), "kg": both(jaw=0.25), "nl": both(jaw=0.2),
        "th": both(jaw=0.2), "r": both(jaw=0.25, lip_corner=-0.2),
    }  # fmt: skip
    moods = {
        "wary": both(lid_upper=0.35, ear_lift=-0.4, brow_inner=0.5),
        "delighted": both(lid_upper=-0.2, lip_corner=0.8, ear_lift=0.5, jaw=0.3),
    }
    return Poses(mouth=mouth, moods=moods)
