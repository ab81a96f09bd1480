"""``marotte script FOLDER``: the part as a performer reads it."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from marotte.basis.faults import BadInput
from marotte.cli.screen import Screen

if TYPE_CHECKING:
    from marotte.basis.faults import Fault
    from marotte.script.part import LineReport, PartReport

HELP = "show the part: scenes, lines, how fast, what is done, which lines ask too much"


def arguments(parser: ArgumentParser) -> None:
    """Declare the arguments."""
    parser.add_argument("folder", metavar="FOLDER", type=Path, help="the creature folder")
    parser.add_argument(
        "--speak",
        action="store_true",
        help="first let an installed machine voice speak the lines without a recording, into voice/scratch-NNN.wav",
    )
    parser.add_argument("--json", action="store_true", help="print one JSON object for machines")


def run(args: Namespace, screen: Screen) -> int:
    """Print the part; exit 1 where a line asks too much."""
    from marotte.creature.load import load

    creature = load(args.folder)
    unspoken: tuple[Fault, ...] = ()
    if args.speak:
        from marotte.script.scratch import speak_part

        with screen.progress(f"Speaking the part of {creature.name}") as tell:
            unspoken = speak_part(creature, args.folder / "voice", tell)
        creature = load(args.folder)
    with screen.progress(f"Reading the part of {creature.name}") as tell:
        from marotte.script.part import report_of

        part = report_of(creature, progress=tell)
    part = replace(part, faults=unspoken + part.faults)
    if part.faults and not part.lines:
        raise BadInput(part.faults)
    if args.json:
        screen.json(part.as_json())
    else:
        _print(part, creature.name, screen)
    return 1 if part.too_much else 0


def _print(part: PartReport, name: str, screen: Screen) -> None:
    screen.say(f"{name}, called {part.cue} in the script", style="bold")
    recorded = f", {part.recorded} timed by recordings" if part.recorded else ""
    screen.say(
        f"{len(part.lines)} lines{recorded}, {part.words} words, {part.syllables} syllables, {part.hits} hits; "
        f"{_clock(part.spoken_s)} of speech in {_clock(part.seconds)}. "
        f"Mouth: {part.speech}; voice: {part.voice}. {part.blinks} blinks, {part.breaths} breaths."
    )
    for scene in part.scenes:
        screen.say()
        screen.say(
            f"{scene.heading} ({_clock(scene.start_s)} to {_clock(scene.start_s + scene.seconds)})", style="bold"
        )
        rows = [_row(line, bool(part.recorded)) for line in part.lines if line.line in scene.lines]
        if scene is part.scenes[-1] and part.after:
            rows.append([*[""] * (6 + bool(part.recorded)), _doing(part.after)])
        heard = ("heard",) if part.recorded else ()
        head = ("line", "at", "s", "syll/s", "hits/s", *heard, "mood", "says, does, looks")
        screen.table(head, rows, right=(0, 1, 2, 3, 4, *([5] if heard else [])))
    _asks(part, screen)
    if part.alike:
        screen.say()
        screen.say("Mouth shapes that look the same on this mouth", style="bold")
        from marotte.script.visemes import sounds_of

        rows = [
            [" = ".join(group), "; ".join(" ".join(sounds_of(name)) or "at rest" for name in group)]
            for group in part.alike
        ]
        screen.table(("shapes", "sounds"), rows)
    lines = [str(fault) for fault in part.faults] + [told.sentence for told in part.told]
    if lines:
        screen.say()
        screen.say("Assumed, guessed or not understood", style="bold")
        for text in dict.fromkeys(lines):
            screen.item(text)


def _asks(part: PartReport, screen: Screen) -> None:
    if not part.too_much:
        return
    screen.say()
    screen.say("Asks too much", style="bold")
    for line in part.lines:
        for advice in line.asks_too_much:
            screen.item(advice if f"line {line.line}" in advice else f"line {line.line}: {advice}")


def _row(line: LineReport, recorded: bool) -> list[str]:
    """Return a line's cells; with recordings, how well the line was heard in its own, or that it is timed by rule."""
    text = " ".join(piece for piece in (_doing(line.before), line.text, _doing(line.during)) if piece)
    if not line.seen:
        text += " (heard, not seen)"
    heard = [f"{line.quality:.0%}" if line.quality is not None else "by rule"] if recorded else []
    return [
        str(line.line), _clock(line.start_s), f"{line.seconds:.1f}", f"{line.syllables_per_s:.1f}", f"{line.hits_per_s:.1f}",
        *heard, line.mood, text,
    ]  # fmt: skip


def _doing(does: tuple[str, ...]) -> str:
    return f"[{'; '.join(does)}]" if does else ""


def _clock(seconds: float) -> str:
    minutes, rest = divmod(round(seconds), 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours}:{minutes:02d}:{rest:02d}" if hours else f"{minutes}:{rest:02d}"
