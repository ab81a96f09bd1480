"""What stands below the findings: cautions, what a lost signal and a power cut do, what was assumed, what to do."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Sequence

    from marotte.basis.contracts.common import Told
    from marotte.basis.contracts.finding import Verdict
    from marotte.verdict.check import Examined

_NAME: Final = re.compile(r"[a-z]+(_[a-z0-9]+)*|(left|right)( [a-z]+)+")
"""Of a function or a part of it, at the head of what is told: as the file has it, or as people say it."""


def notes(done: Examined, *, everything: bool) -> dict[str, list[str]]:
    """Return the lists below the findings by their titles, in the order in which they are read; each note in full where ``everything``.

    What is told as a fault is, of something written that cannot be meant so, begins with its place in the file, as faults do.
    """
    from marotte.basis.faults import CODES
    from marotte.verdict.loss import UPSETS

    verdict = done.verdict
    upset = [item for item in verdict.told if item.code in UPSETS]
    faulty = [item for item in verdict.told if item.code in CODES and item.ref in done.places]
    rest = [item for item in verdict.told if item not in upset and item not in faulty]
    return {
        "To look at in the file": [f"{done.places[item.ref]}: {item.sentence}" for item in faulty if item.ref],
        "Cautions": _cautions(verdict),
        "Signal lost, power cut": _gathered(upset, everything=everything),
        "Assumed, guessed or not read": _gathered(rest, everything=everything),
        "What to do": list(verdict.plan),
    }


def _cautions(verdict: Verdict) -> list[str]:
    """Return every caution with its advice; who decides is said once, at the end."""
    from marotte.verdict.cautions import DECIDES

    said = [f"{caution.sentence} {caution.advice}" for caution in verdict.cautions]
    bare = [text.replace(f" {DECIDES}.", "") for text in said]
    return [*bare, f"{DECIDES}."] if bare != said else said


def _gathered(told: Sequence[Told], *, everything: bool) -> list[str]:
    """Return what was told (each in full where everything is listed), gathered by the names that it is told of: "jaw, ear_lift: ..."."""
    names: dict[str, list[str]] = {}
    for item in told:
        sentence = (everything and item.more) or item.sentence
        head, colon, rest = sentence.partition(": ")
        single = bool(colon) and _NAME.fullmatch(head) is not None
        found = names.setdefault(rest if single else sentence, [])
        plain = head.removesuffix("_left").removesuffix("_right").removeprefix("left ").removeprefix("right ")
        if single and plain not in found:
            found.append(plain)
    return [f"{', '.join(found)}: {rest}" if found else rest for rest, found in names.items()]
