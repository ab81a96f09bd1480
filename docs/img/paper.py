"""The look of the pictures in these pages: warm paper, dark ink, one red and one blue; and what the drawings share."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import matplotlib as mpl
import matplotlib.pyplot as plt
import numpy as np
from PIL import Image

HERE = Path(__file__).parent
INK, PALE, ACCENT, BLUE, PAPER = "#2b2622", "#efe6d6", "#a4432a", "#3d5a73", "#fffdf8"
GREY = "#9a8f80"
MM, DEG = 1e3, 180.0 / np.pi


def begin() -> None:
    """Set the look; without a window."""
    mpl.use("Agg")
    plt.rcParams.update({"font.size": 9, "axes.edgecolor": INK, "axes.labelcolor": INK, "text.color": INK})


def plain(ax: plt.Axes) -> None:
    """Paper behind, and only the two axes that carry numbers."""
    ax.set_facecolor(PAPER)
    ax.spines[["top", "right"]].set_visible(False)


def axes(count: int, width: float, height: float) -> tuple[plt.Figure, np.ndarray]:
    """Return a figure on paper with plain axes, one over the other."""
    figure, axs = plt.subplots(count, 1, figsize=(width, height), sharex=True, facecolor=PAPER)
    for ax in np.atleast_1d(axs):
        plain(ax)
    return figure, np.atleast_1d(axs)


def bench(width: float = 13.0, height: float = 4.3, drawings: int = 1, share: float = 1.75) -> tuple:
    """Return a figure with some drawings at the left and two plots, one over the other, at the right."""
    figure = plt.figure(figsize=(width, height), facecolor=PAPER)
    grid = figure.add_gridspec(2, drawings + 1, width_ratios=[share] * drawings + [1.0], hspace=0.28, wspace=0.14)
    sheets = [figure.add_subplot(grid[:, i]) for i in range(drawings)]
    upper = figure.add_subplot(grid[0, -1])
    lower = figure.add_subplot(grid[1, -1], sharex=upper)
    for ax in sheets:
        drawing(ax)
    for ax in (upper, lower):
        plain(ax)
    return figure, sheets, upper, lower


def drawing(ax: plt.Axes) -> None:
    """Leave only the paper: lengths are true in both directions, in millimetres."""
    ax.set_facecolor(PAPER)
    ax.set_aspect("equal")
    ax.axis("off")


def keep(figure: plt.Figure, name: str, colours: int | None = None) -> None:
    """Write one picture, small enough for a page; with no more than so many colours, where it has much in it."""
    to = HERE / f"{name}.png"
    figure.savefig(to, dpi=90, bbox_inches="tight", pad_inches=0.12)
    plt.close(figure)
    if colours is not None:
        with Image.open(to) as full:
            few = full.convert("RGB").quantize(colours)
        few.save(to, optimize=True)


def links(ax: plt.Axes, points: Sequence, colour: str = INK, width: float = 2.6, rod: int | None = None) -> None:
    """Draw links from joint to joint; ``rod`` is the one of them that is drawn thinner, in red where it is dark."""
    xy = np.array(points)
    for i in range(len(xy) - 1):
        thin = i == rod
        tone = ACCENT if thin and colour == INK else colour
        ax.plot(*xy[i : i + 2].T, color=tone, lw=width * (0.7 if thin else 1.0), solid_capstyle="round", zorder=3)
    ax.plot(*xy[1:-1].T, "o", color=colour, ms=5.5, zorder=4)


def axle(ax: plt.Axes, at: Sequence[float], text: str = "", off: tuple[float, float] = (0.0, -7.0)) -> None:
    """Draw an axle that is held by the skull."""
    ax.plot(*at, "o", mfc=PAPER, mec=INK, mew=1.8, ms=10, zorder=5)
    ax.plot(*at, ".", color=INK, ms=4, zorder=6)
    if text:
        note(ax, (at[0] + off[0], at[1] + off[1]), text)


def note(ax: plt.Axes, at: Sequence[float], text: str, colour: str = INK, **more: object) -> None:
    """Write a few words into a drawing, readable over lines."""
    style = {"ha": "center", "va": "center", "fontsize": 8.5, "zorder": 8, **more}
    box = {"boxstyle": "round,pad=0.12", "fc": PAPER, "ec": "none", "alpha": 0.85}
    ax.text(at[0], at[1], text, color=colour, bbox=box, **style)


def beside(ax: plt.Axes, a: Sequence[float], b: Sequence[float], text: str, off: float = 4.0, **more: object) -> None:
    """Write the name of a link beside its middle, ``off`` to the left of the way from a to b."""
    a, b = np.array(a), np.array(b)
    way = (b - a) / np.linalg.norm(b - a)
    note(ax, (a + b) / 2 + off * np.array([-way[1], way[0]]), text, **more)


def angle(
    ax: plt.Axes, at: Sequence[float], start: float, stop: float, radius: float, text: str, colour: str, off: tuple
) -> None:
    """Draw an angle [rad] round a joint, counted from start to stop, with its name ``off`` from the joint."""
    t = np.linspace(start, stop, 60)
    ax.plot(at[0] + radius * np.cos(t), at[1] + radius * np.sin(t), color=colour, lw=1.2, zorder=2)
    note(ax, (at[0] + off[0], at[1] + off[1]), text, colour)


def between(
    ax: plt.Axes, at: Sequence, a: Sequence, b: Sequence, radius: float, text: str, colour: str, off: tuple
) -> None:
    """Draw the acute angle at a joint between the lines of two links through it."""
    at, a, b = np.array(at), np.array(a), np.array(b)
    one, two = (np.arctan2(*(end - at)[::-1]) for end in (a, b))
    turn = (two - one + np.pi) % (2 * np.pi) - np.pi
    if abs(turn) > np.pi / 2:  # the rod's line, carried on past the joint
        two += np.pi
        turn = (two - one + np.pi) % (2 * np.pi) - np.pi
        ax.plot(
            *np.array([at, at + 1.25 * radius * np.array([np.cos(two), np.sin(two)])]).T, color=colour, lw=0.8, ls=":"
        )
    angle(ax, at, one, one + turn, radius, text, colour, off)


def angles(ax: plt.Axes, low: float = 0.0) -> None:
    """The lower plot: angles of the joints, with the 40 deg that are asked for."""
    ax.axhspan(0, 40, color=PALE, zorder=0)
    ax.set_ylim(low, 93)
    ax.set_yticks([0, 15, 40, 65, 90])
    ax.set_ylabel("angle at the joint [deg]")
