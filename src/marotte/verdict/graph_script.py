"""The cells of the script: the screenplay, each line, the score, the demand."""

from __future__ import annotations

from marotte.basis.contracts.common import Unknown
from marotte.basis.contracts.script import Demand
from marotte.creature.creature import Creature
from marotte.script import METHODS, fountain
from marotte.script.demand import demand
from marotte.script.lines import cast, lay_out, line, lower_says
from marotte.script.score import score
from marotte.verdict.cells import Cache, Cell


def demanded(creature: Creature, cache: Cache) -> Cell[Demand] | Unknown:
    """Return what the script asks of every function, or why there is nothing to ask."""
    if creature.script_text is None:
        return Unknown(why="no script is written, so nothing is asked of it", wants=("/brief/script",))
    brief = creature.brief
    play = cache.cell(
        "script/screenplay", METHODS["script/screenplay"], fountain.read, creature.script_text, creature.script_name
    )
    entries, faults = cast(play.value, brief)
    says = lower_says(brief.says)
    timed = tuple(
        cache.cell("script/phone_timing", METHODS["script/phone_timing"], line, entry.ask, says).value
        for entry in entries
    )
    if not entries:
        return Unknown(
            why=faults[0].what if faults else "the script has no line of this creature", wants=("/brief/cue",)
        )
    part = lay_out(play.value, brief, entries, timed)
    scored = cache.cell(
        "script/score",
        METHODS.get("script/score", 0),
        score,
        part.lines,
        part.directions,
        brief,
        creature.seed,
        part.stop,
    )
    return cache.cell(
        "script/demand",
        METHODS.get("script/demand", 0),
        demand,
        scored,
        creature.functions,
        creature.poses,
        creature.build,
    )
