"""Draw the pictures of docs/handbook/speech.md and of the method pages: ``PYTHONPATH=. .venv/bin/python docs/img/speech.py``
(wants matplotlib, which is no dependency).

The line is spoken by rule; the head is the one of the tests of the script engine.
"""

from __future__ import annotations

import numpy as np
from paper import ACCENT, BLUE, HERE, INK, PALE, axes, begin
from tests.script.parts import build, head, poses, turn

from marotte.basis.contracts.script import Demand, Direction, Spoken
from marotte.creature.schema.brief import Brief, Life, Target
from marotte.script.demand import demand
from marotte.script.lines import lines
from marotte.script.score import score

SCRIPT = """INT. POST OFFICE - DAY

TANSY
Good morning, Mister Ouzel. My mother, bless her, posts by weight.
"""
STYLES = {
    "flap": "flap: opens on syllables, as fast as a hand can",
    "hits": "hits: opens on stressed syllables, rides between, shuts on what reads",
    "lips": "lips: every shape, every p, b, m shut",
}


def played(style: str) -> tuple[Demand, Spoken]:
    """Return the line in a style, without anything else that moves."""
    still = Life(idle=0.0, breath=0.0, blinks=0.0, thinking_beat=0.0)
    brief = Brief(cue="TANSY", speech=style, says={"Ouzel": "UW1 Z AH0 L"}, life=still)  # type: ignore[arg-type]
    part = lines(SCRIPT, "script.fountain", brief)
    made = demand(score(part.lines, (), brief, 7, part.stop), head(), poses(), build())
    return made, part.lines[0]


def styles() -> None:
    """One line in the three styles, with its hits."""
    figure, axs = axes(3, 12, 7.2)
    for ax, (style, title) in zip(axs, STYLES.items(), strict=True):
        made, line = played(style)
        t = np.arange(made.motion.samples) / 240 - line.start / 1200
        jaw = np.degrees(made.motion.row("jaw"))
        for phone in line.phones:
            if phone.stress >= 1:
                a, b = ((tick - line.start) / 1200 for tick in (phone.start, phone.stop))
                ax.axvspan(a, b, color=PALE, zorder=0)
        ax.plot(t, jaw, color=INK, lw=1.6)
        for hit in made.hits:
            a, b = ((tick - line.start) / 1200 for tick in (hit.opens, hit.shuts))
            if hit.kind == "open":
                ax.plot([a, b], [np.degrees(hit.needs[0].bound)] * 2, color=ACCENT, lw=1.2)
            elif hit.kind == "closure":
                ax.plot([a, b], [-1.2, -1.2], color=BLUE, lw=2.0)
        for word, (start, stop) in zip(line.words, line.word_spans, strict=True):
            ax.text((start + stop) / 2400 - line.start / 1200, 24.2, word, ha="center", fontsize=8)
        ax.set_title(title, loc="left", fontsize=10, pad=14)
        ax.set_ylim(-2.5, 24)
        ax.set_ylabel("jaw [deg]")
    axs[-1].set_xlim(-0.4, (line.stop - line.start) / 1200 + 0.5)
    axs[-1].set_xlabel(
        "time in the line [s]. Shaded: stressed syllables. Red: how far open, and within when. Blue: shut within here."
    )
    figure.tight_layout()
    figure.savefig(HERE / "speech-styles.png", dpi=90)


def contacts() -> None:
    """Jaw, lower lip and corner in lips over the p and b of two words."""
    made, line = played("lips")
    figure, axs = axes(1, 12, 3.2)
    t = np.arange(made.motion.samples) / 240 - line.start / 1200
    ax = axs[0]
    ax.plot(t, made.motion.row("jaw") / np.radians(22), color=INK, lw=1.6, label="jaw")
    ax.plot(t, made.motion.row("lip_lower") / 0.006, color=ACCENT, lw=1.2, label="lower lip")
    ax.plot(t, made.motion.row("lip_corner_left") / 0.009, color=BLUE, lw=1.2, label="lip corner")
    for phone in line.phones:
        a, b = ((tick - line.start) / 1200 for tick in (phone.start, phone.stop))
        if phone.name in "PBM":
            ax.axvspan(a, b, color=PALE, zorder=0)
        ax.text((a + b) / 2, 1.03, phone.name if phone.name != "SIL" else "", ha="center", fontsize=7)
    ax.set_ylim(-0.55, 1.1)
    ax.set_xlim(-0.3, (line.stop - line.start) / 1200 + 0.3)
    ax.set_ylabel("share of travel")
    ax.set_xlabel("time in the line [s]. Shaded: p, b, m, held over their whole length and at least 60 ms")
    ax.legend(loc="lower right", ncols=3, frameon=False)
    figure.tight_layout()
    figure.savefig(HERE / "mouth-shapes.png", dpi=90)


def look() -> None:
    """A look to a door at the side, which ends in the body, and one down to a letter."""
    life = Life(idle=0.0, breath=0.0, thinking_beat=0.0)
    looks = {"door": Target(at=(1.4, 0.1, 1.6)), "letter": Target(at=(0.05, -0.3, 0.5))}
    brief = Brief(cue="TANSY", speech="hits", looks=looks, life=life)
    notes = (
        Direction(kind="note", text="looks at the door", line=2, tick=1200),
        Direction(kind="note", text="looks at the letter", line=2, tick=3600),
    )
    functions = head() | {"body_turn": turn("body_turn", -35, 35)}
    made = demand(score((), notes, brief, 7, 6000), functions, poses(), build())
    figure, axs = axes(5, 9, 7.8)
    t = np.arange(made.motion.samples) / 240
    rows = (
        ("eye_turn_left", "left eye turns"),
        ("head_turn", "head turns"),
        ("body_turn", "body turns"),
        ("eye_lift_left", "left eye lifts"),
        ("lid_upper_left", "upper lid"),
    )
    for ax, (name, title) in zip(axs, rows, strict=True):
        ax.plot(t, np.degrees(made.motion.row(name)), color=INK, lw=1.5)
        if name == "eye_lift_left":
            ax.plot(t, np.degrees(made.motion.row("head_nod")), color=BLUE, lw=1.2)
            title += " (blue: head nods)"
        for beat in made.spans.beats:
            if beat.kind == "look":
                ax.axvspan(beat.start / 1200, beat.stop / 1200, color=PALE, zorder=0)
        ax.set_ylabel("deg")
        ax.set_title(title, loc="left", fontsize=9)
    axs[-1].set_xlabel(
        "time [s]. Shaded: from the eyes' start to the landing. The lid blinks with the big turn, and follows the eye down"
    )
    axs[-1].set_xlim(0.6, 5.0)
    figure.tight_layout()
    figure.savefig(HERE / "looks.png", dpi=90)


if __name__ == "__main__":
    begin()
    styles()
    contacts()
    look()
