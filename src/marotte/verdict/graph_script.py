"""The cells of the script: the screenplay, the recordings, each line, the score, the demand."""

from __future__ import annotations

from marotte.basis.contracts.common import Told, Unknown
from marotte.basis.contracts.script import Demand
from marotte.basis.faults import Fault
from marotte.creature.creature import Creature, Recording
from marotte.creature.schema.brief import Brief
from marotte.creature.schema.build import Build
from marotte.creature.schema.functions import Function, FunctionLoad
from marotte.script import METHODS, fountain
from marotte.script.casting import Entry
from marotte.script.demand import demand
from marotte.script.fountain import Screenplay
from marotte.script.lines import Heard, Part, TimedLine, cast, lay_out, line, listen, lower_says
from marotte.script.phones import check_says
from marotte.script.score import Score, score
from marotte.verdict.cells import Cache, Cell


def demanded(creature: Creature, cache: Cache) -> tuple[Cell[Demand] | Unknown, tuple[Told, ...]]:
    """Return what the script asks of every function, or why there is nothing to ask; and what was told on the way."""
    if creature.script_text is None:
        return Unknown(why="no script is written, so nothing is asked of it", wants=("/brief/script",)), ()
    brief = creature.brief
    screenplay = METHODS["script/screenplay"]
    play = cache.cell(
        "script/screenplay", screenplay, fountain.read, creature.script_text, creature.script_name, by_key=True
    )
    entries, faults = cache.again(cast, play.value, brief)
    if not entries:
        every = play.value.faults + faults
        why = every[0].what if every else "the script has no line of this creature"
        return Unknown(why=why, wants=("/brief/cue",)), _told(every)
    says = cache.again(lower_says, brief.says)
    voices = tuple(creature.recordings.values())
    heard = cache.cell(
        "script/alignment", METHODS["script/alignment"], _heard, voices, entries, says, by_key=True
    ).value
    timing = METHODS["script/phone_timing"]
    timed = tuple(
        cache.cell("script/phone_timing", timing, line, entry.ask, says, heard.lines.get(k + 1), by_key=True)
        for k, entry in enumerate(entries)
    )
    part = cache.cell("script/screenplay", screenplay, _laid_out, play, brief, timed, by_key=True)
    scored = cache.cell("script/score", METHODS["script/score"], _scored, part, brief, creature.seed, by_key=True)
    functions = {name: cache.again(acted, function) for name, function in creature.functions.items()}
    eyes = cache.again(eyed, creature.build)
    number = METHODS["script/demand"]
    asked = cache.cell("script/demand", number, demand, scored, functions, creature.poses, eyes, by_key=True)
    spellings = tuple(Told(code="says", sentence=text, ref=ref) for text, ref in cache.again(check_says, brief.says))
    told = (*_told(play.value.faults + faults + heard.faults), *spellings, *heard.told, *part.value.told)
    return asked, told


def _told(faults: tuple[Fault, ...]) -> tuple[Told, ...]:
    """Return faults of the script and its recordings as what is told: the rest of the part still works."""
    return tuple(Told(code=fault.code, sentence=str(fault), ref=fault.path or None) for fault in faults)


def _heard(voices: tuple[Recording, ...], entries: tuple[Entry, ...], says: dict[str, str]) -> Heard:
    return listen({voice.name: voice.path for voice in voices}, entries, says)


def _laid_out(play: Screenplay, brief: Brief, timed: tuple[TimedLine, ...]) -> Part:
    return lay_out(play, brief, cast(play, brief)[0], timed)


def _scored(part: Part, brief: Brief, seed: int) -> Score:
    return score(part.lines, part.directions, brief, seed, part.stop)


def acted(function: Function) -> Function:
    """Return what the acting may read of a function: its part and travel, of lids also their edge; nothing of what carries or loads it.

    The demand is known by what it is made from, so all that is left out here leaves it as it is when it is edited.
    """
    lid = function.part in ("lid_upper", "lid_lower")
    load = FunctionLoad.model_construct(shell=function.load.shell if lid else None)
    return Function.model_construct(
        part=function.part, side=function.side, travel=function.travel, neutral=function.neutral, power_off=function.neutral,
        tells_at=function.tells_at if lid else None, load=load,
    )  # fmt: skip


def eyed(build: Build) -> Build:
    """Return what the acting may read of the build: its eyes."""
    return Build.model_construct(eye=build.eye)
