"""speech.hits, speech.closures, eyes.blink, eyes.look: the share of hits that come off in what the creature reaches."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from marotte.basis.contracts.common import Bool, Quantity, Unknown
from marotte.basis.contracts.finding import Grade
from marotte.basis.contracts.script import Hit
from marotte.basis.ticks import clock
from marotte.basis.units import show
from marotte.creature.naming import named, of_all
from marotte.verdict.hits import widths
from marotte.verdict.margins import Rule, Thresholds
from marotte.verdict.requirements.base import Found, NotClaimed, Requirement, Said
from marotte.verdict.requirements.drive import servo_mechs
from marotte.verdict.workings import PRACTICE, Writer

if TYPE_CHECKING:
    from marotte.creature.creature import Creature
    from marotte.verdict.graph import Results

LEAST: Final = 0.90
"""Share of hits below which it fails (a rule of this project: one in ten lost, and anybody sees it)."""
ENOUGH: Final = 0.95
"""Share that performs: half of what fails may be lost (a rule of this project)."""
PERFORMS: Final = 1.0 - (1.0 - ENOUGH) / (1.0 - LEAST)
"""The margin of that share."""
LOOKS: Final = frozenset({"eyes_arrived", "landed"})
"""Hits of a look: its eyes arrive; and it has landed, the head with them, or the head alone where eyes are fixed."""
NAMED: Final = 3
"""Missed hits that a sentence names at most."""
NARROW: Final = 0.9
"""Share of the width asked under which an opening comes off smaller (a rule of this project)."""


@dataclass(frozen=True, slots=True)
class Narrow:
    """Openings that come off, and smaller than asked."""

    function: str
    """The one that most of them fall short in."""
    drive: str
    """The mechanism with its servo; empty where no servo moves it."""
    count: int
    openings: int
    """That come off."""
    median: float
    """Of their widths, as a share of what is asked."""


@dataclass(frozen=True, slots=True)
class Args:
    """What the requirement reads."""

    what: str
    one: str
    """What is counted, and what one of it is called."""
    total: float
    came: float
    """Weights of all hits, and of those that come off."""
    count: int
    missed: tuple[Hit, ...]
    """The first few, heaviest first."""
    missed_count: int
    asked_missed: int
    """Of the missed, those that the asked motion itself does not meet: no servo can."""
    narrow: Narrow | None = None
    """Where more of them than may be lost come off smaller than asked."""


def _share(args: Args) -> float:
    return args.came / args.total


def _find(args: Args) -> Found:
    at = args.missed[0].opens if args.missed else None
    return Found(
        needed=Quantity(value=LEAST, unit="1", percent=True),
        has=Quantity(value=_share(args), unit="1", percent=True),
        at=at,
    )


def _work(w: Writer, args: Args, found: Found) -> None:
    w.need(w.rule("s_need", "share that must come off", LEAST, "1", PRACTICE))
    came = w.read(
        "w_came",
        f"weight of the {args.what} that come off",
        "drive: reached motion, over the whole part",
        args.came,
        "1",
    )
    total = w.read("w_all", f"weight of all {args.what}", "script: hits of the part", args.total, "1")
    if args.narrow is not None:
        small, where = args.narrow, f"drive: reached motion of {args.narrow.function}, over the whole part"
        w.rule(
            "k_w", "share of the asked width under which an opening is smaller", NARROW, "1", "a rule of this project"
        )
        w.read("n_open", "openings that come off", where, small.openings, "1")
        w.read("n_small", "of these, smaller than asked", where, small.count, "1")
        w.read("k_med", "width at the median, of what is asked", where, small.median, "1")
    w.worked("s_has", "share that comes off", f"{came}/{total}", "1")


def _say(args: Args, found: Found, grade: Grade) -> Said:
    done = args.count - args.missed_count
    come = "come" if done > 1 else "comes"
    if args.count == 1:
        text = f"the one {args.one} that is asked for {'comes off' if done else 'does not come off'}"
    else:
        text = f"{of_all(done, args.count, args.one, args.what) if done else f'none of {args.count} {args.what}'} {come} off"
    if not args.missed:
        return Said(sentence=f"{text[0].upper()}{text[1:]}{_smaller(args)}.", clause=text)
    some = ", ".join(_named(hit) for hit in args.missed)
    more = f" and {args.missed_count - len(args.missed)} more" if args.missed_count > len(args.missed) else ""
    tail = ""
    if args.asked_missed:
        tail = f"; {args.asked_missed} of these are out of reach of the part as asked, whatever the servos"
    return Said(sentence=f"{text[0].upper()}{text[1:]}; missed: {some}{more}{tail}{_smaller(args)}.", clause=text)


def _smaller(args: Args) -> str:
    """Return how many openings come off, but smaller than they are asked."""
    small = args.narrow
    if small is None:
        return ""
    see = f" (see {small.drive}.drive)" if small.drive else ""
    return (
        f"; {small.count} of {small.openings} openings come off only smaller: the {named(small.function)} opens {show(small.median, '%', 2)} "
        f"as wide as asked, at the median{see}"
    )


def _named(hit: Hit) -> str:
    where = f"line {hit.line}" if hit.line else clock(hit.opens)
    return f"{hit.word} ({where})" if hit.word else f"{where} at {clock(hit.opens)}"


def _looks(hits: list[Hit], met: Bool, asked: Bool) -> tuple[list[Hit], Bool, Bool]:
    """Return looks, one each: a look comes off where eyes arrive and where it has landed with the head, if both are asked."""
    places: dict[str, list[int]] = {}
    for k, hit in enumerate(hits):
        places.setdefault(hit.id.split(".", 1)[1], []).append(k)
    one = [max((hits[k] for k in group), key=lambda hit: hit.weight) for group in places.values()]
    together = [np.array([all(row[k] for k in group) for group in places.values()]) for row in (met, asked)]
    return one, together[0], together[1]


def _gathering(
    kinds: frozenset[str], what: str, one: str, claims: Callable[[Creature, Results], str]
) -> Callable[[Creature, Results, str], Args | Unknown | NotClaimed]:
    def gather(creature: Creature, results: Results, about: str) -> Args | Unknown | NotClaimed:
        why = claims(creature, results)
        if why:
            return NotClaimed(why=why)
        if isinstance(results.demand, Unknown):
            return results.demand
        if isinstance(results.met, Unknown):
            return results.met
        assert not isinstance(results.asked_met, Unknown)
        chosen = [
            k for k, hit in enumerate(results.demand.hits) if hit.kind in kinds or hit.id.rsplit(".", 2)[0] in kinds
        ]
        if not chosen:
            return NotClaimed(why=f"the part asks for no {what}")
        hits = [results.demand.hits[k] for k in chosen]
        met = np.array([bool(results.met[k]) for k in chosen])
        asked = np.array([bool(results.asked_met[k]) for k in chosen])
        if kinds & LOOKS:
            hits, met, asked = _looks(hits, met, asked)
        missed = sorted(
            (hit for hit, ok in zip(hits, met, strict=True) if not ok), key=lambda hit: (-hit.weight, hit.opens, hit.id)
        )
        return Args(
            what=what, one=one, total=float(sum(hit.weight for hit in hits)),
            came=float(sum(hit.weight for hit, ok in zip(hits, met, strict=True) if ok)), count=len(hits),
            missed=tuple(missed[:NAMED]), missed_count=len(missed), asked_missed=int((~met & ~asked).sum()),
            narrow=_narrow(creature, results, [hit for hit, ok in zip(hits, met, strict=True) if ok and hit.kind == "open"]),
        )  # fmt: skip

    return gather


def _narrow(creature: Creature, results: Results, openings: list[Hit]) -> Narrow | None:
    """Return what is to be said of openings that come off smaller than asked; None where that is a few."""
    if isinstance(results.demand, Unknown) or isinstance(results.response, Unknown) or not openings:
        return None
    names = dict.fromkeys(need.function for hit in openings for need in hit.needs if need.sense == ">=")
    shut = {name: creature.functions[name].travel[0] for name in names}
    shares = widths(results.demand.motion, results.response.reached, openings, shut)
    small = {name: int((share < NARROW).sum()) for name, share in shares.items()}
    name = max(small, key=lambda one: (small[one], one), default="")
    if not name or small[name] <= (1.0 - ENOUGH) * len(openings):
        return None
    mech = results.mech_of(name).name
    drive = mech if mech in servo_mechs(creature) else ""
    return Narrow(name, drive, small[name], len(openings), float(np.nanmedian(shares[name])))


def _speaks(creature: Creature, results: Results) -> str:
    return "" if _mouth(creature) else "no jaw, beak or lips that move"


def _mouth(creature: Creature) -> bool:
    return any(function.part in ("jaw", "beak", "lip_lower", "lip_upper") for function in creature.functions.values())


def _lips(creature: Creature, results: Results) -> str:
    if creature.brief.speech != "lips":
        return f"this mouth is played as {creature.brief.speech}, and closures count only where it is played by lips"
    parts = {function.part for function in creature.functions.values()}
    if "beak" in parts and not parts & {"jaw", "lip_lower", "lip_upper"}:
        return "a beak has no lips: it is never judged by lip shapes"
    return _speaks(creature, results)


def _has_part(*parts: str) -> Callable[[Creature, Results], str]:
    def claims(creature: Creature, results: Results) -> str:
        if any(function.part in parts for function in creature.functions.values()):
            return ""
        return f"no {' or '.join(part.replace('_', ' ') for part in parts)} that moves"

    return claims


def _requirement(
    name: str, about: str, asks: str, what: str, one: str, kinds: frozenset[str], claims: Callable[[Creature, Results], str], why: str,
    method: str,
) -> Requirement[Args]:  # fmt: skip
    return Requirement(
            name=name, number=4, asks=asks, unit="1", rule=Rule("share"), thresholds=Thresholds(PERFORMS, 0.0, why), method=method,
            subjects=lambda creature: [about], example=about, gather=_gathering(kinds, what, one, claims), find=_find, work=_work, say=_say,
    )  # fmt: skip


WHY = f"{show(LEAST, '%')} must come off; from {show(ENOUGH, '%')} it performs, between them it is only just (a rule of this project)."
HITS = _requirement(
    "hits", "speech", "Mouth openings on the syllables that the speech style plays, and the closures that a jaw plays, come off in time.",
    "openings and closures of the mouth", "opening or closure of the mouth", frozenset({"open", "closure"}), _speaks, WHY, "hits",
)  # fmt: skip
CLOSURES = _requirement(
    "closures", "speech", "Played by lips: every p, b, m is shut, and every f, v on the teeth, for its time.",
    "lip closures", "lip closure", frozenset({"closure", "lip_teeth"}), _lips, WHY, "hits",
)  # fmt: skip
BLINK = _requirement(
    "blink", "eyes", "In each blink the lids are shut, within a millimetre at the edge, for one whole frame.",
    "blinks", "blink", frozenset({"lids_shut"}), _has_part("lid_upper", "lid_lower"), WHY, "hits",
)  # fmt: skip
LOOK = _requirement(
    "look", "eyes", "Each look lands on its target within its error, in time, and stays there.",
    "looks", "look", LOOKS, _has_part("eye_turn", "eye_lift", "head_turn", "body_turn"), WHY, "hits",
)  # fmt: skip
STILL_WHY = f"{WHY} A stillness is two seconds and more in which nothing twitches or hunts."
EYES_STILL = _requirement(
    "still", "eyes", "When the eyes have arrived they stand: no drift, no buzz, for as long as is asked.", "stillnesses of the eyes",
    "stillness of the eyes",
    frozenset({"still.eyes"}), _has_part("eye_turn", "eye_lift", "head_turn", "body_turn"), STILL_WHY, "hits",
)  # fmt: skip
LIFE_STILL = _requirement(
    "still", "life", "When the part asks for stillness nothing moves: no twitch, no hunting.", "stillnesses", "stillness", frozenset({"still.life"}),
    lambda creature, results: "", STILL_WHY, "hits",
)  # fmt: skip
