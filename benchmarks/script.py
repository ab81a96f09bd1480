"""The script: a part by rules, an edited line, alignment, the memory of half an hour."""

from __future__ import annotations

import subprocess
import sys
import time
from collections.abc import Iterator
from dataclasses import replace
from functools import partial
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory

from tests.script.sound import LABELS, MACHINE, machine, text, want

from benchmarks.creatures import MORE, TANSY
from benchmarks.rows import Row, promise, seconds
from marotte.basis.contracts.script import Demand
from marotte.basis.unhurried import collected_after
from marotte.creature.creature import Creature
from marotte.creature.load import load
from marotte.script import fountain
from marotte.script.casting import Ask
from marotte.script.demand import demand
from marotte.script.lines import TimedLine, cast, lay_out, line, lines, lower_says
from marotte.script.recordings import hear_all
from marotte.script.score import score
from marotte.verdict.cells import Cache
from marotte.verdict.graph_script import acted, demanded

PAGES = 3
"""Pages added to the largest example, so that its part lasts three minutes."""


def part(creature: Creature, text: str, style: str) -> Demand:
    """Return what the text asks, from its letters on, recordings left out."""
    brief = creature.brief.model_copy(update={"speech": style})
    made = lines(text, "script.fountain", brief)
    functions = {name: acted(function) for name, function in creature.functions.items()}
    return demand(
        score(made.lines, made.directions, brief, creature.seed, made.stop), functions, creature.poses, creature.build
    )


class Edited:
    """A part in ``lips`` of which one line is edited again and again; timed lines are kept by what they say, as cells are."""

    def __init__(self, creature: Creature, text: str) -> None:
        self.creature, self.text = creature, text
        self.brief = creature.brief.model_copy(update={"speech": "lips"})
        self.says = lower_says(self.brief.says)
        self.functions = {name: acted(function) for name, function in creature.functions.items()}
        self.spoken = [entry.speech.text for entry in cast(fountain.read(text, "script.fountain"), self.brief)[0]]
        self.kept: dict[Ask, TimedLine] = {}
        self.count = 0
        self.cells = Cache()

    def next_text(self) -> str:
        """Return the script with other words in one of its lines, each in its turn."""
        self.count += 1
        words = ("peppers", "butter", "plums", "boots", "maps", "bells", "parcels", "stamps", "hats", "doors")
        new = " ".join(words[(self.count // 10**k) % 10] for k in range(3))
        old = self.spoken[self.count % len(self.spoken)]
        return self.text.replace(old, f"{old} And {new}.", 1)

    def through_cells(self) -> None:
        """Ask for the demand as a check does: by the digest of what everything is made from."""
        creature = replace(self.creature, brief=self.brief, script_text=self.next_text())
        with collected_after():
            demanded(creature, self.cells)
        self.cells.turn()

    def edit(self) -> None:
        """Ask for the demand of the whole part by the engine alone."""
        text = self.next_text()
        play = fountain.read(text, "script.fountain")
        entries, _ = cast(play, self.brief)
        for entry in entries:
            if entry.ask not in self.kept:
                self.kept[entry.ask] = line(entry.ask, self.says)
        made = lay_out(play, self.brief, entries, tuple(self.kept[entry.ask] for entry in entries))
        scored = score(made.lines, made.directions, self.brief, self.creature.seed, made.stop)
        demand(scored, self.functions, self.creature.poses, self.creature.build)


def rows() -> Iterator[Row]:
    """Measure the script engine on the largest example, by the clock of the process."""
    creature = load(TANSY)
    assert creature.script_text
    script = creature.script_text.rstrip() + MORE * PAGES
    for style in ("flap", "hits", "lips"):
        made = part(creature, script, style)
        yield promise(
            f"demand of a part of {made.spans.stop / 1200:.0f} s by rules, {style}",
            seconds(partial(part, creature, script, style)),
            "s",
            0.3,
        )
    edited = Edited(creature, script)
    for what, edit in (("the engine", edited.edit), ("through the cells of a check", edited.through_cells)):
        edit()
        taken = []
        for _ in range(30):
            start = time.process_time()
            edit()
            taken.append(time.process_time() - start)
        yield promise(f"one line of it edited, lips, {what}, median of 30", median(taken), "s", 0.030)
        yield promise(f"one line of it edited, lips, {what}, slowest of 30", max(taken), "s", 0.030)
    yield alignment()
    yield promise("30 min of part more, peak memory", memory_mb(30) - memory_mb(0), "MB", 300.0)


def alignment() -> Row:
    """Return how much faster than real time recordings are aligned, on one core, each to its text."""
    recordings = range(len(LABELS["recordings"]))
    spoken = sum(machine(k).seconds for k in recordings)
    with TemporaryDirectory() as made:

        def run() -> None:
            for k in recordings:
                folder = Path(made) / f"{time.perf_counter_ns()}.{k}"  # nothing is kept from the run before
                assert hear_all(
                    {"1": MACHINE / LABELS["recordings"][k]["file"]}, {1: want(1, text(k))}, folder, None
                ).lines

        run()
        taken = seconds(run, times=3)
    return Row(
        name="alignment", value=spoken / taken, unit="s of speech per s", against="promised at least 5 s of speech per s", ratio=spoken / taken / 5
    )  # fmt: skip


def memory_mb(minutes: int) -> float:
    """Return the peak resident memory [MB] of a fresh process that makes the demand of a part of so many minutes."""
    command = [sys.executable, "-m", "benchmarks.script_memory", str(minutes)]
    done = subprocess.run(command, check=True, capture_output=True, text=True)
    return float(done.stdout.split()[-1])
