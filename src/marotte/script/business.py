"""Business in plain words: "ears back, slowly", "blinks twice", "stamps", "nods".

A piece of business is a subject and what it does, with how, how often, which side and how much around it in any order. What is not
understood is told with the nearest form that is; the words are listed in docs/methods/business.md, which is made from here.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from difflib import SequenceMatcher
from functools import lru_cache
from typing import Final, Literal

from marotte.basis.ticks import ticks
from marotte.script.moods import plain

Side = Literal["left", "right"] | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Form:
    """One thing that can be done: parts and how far of their way, and how it runs."""

    does: tuple[tuple[str, float], ...]
    """Part and way (-1 to 1, from neutral)."""
    run: Literal["hold", "pulse", "shake", "stay", "blink", "still"] = "hold"
    """hold: there, a while, back. pulse: there and back. shake: to and fro. stay: there until something else is asked."""
    times: int = 1
    go: float = 0.30
    """Time one way [s]."""
    keep: float = 1.2
    """How long it holds [s]."""


FORMS: Final[dict[str, Form]] = {
    "ears back": Form(does=(("ear_lift", -0.9),)),
    "ears forward": Form(does=(("ear_lift", 0.9),)),
    "ears up": Form(does=(("ear_lift", 0.8),)),
    "ears down": Form(does=(("ear_lift", -0.7),), go=0.6),
    "ears flat": Form(does=(("ear_lift", -1.0), ("ear_tip", 0.3)), go=0.2),
    "ears out": Form(does=(("ear_swivel", 0.8),)),
    "ears droop": Form(does=(("ear_lift", -0.6), ("ear_tip", 0.6)), go=0.9),
    "ear flicks": Form(does=(("ear_lift", 0.5), ("ear_swivel", 0.4)), run="pulse", go=0.1),
    "ear turns": Form(does=(("ear_swivel", 0.8),)),
    "ear tips curl": Form(does=(("ear_tip", 0.8),)),
    "nods": Form(does=(("head_nod", -0.45),), run="pulse", times=2, go=0.2),
    "shakes head": Form(does=(("head_turn", 0.35),), run="shake", times=2, go=0.25),
    "tilts head": Form(does=(("head_tilt", 0.7),), go=0.45),
    "head up": Form(does=(("head_nod", 0.6),), go=0.4),
    "head down": Form(does=(("head_nod", -0.7),), go=0.4),
    "turns head": Form(does=(("head_turn", 0.7),), go=0.4),
    "bows": Form(does=(("head_nod", -0.9), ("body_tip", 0.6)), go=0.7, keep=0.5),
    "blinks": Form(does=(), run="blink"),
    "winks": Form(does=(("lid_upper", 1.0), ("lid_lower", 1.0)), run="pulse", go=0.125),
    "shuts eyes": Form(does=(("lid_upper", 1.0), ("lid_lower", 1.0)), go=0.25, keep=1.5),
    "eyes wide": Form(does=(("lid_upper", -0.9), ("lid_lower", -0.9)), go=0.12),
    "narrows eyes": Form(does=(("lid_upper", 0.45), ("lid_lower", 0.6)), go=0.3),
    "brows up": Form(does=(("brow", 0.9), ("brow_inner", 0.9), ("brow_outer", 0.9))),
    "frowns": Form(does=(("brow", -0.8), ("brow_inner", -0.9), ("brow_outer", -0.3))),
    "opens mouth": Form(does=(("jaw", 0.8), ("beak", 0.8)), keep=0.6),
    "gapes": Form(does=(("jaw", 1.0), ("beak", 1.0)), go=0.4),
    "yawns": Form(does=(("jaw", 1.0), ("beak", 1.0), ("head_nod", 0.3), ("lid_upper", 0.7)), go=0.9, keep=0.8),
    "smiles": Form(does=(("lip_corner", 0.8), ("cheek", 0.6)), go=0.35),
    "sneers": Form(does=(("lip_upper", 0.8), ("muzzle_lift", 0.7), ("nose", 0.4)), go=0.25),
    "twitches nose": Form(does=(("nose", 0.5), ("nostril", 0.5)), run="pulse", times=3, go=0.125),
    "sniffs": Form(does=(("nose", 0.5), ("nostril", 0.8), ("head_nod", 0.15)), run="pulse", times=2, go=0.15),
    "snorts": Form(does=(("nostril", 1.0), ("muzzle_lift", 0.5), ("head_nod", -0.3)), run="pulse", go=0.15),
    "sighs": Form(does=(("breath", 1.0), ("head_nod", -0.3)), go=0.7, keep=0.2),
    "breathes in": Form(does=(("breath", 1.0),), go=0.6, keep=0.3),
    "stamps": Form(does=(("arm", 0.6), ("hop", 0.35), ("body_tip", 0.25)), run="pulse", go=0.15),
    "hops": Form(does=(("hop", 1.0),), run="pulse", go=0.18),
    "turns body": Form(does=(("body_turn", 0.7),), go=0.6),
    "sways": Form(does=(("body_turn", 0.35),), run="shake", times=2, go=0.5),
    "leans forward": Form(does=(("body_tip", 0.7), ("neck", 0.3)), go=0.5),
    "steps": Form(does=(("gait", 0.6),), run="pulse", times=2, go=0.4),
    "raises arms": Form(does=(("arm", 0.9),), go=0.45),
    "lifts wings": Form(does=(("wing_lift", 0.8),), go=0.35),
    "flaps wings": Form(does=(("wing_lift", 0.8), ("wing_reach", 0.4)), run="pulse", times=3, go=0.16),
    "reaches out": Form(does=(("wing_reach", 0.9), ("arm", 0.5)), go=0.5),
    "tail up": Form(does=(("tail", 0.9),)),
    "tail down": Form(does=(("tail", -0.7),), go=0.5),
    "flicks tail": Form(does=(("tail", 0.7),), run="pulse", go=0.12),
    "neck up": Form(does=(("neck", 0.8),), go=0.5),
    "shrinks": Form(does=(("neck", -0.8), ("ear_lift", -0.7), ("head_nod", -0.3)), go=0.3),
    "startles": Form(
        does=(("ear_lift", 0.9), ("lid_upper", -1.0), ("head_nod", 0.35), ("brow", 0.8)), go=0.1, keep=0.8
    ),
    "listens": Form(does=(("ear_lift", 0.6), ("ear_swivel", 0.4), ("head_tilt", 0.35)), go=0.35, keep=1.6),
    "keeps still": Form(does=(), run="still"),
}
"""Every form that is understood, by its plainest words; the numbers are rules of this project."""

_SAME: Final[tuple[tuple[str, str], ...]] = (
    # what people write -> the words of a form; first match wins, longest first within a subject
    (r"\b(stands?|holds?|keeps?|stays?) (quite |very )?still\b|\bfreezes?\b|\b(be )?still\b|\bstock still\b|\bholds?$", "keeps still"),
    (r"\blisten(s|ing)?\b|\bpricks? up\b.*\bears?\b", "listens"),
    (r"\b(ears?)\b.*\b(flick|twitch)\w*|\b(flick|twitch)\w*\b.*\bears?\b", "ear flicks"),
    (r"\bears?\b.*\bflat\w*|\bflatten\w*\b.*\bears?\b", "ears flat"),
    (r"\bears?\b.*\b(droop|sag|sink)\w*|\bdroop\w*\b.*\bears?\b", "ears droop"),
    (r"\bears?\b.*\bcurl\w*|\bcurl\w*\b.*\bears?\b|\bear tips?\b", "ear tips curl"),
    (r"\bears?\b.*\b(back|backwards?)\b|\bpins?\b.*\bears?\b", "ears back"),
    (r"\bears?\b.*\b(forward|forwards)\b", "ears forward"),
    (r"\bears?\b.*\b(up|rise|raised?)\b|\b(raises?|lifts?|pricks?)\b.*\bears?\b|\bears prick\b", "ears up"),
    (r"\bears?\b.*\b(down|lower\w*)\b|\b(lowers?|drops?)\b.*\bears?\b", "ears down"),
    (r"\bears?\b.*\b(out|apart|outwards?)\b", "ears out"),
    (r"\bears?\b.*\b(turn|swivel)\w*|\b(turn|swivel)\w*\b.*\bears?\b", "ear turns"),
    (r"\bshak\w+\b.*\bhead\b|\bhead shak\w+", "shakes head"),
    (r"\bnod(s|ding)?\b", "nods"),
    (r"\b(tilt|cock)\w*\b.*\bhead\b|\bhead\b.*\b(tilt\w*|cocked|to one side)\b", "tilts head"),
    (r"\b(raises?|lifts?)\b.*\b(head|chin)\b|\b(head|chin) up\b", "head up"),
    (r"\b(lowers?|drops?|hangs?)\b.*\b(head|chin)\b|\b(head|chin) (down|droops|sinks|drops|falls|hangs)\b", "head down"),
    (r"\bturn\w*\b.*\bhead\b|\bhead\b.*\bturn\w*", "turns head"),
    (r"\bbow(s|ing)?\b", "bows"),
    (r"\bblink\w*\b", "blinks"),
    (r"\bwink\w*\b", "winks"),
    (r"\b(shuts?|closes?)\b.*\beyes?\b|\beyes? (shut|closed|close)\b", "shuts eyes"),
    (r"\beyes?\b.*\bwide\b|\bwidens?\b.*\beyes?\b|\beyes widen\b", "eyes wide"),
    (r"\bnarrow\w*\b.*\beyes?\b|\beyes? narrow\w*|\bsquint\w*\b", "narrows eyes"),
    (r"\b(raises?|lifts?)\b.*\b(eye)?brows?\b|\b(eye)?brows? (up|raised|rise)\b", "brows up"),
    (r"\bfrown\w*\b|\bscowl\w*\b|\b(eye)?brows? (down|knit|together)\b|\b(knits?|lowers?)\b.*\b(eye)?brows?\b", "frowns"),
    (r"\byawn\w*\b", "yawns"),
    (r"\bgap(e|es|ing)\b|\b(mouth|jaw|beak) (drops?|falls? open)\b", "gapes"),
    (r"\bopens?\b.*\b(mouth|jaw|beak)\b|\b(mouth|jaw|beak) opens?\b", "opens mouth"),
    (r"\bsmil\w+\b|\bgrin\w*\b", "smiles"),
    (r"\bsneer\w*\b|\b(curls?|lifts?)\b.*\blip\b|\bbares\b.*\bteeth\b", "sneers"),
    (r"\bnose\b.*\btwitch\w*|\btwitch\w*\b.*\bnose\b|\bwrinkles?\b.*\bnose\b", "twitches nose"),
    (r"\bsniff\w*\b", "sniffs"),
    (r"\bsnort\w*\b|\bflares?\b.*\bnostrils?\b|\bnostrils? flare\w*", "snorts"),
    (r"\bsigh\w*\b", "sighs"),
    (r"\bbreath\w*\b", "breathes in"),
    (r"\bst[ao]mp\w*\b|\bthump\w*\b", "stamps"),
    (r"\bhop(s|ping)?\b|\bjump\w*\b", "hops"),
    (r"\bturns?\b (right |half |slowly |quickly )?(its |her |his |their |the )?(whole )?(body|shoulders|round|around)$", "turns body"),
    (r"\bturns? (right |half |slowly |quickly )?(its |her |his |their )?(whole )?(body|shoulders)\b", "turns body"),
    (r"\bsway(s|ing)?\b", "sways"),
    (r"\bleans?\b.*\b(forward|in|over)\b", "leans forward"),
    (r"\bsteps?\b|\bwalks?\b", "steps"),
    (r"\b(raises?|lifts?)\b.*\b(arms?|paws?|hoof|hooves|hands?)\b", "raises arms"),
    (r"\bflap\w*\b", "flaps wings"),
    (r"\b(raises?|lifts?|spreads?|opens?)\b.*\bwings?\b|\bwings? (up|spread)\b", "lifts wings"),
    (r"\breach(es)?\b", "reaches out"),
    (r"\b(flick|wag|twitch)\w*\b.*\btail\b|\btail\b.*\b(flick|wag|twitch)\w*", "flicks tail"),
    (r"\btail\b.*\b(up|cock\w*)\b|\b(cocks?|lifts?|raises?)\b.*\btail\b", "tail up"),
    (r"\btail\b.*\bdown\b|\b(lowers?|drops?)\b.*\btail\b", "tail down"),
    (r"\bstretch\w*\b.*\bneck\b|\bneck (up|stretched)\b", "neck up"),
    (r"\bshrinks?\b|\bcower\w*\b|\bhunch\w*\b|\bducks?\b", "shrinks"),
    (r"\bstartl\w+\b|\bstarts$|\bjumps? with fright\b|\bflinch\w*\b", "startles"),
)  # fmt: skip

_NOUNS: Final = re.compile(
    r"\b(the|a|an|of|her|his|its|their|some|any|no|my|more|counting|sorting|selling|buying|licking) (stamps?|steps?|bows?)\b"
)
"""Things that are spelled like doings: "counts the stamps" is no stamping."""
ALIKE: Final = 0.75
"""How alike two words are spelled that count as one meant (a rule of this project)."""
_SLOW: Final = r"\b(slow|slowly|gently|softly|gradually)\b"
_FAST: Final = r"\b(quick|quickly|fast|sharp|sharply|suddenly|at once|snaps?)\b"
_LITTLE: Final = r"\b(a little|slightly|a touch|half|a bit)\b"
_MUCH: Final = r"\b(right|fully|all the way|hard|wide)\b"
_STAY: Final = r"\b(stays?|keeps?|and holds?|remains?)\b"
_SIDE: Final = r"\bleft\b|\bright (ear|eye|lid|brow|wing|arm|paw|side)\b|\bto the right\b|\bright$"
_NUMBERS: Final = {
    "a": 1.0,
    "one": 1.0,
    "two": 2.0,
    "three": 3.0,
    "four": 4.0,
    "five": 5.0,
    "six": 6.0,
    "eight": 8.0,
    "ten": 10.0,
}
_SECONDS: Final = re.compile(r"\bfor (a|one|two|three|four|five|six|eight|ten|\d+(?:\.\d+)?) (?:second|sec|s\b)")
_COUNTS: Final[dict[str, int]] = {
    "once": 1, "twice": 2, "thrice": 3, "three times": 3, "four times": 4, "five times": 5, "six times": 6,
}  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Deed:
    """One piece of business as understood."""

    form: str
    side: Side
    times: int
    share: float
    """Factor on how far."""
    pace: float
    """Factor on how long."""
    stays: bool
    seconds: float = 0.0
    """How long it is written to last; 0 where it is not."""

    @property
    def ticks(self) -> int:
        """How long it takes [ticks]."""
        form = FORMS[self.form]
        if form.run == "blink":
            return 300 * self.times
        if form.run == "still":
            return ticks(self.seconds or 2.0)
        one = 2 * form.go * self.pace + (form.keep if form.run == "hold" else 0.0)
        return ticks(one) * self.times


@lru_cache(maxsize=4096)
def understood(text: str) -> Deed | None:
    """Return what a direction asks for, or None.

    >>> deed = understood("ears back, slowly")
    >>> deed.form, deed.pace
    ('ears back', 2.0)
    """
    wanted = _NOUNS.sub(" ", plain(text))
    form = next((name for pattern, name in _SAME if re.search(pattern, wanted)), None)
    if form is None:
        return None
    found = re.search(_SIDE, wanted)
    side: Side = None if found is None else "left" if "left" in found.group() else "right"
    times = next((n for word, n in _COUNTS.items() if re.search(rf"\b{word}\b", wanted)), FORMS[form].times)
    pace = 2.0 if re.search(_SLOW, wanted) else 0.6 if re.search(_FAST, wanted) else 1.0
    share = 0.5 if re.search(_LITTLE, wanted) else 1.25 if re.search(_MUCH, wanted) else 1.0
    return Deed(
        form=form, side=side, times=times, share=share, pace=pace, stays=bool(re.search(_STAY, wanted)), seconds=_seconds(wanted)
    )  # fmt: skip


def _seconds(wanted: str) -> float:
    return sum(_NUMBERS.get(found) or float(found) for found in _SECONDS.findall(wanted))


def written_s(text: str) -> float:
    """Return the time [s] that a text asks for in so many words, "for two seconds".

    >>> written_s("She keeps still for two seconds, then nods.")
    2.0
    """
    return _seconds(plain(text))


_SMALL: Final = frozenset("a an the and at to her his its their in on of with".split())  # noqa: SIM905


def nearest_form(text: str) -> tuple[str, bool]:
    """Return the understood form that looks most like a direction that is not understood, and whether it looks much like it.

    Words are compared one by one, as they are spelled. Much: half of the form's words are there, or nearly.
    """
    words = [word for word in re.findall(r"[a-z']+", plain(text)) if word not in _SMALL]
    best = (-1.0, "", False)
    for name in sorted(FORMS):
        wanted = name.split()
        likeness = [max((SequenceMatcher(None, word, own).ratio() for word in words), default=0.0) for own in wanted]
        like = sum(ratio**4 for ratio in likeness) / len(wanted)
        close = 2 * sum(ratio >= ALIKE for ratio in likeness) >= len(wanted)
        if (close, like) > (best[2], best[0]):
            best = (like, name, close)
    return best[1], best[2]
