"""Fit of the largest example: afresh, and after an edit of one horn; with its boxes as written, and with every place to be found."""

from __future__ import annotations

import re
from collections.abc import Iterator

from benchmarks.creatures import TANSY
from benchmarks.rows import Row, promise, seconds
from marotte.creature.creature import Creature
from marotte.creature.load import build
from marotte.creature.tree import parse_text
from marotte.mech.fit import bodies, placement
from marotte.mech.mechs import mechs
from marotte.verdict.cells import Cache
from marotte.verdict.graph_fit import fitted

HORN = "horn: 10 mm, rod: 38 mm"
BOXES = re.compile(r", box: \{[^{}]*\}")
TIMES = 8


def rows() -> Iterator[Row]:
    """Measure fit and access, the transmissions already made."""
    text = (TANSY / "creature.yaml").read_text(encoding="utf-8")
    assert HORN in text
    for what, written in (("boxes as written", text), ("no box written", BOXES.sub("", text))):
        yield promise(f"fit afresh, {what}", 1e3 * _afresh(written), "ms", 500.0)
        yield promise(f"fit after a horn edit, {what}", 1e3 * _again(written), "ms", 50.0)


def _made(text: str, horn_mm: float = 10.0) -> Creature:
    return build(parse_text(text.replace(HORN, f"horn: {horn_mm:.2f} mm, rod: 38 mm")), TANSY)


def _afresh(text: str) -> float:
    creature = _made(text)
    made = mechs(creature)

    def run() -> None:
        for kept in (bodies.kept_solids, placement.kept_seats, placement.kept_places):
            kept.cache_clear()
        fitted(creature, made, Cache())

    run()
    return seconds(run)


def _again(text: str) -> float:
    cache = Cache()
    creatures = [_made(text, 9.5 + 0.02 * k) for k in range(TIMES + 1)]
    cases = iter([(creature, mechs(creature)) for creature in creatures])
    fitted(*next(cases), cache)
    return seconds(lambda: fitted(*next(cases), cache), TIMES)
