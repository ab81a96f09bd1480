"""Draw what sits in the skull, for the pages of fit: ``PYTHONPATH=. .venv/bin/python docs/img/fit.py``
(wants matplotlib, which is no dependency). Every outline is a solid of the engine's own solution for an example.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import matplotlib.pyplot as plt
import numpy as np
from paper import ACCENT, BLUE, INK, MM, PALE, PAPER, begin, drawing, keep, note
from views import ABOVE, BLUISH, FRONT, LEFT, RED, RIGHT, Sheet, View, hull

from marotte.basis.contracts.fit import Access, Fit, Placed, WearerFit
from marotte.creature.creature import Creature
from marotte.creature.load import load
from marotte.creature.naming import many, named
from marotte.mech.fit.access import drawn_out
from marotte.verdict.cells import Cache
from marotte.verdict.graph import Results

DIM, FAINT = "#6f665b", "#d8cdbb"
EXAMPLES = Path(__file__).parents[2] / "examples"


def found(who: str) -> tuple[Creature, Fit, Access, WearerFit | None]:
    """Return an example, and what the engine finds about its head."""
    creature = load(EXAMPLES / who)
    made = Results(creature, Cache()).fitted
    assert isinstance(made.fit, Fit), made.fit
    assert isinstance(made.access, Access), made.access
    assert not made.fit.unplaced, "a servo without a place is not drawn"
    return creature, made.fit, made.access, made.wearer


def sheet(ax: plt.Axes, view: View, creature: Creature, placed: Sequence[Placed], **looks: dict) -> Sheet:
    """Draw a skull and what sits in it."""
    drawing(ax)
    made = Sheet(ax, view, placed, looks)
    skull = creature.build.skull
    assert skull is not None
    made.skull(skull.centre, skull.shape)
    made.draw()
    ax.set_title(view.says, fontsize=9)
    return made


def near_half(placed: Sequence[Placed], view: View) -> list[Placed]:
    """Return what a head has once, and of pairs the one on the side of who looks."""
    side = np.cross(view.right, view.up)[0]
    places = {(one.kind, *np.round(one.at, 6)) for one in placed}
    twins = [(one.kind, *np.round(np.multiply(one.at, (-1, 1, 1)), 6)) for one in placed]
    return [one for one, twin in zip(placed, twins, strict=True) if side * one.at[0] >= 0.0 or twin not in places]


def whose(name: str) -> str:
    """Return a servo's name without its side."""
    return name.replace("_left", "").replace("_right", "")


def numbers(placed: Sequence[Placed]) -> dict[str, str]:
    """Return a number for each servo, the same for both of a pair, in the order of the file."""
    order = list(dict.fromkeys(whose(one.of) for one in placed if one.kind == "servo"))
    return {one.of: str(order.index(whose(one.of)) + 1) for one in placed if one.kind == "servo"}


def leader(
    ax: plt.Axes, at: Sequence[float], to: Sequence[float], text: str, colour: str = INK, **more: object
) -> None:
    """Write a few words beside a drawing, and lead from them to what they speak of."""
    ax.plot(*np.array([at, to]).T, color=colour, lw=0.7, zorder=7)
    ax.plot(*to, ".", color=colour, ms=4, zorder=7)
    note(ax, at, text, colour, **more)


def scale(ax: plt.Axes, right: float, low: float, long: int = 50) -> None:
    """Draw how long so many mm are, with the right end at a place on the page."""
    ax.plot([right - long, right - long, right, right], [low + 2, low, low, low + 2], color=INK, lw=0.9)
    note(ax, (right - long / 2, low + 0.08 * long), f"{long} mm")


def servos() -> None:
    """Where the servos of a full face sit."""
    creature, fit, _, _ = found("tansy")
    figure, (side, front, key) = plt.subplots(
        1, 3, figsize=(14.0, 6.6), width_ratios=[1.0, 0.86, 0.24], facecolor=PAPER
    )
    figure.subplots_adjust(wspace=0.02)
    count = numbers(fit.placed)
    for ax, view, placed in ((side, LEFT, near_half(fit.placed, LEFT)), (front, FRONT, fit.placed)):
        sheet(ax, view, creature, placed).number(count)
        ax.set_ylim(-94, 96)
    side.set_xlim(-68, 124)
    front.set_xlim(-82, 82)
    rods = {one.of: one for one in fit.placed if one.kind == "rod"}
    straight = LEFT.flat(rods["eye_left.b"].points)
    assert np.ptp(straight[:, 1]) < 0.1, "the rods of the eye do not lie straight at neutral"
    end = straight[np.argmax(straight[:, 0])] - (1, 0)
    leader(side, (100, -50), end, "rods of the eye:\nstraight at neutral", ACCENT, ha="left")
    note(side, (-27, -80.5), "room of the mouth", DIM)
    scale(side, 122, -86)
    names_of(key, count)
    keep(figure, "fit", colours=64)


def way_out() -> None:
    """Which hatch each servo comes out through, and what must come out before the one that is worst to reach."""
    creature, fit, access, _ = found("tansy")
    figure, (side, above, key) = plt.subplots(1, 3, figsize=(14.0, 6.0), width_ratios=[1.0, 1.0, 0.22], facecolor=PAPER)
    figure.subplots_adjust(wspace=0.02)
    centre, half = np.array(creature.build.skull.centre), 0.5 * np.array(creature.build.skull.shape)
    solids = [one for one in fit.placed if one.kind in ("servo", "eye")]
    blue, other = access.hatches
    tints = {blue: BLUISH, other: PALE}
    looks = {way.servo: {"fc": tints[way.hatch]} for way in access.ways if way.hatch is not None}
    eyes = {"fc": PAPER, "ec": FAINT}
    count = numbers(fit.placed)
    sheet(side, LEFT, creature, near_half(solids, LEFT), eye=eyes, **looks).number(count)
    for hatch, way in access.hatches.items():
        shell, out = LEFT.flat(centre + half * way)[0], LEFT.flat(way)[0] / MM
        arrow(side, shell + 4 * out, 20 * out, BLUE if hatch == blue else INK)
        note(side, shell + 28 * out + (2 * out[0], 0), hatch)
    side.set_title(f"from its left: blue ones come out through the {blue}, the others through the {other}", fontsize=9)
    worst = max(access.ways, key=lambda way: len(way.first))
    assert worst.hatch is not None
    turn = [*worst.first, worst.servo]
    rest = {way.servo: {"fc": PAPER, "ec": FAINT, "lw": 0.8} for way in access.ways if way.servo not in turn}
    sheet(above, ABOVE, creature, solids, eye=eyes, **rest, **{of: {"zorder": 5} for of in turn})
    for k, of in enumerate(turn):
        case = next(one for one in solids if one.of == of)
        path = drawn_out(case, access.hatches[worst.hatch])
        swept = hull(path.points, path.radius, ABOVE)
        swept[:, 0] = np.minimum(swept[:, 0], 108)
        above.add_patch(plt.Polygon(swept, fc=RED, ec=ACCENT, lw=0.7, alpha=0.45, zorder=4))
        at = ABOVE.flat(case.at)[0]
        above.text(*at, count[of], ha="center", va="center_baseline", fontsize=9, zorder=9)
        arrow(above, np.array([110, at[1]]), np.array([10, 0]), ACCENT)
        note(above, (123, at[1]), f"{'then' if k else 'first'} {count[of]}", ha="left")
    above.set_title(f"from above: what must come out before the servo of the {named(worst.servo)}", fontsize=9)
    names_of(key, count)
    for ax in (side, above):
        ax.set(xlim=(-52, 146), ylim=(-90, 118))
    keep(figure, "fit-access", colours=128)


def names_of(ax: plt.Axes, count: dict[str, str]) -> None:
    """Write what the numbers stand for."""
    drawing(ax)
    names = list(dict.fromkeys(whose(name) for name in count))
    ax.text(-0.3, 1.4, f"{len(count)} servos", fontsize=9)
    for k, name in enumerate(names):
        both = sum(whose(of) == name for of in count) > 1
        ax.text(0.0, -k, f"{k + 1}", ha="right", va="center", fontsize=9)
        ax.text(0.12, -k, f"{many(named(name))}, two" if both else named(name), va="center", fontsize=9)
    ax.set(xlim=(-0.3, 2), ylim=(-len(names), 2.5), aspect="auto")


def arrow(ax: plt.Axes, start: np.ndarray, way: np.ndarray, colour: str) -> None:
    """Draw the way that something comes out, from a place on the page."""
    ax.annotate("", start + way, start, arrowprops={"arrowstyle": "-|>", "color": colour, "lw": 2.0}, zorder=7)


def worn() -> None:
    """A wearer's head in the creature's, and how wide and deep that is at its height."""
    creature, fit, _, wearer = found("colm")
    assert wearer is not None
    figure, (side, front) = plt.subplots(1, 2, figsize=(13.0, 7.4), width_ratios=[1.0, 0.85], facecolor=PAPER)
    figure.subplots_adjust(wspace=0.02)
    at = np.array(creature.points["wearer"])
    for ax, view, placed, way, inside, head in (
        (side, RIGHT, near_half(fit.placed, RIGHT), (0.0, 0.0, 0.5), wearer.inner_depth, wearer.length),
        (front, FRONT, fit.placed, (0.5, 0.0, 0.0), wearer.inner_width, wearer.breadth),
    ):
        sheet(ax, view, creature, placed, servo={"lw": 0.9}, horn={"lw": 0.7}, rod={"fc": PAPER, "ec": INK, "lw": 0.7})
        ends = view.flat([at - inside * np.array(way), at + inside * np.array(way)])
        ax.annotate(
            "", ends[1], ends[0], zorder=7, arrowprops={"arrowstyle": "<->", "color": INK, "shrinkA": 0, "shrinkB": 0}
        )
        middle = view.flat(at)[0]
        wanted = head + 2.0 * wearer.pad
        for off, text in (
            (-66, "the wearer's head,\nwith its padding"),
            (8, f"{inside * MM:.0f} mm inside"),
            (-9, f"{wanted * MM:.0f} mm wanted"),
        ):
            ax.text(middle[0], middle[1] + off, text, ha="center", va="center", fontsize=9, zorder=8)
        ax.set_ylim(-322, 150)
    side.set_xlim(-172, 234)
    front.set_xlim(-165, 165)
    note(side, (198, -232), "room of the mouth", DIM)
    scale(front, 165, -306, 100)
    keep(figure, "fit-wearer", colours=64)


if __name__ == "__main__":
    begin()
    for draw in (servos, way_out, worn):
        draw()
