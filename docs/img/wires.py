"""Draw wires and rods of the method pages: ``PYTHONPATH=. .venv/bin/python docs/img/wires.py``
(wants matplotlib, which is no dependency). The numbers are the engine's own.
"""

from __future__ import annotations

import math

import matplotlib.pyplot as plt
import numpy as np
from paper import ACCENT, BLUE, GREY, INK, MM, PALE, PAPER, axle, begin, beside, drawing, keep, note, plain
from tests.mech.test_wires_and_rods import pulled

from marotte.basis.contracts.mech import Transmission
from marotte.creature.schema.mechs import Cable, HandRod, PullPull

RAD = math.pi / 180.0


def found(*args: object, **more: object) -> Transmission:
    """Return a transmission that must come out."""
    made = pulled(*args, **more)  # type: ignore[arg-type]
    assert isinstance(made, Transmission), made
    return made


def bent(start: np.ndarray, turns: list[tuple[float, float, float]], heading: float) -> tuple[np.ndarray, list]:
    """Return a path of straight pieces and bends (straight, bend [rad], radius), and where each bend's middle lies."""
    points, middles, at = [start], [], start
    for straight, bend, radius in turns:
        at = at + straight * np.array([math.cos(heading), math.sin(heading)])
        points.append(at)
        if bend:
            side = math.copysign(1.0, bend)
            centre = at + radius * side * np.array([-math.sin(heading), math.cos(heading)])
            t = heading - side * math.pi / 2 + np.linspace(0, bend, 40)
            arc = centre + radius * np.column_stack((np.cos(t), np.sin(t)))
            points.extend(arc)
            middles.append((centre, arc[20]))
            at, heading = arc[-1], heading + bend
    return np.array(points), middles


def cable() -> None:
    """From the horn through two bends to an arm with its return spring; and the wire in its bore."""
    figure = plt.figure(figsize=(13.0, 4.3), facecolor=PAPER)
    grid = figure.add_gridspec(2, 3, width_ratios=[1.9, 0.75, 1.0], hspace=0.3, wspace=0.3)
    ax, bore = figure.add_subplot(grid[:, 0]), figure.add_subplot(grid[:, 1])
    upper = figure.add_subplot(grid[0, 2])
    lower = figure.add_subplot(grid[1, 2], sharex=upper)
    drawing(ax)
    drawing(bore)
    path, middles = bent(np.array([14.0, 12.0]), [(16, 0, 1), (0, 70 * RAD, 16), (12, -80 * RAD, 16), (16, 0, 1)], 0.0)
    ax.plot(*path.T, color=PALE, lw=13, solid_capstyle="butt", zorder=1)
    ax.plot(*path.T, color=INK, lw=1.6, zorder=3)
    for (centre, mid), name in zip(middles, ("bends[0]", "bends[1]"), strict=True):
        out = (mid - centre) / np.linalg.norm(mid - centre)
        note(ax, centre + 4 * out, name, BLUE)
    last = path[-1]
    way = (path[-1] - path[-2]) / np.linalg.norm(path[-1] - path[-2])
    end = last + 14 * way
    ax.plot([0, 14], [12, 12], color=INK, lw=1.6)
    ax.plot(*np.array([last, end]).T, color=INK, lw=1.6)
    ax.plot([0, 0], [0, 12], color=INK, lw=3)
    foot = end + 14 * np.array([way[1], -way[0]])
    ax.plot(*np.array([foot, end]).T, color=INK, lw=3)
    beside(ax, (0, 0), (0, 12), "horn", 6)
    beside(ax, foot, end, "arm", 5)
    note(ax, (27, 4.5), "liner, core, bore, length")
    note(ax, last + 7 * way + (0, 4.5), "bare")
    ax.annotate("", (-12, 12), (-1, 12), arrowprops={"arrowstyle": "->", "color": ACCENT, "lw": 1.6})
    note(ax, (-7, 16), "F_in", ACCENT)
    t = np.linspace(0, 1, 160)
    spring = (
        end
        + 20 * t[:, None] * way
        + 2.2 * np.sin(14 * np.pi * t)[:, None] * np.array([-way[1], way[0]]) * (t > 0.1)[:, None]
    )
    ax.plot(*spring.T, color=BLUE, lw=1.1)
    note(ax, end + 12 * way + (4, 7), "returns: spring\nspring, preload", BLUE)
    ax.plot(*np.array([spring[-1] + (0, -4), spring[-1] + (0, 4)]).T, color=INK, lw=2.4)
    axle(ax, (0, 0), "servo's axle", (2, -6))
    axle(ax, foot, "function's axle", (2, -6))
    ax.set_xlim(-18, 113)
    t = np.linspace(20 * RAD, 160 * RAD, 80)
    for radius in (20.0, 26.0):
        bore.plot(radius * np.cos(t), radius * np.sin(t), color=GREY, lw=1.5)
    bore.fill(np.r_[20 * np.cos(t), 26 * np.cos(t[::-1])], np.r_[20 * np.sin(t), 26 * np.sin(t[::-1])], color=PALE)
    bore.plot(20.9 * np.cos(t), 20.9 * np.sin(t), color=ACCENT, lw=4)
    bore.plot(25.1 * np.cos(t), 25.1 * np.sin(t), color=BLUE, lw=4, alpha=0.55)
    note(bore, (0, 9.5), "pulled: hugs\nthe inside", ACCENT)
    note(bore, (0, 31), "pushed: hugs the outside", BLUE)
    note(bore, (0, -3), "lost: (bore - core)\nx all bends")
    bore.set_ylim(-2, 36)
    bore.set_xlim(-27, 27)
    bends = np.arange(0, 361, 10)
    made = [found(Cable(pulls="both_ways", core=0.001, bore=0.0016, bends=(max(v, 1e-6) * RAD,), length=0.3),
                  "lip_corner", -0.005, 0.009) for v in bends]  # fmt: skip
    share, loss = np.array([m.forward for m in made]), np.array([m.facts["lost_motion_m"] for m in made])
    for ax_ in (upper, lower):
        plain(ax_)
    theory = np.exp(-np.outer((0.05, 0.15), bends * RAD))
    upper.fill_between(bends, theory[1], theory[0], color=PALE)
    upper.plot(bends, share, color=INK, lw=1.7)
    upper.set_ylim(0, 1.05)
    upper.set_ylabel("share of the pull\nthat arrives")
    upper.text(20, 0.12, "shaded: friction 0.05 to 0.15", fontsize=8)
    lower.plot(bends, loss * MM, color=INK, lw=1.7)
    lower.set_ylabel("lost motion [mm]")
    lower.set_xlabel("all bends [deg]; 1.0 mm wire in a 1.6 mm bore")
    lower.set_xticks(range(0, 361, 90))
    keep(figure, "cable")


def pull_pull() -> None:
    """A loop round two drums, and what its pre-tension costs."""
    figure, (ax, plot) = plt.subplots(1, 2, figsize=(12.5, 3.7), facecolor=PAPER, width_ratios=[1.7, 1.0])
    drawing(ax)
    left, right, r, a = np.array([0.0, 0.0]), np.array([78.0, 0.0]), 12.0, 10.0
    for centre, radius in ((left, r), (right, a)):
        ax.add_patch(plt.Circle(centre, radius, fc=PALE, ec=INK, lw=1.4))
    top, low = (0.0, 12.0), (0.0, -12.0)
    ax.plot([top[0], 78], [12, 10], color=ACCENT, lw=1.8)
    ax.plot([low[0], 78], [-12, -10], color=BLUE, lw=1.8)
    for y, y2 in ((11.7, 10.3), (-11.7, -10.3)):
        ax.plot([20, 58], [y, y2], color=PALE, lw=12, solid_capstyle="butt", zorder=0)
    ax.annotate("", (10, 12 - 0.2), (24, 11.5), arrowprops={"arrowstyle": "->", "color": ACCENT, "lw": 1.6})
    note(ax, (39, 16.5), "the run that pulls: liner, bends, length", ACCENT)
    note(ax, (39, -16.5), "the run that follows, held taut by preload", BLUE)
    for centre, radius, name, q in ((left, r, "horn", 140), (right, a, "arm", 40)):
        tip = centre + radius * np.array([math.cos(q * RAD), math.sin(q * RAD)])
        ax.plot(*np.array([centre, tip]).T, color=INK, lw=1.4)
        note(ax, centre + 1.0 * (tip - centre) + (-6 if q > 90 else 6, 3), name)
    axle(ax, left, "servo's axle", (-27, 0))
    axle(ax, right, "function's axle", (30, 0))
    ax.set_xlim(-34, 114)
    ax.set_ylim(-22, 22)
    plain(plot)
    tension = np.linspace(0.5, 40, 40)
    for turns, colour in ((0.25, BLUE), (0.5, INK), (1.0, ACCENT)):
        drag = [
            found(PullPull(horn=0.012, arm=0.010, length=0.4, bends=(turns * 2 * np.pi,), preload=float(f))).dry
            for f in tension
        ]
        plot.plot(tension, np.array(drag) * MM, color=colour, lw=1.6)
        plot.text(40.6, drag[-1] * MM, f"{turns * 360:.0f} deg\nof bends", color=colour, va="center", fontsize=8)
    plot.set_xlim(0, 50)
    plot.set_xticks(range(0, 41, 10))
    plot.set_ylabel("drag at the horn [N·mm]")
    plot.set_xlabel("preload [N]; horn 12 mm, ptfe liner")
    keep(figure, "pull_pull")


def rod() -> None:
    """A hand's rod, held fast and bending; and how long it may be."""
    figure, (ax, plot) = plt.subplots(1, 2, figsize=(12.5, 3.7), facecolor=PAPER, width_ratios=[1.5, 1.0])
    drawing(ax)
    x = np.linspace(0, 1, 100)
    shape = x * x * (3 - x) / 2  # an end load's bend, as in Rayleigh's quotient
    for sign, tone, width in ((0, INK, 4), (1, "#cfc4b2", 2.4), (-1, "#cfc4b2", 2.4)):
        ax.plot(450 * x, sign * 60 * shape, color=tone, lw=width, solid_capstyle="round", zorder=3 if sign == 0 else 2)
    ax.plot(450, 0, "o", color=ACCENT, ms=17, zorder=4)
    ax.add_patch(plt.Rectangle((-80, -26), 80, 52, fc=PALE, ec=INK, lw=1.4, zorder=1))
    note(ax, (-40, 0), "grip")
    note(ax, (430, -86), "end_mass: the puppet's\nhand or wing", ACCENT)
    ax.annotate("", (450, 96), (0, 96), arrowprops={"arrowstyle": "<->", "color": INK, "lw": 0.9})
    note(ax, (225, 96), "length")
    note(ax, (170, -34), "outer, inner, material")
    ax.annotate("", (490, 58), (490, -58), arrowprops={"arrowstyle": "<->", "color": GREY, "lw": 1.1})
    note(ax, (530, 0), "f_1", GREY)
    ax.set_xlim(-95, 560)
    ax.set_ylim(-120, 125)
    plain(plot)
    lengths = np.linspace(0.25, 0.9, 60)
    for kind, colour, name in (
        ({"outer": 0.005, "inner": 0.003}, INK, "carbon tube 5/3 mm"),
        ({"outer": 0.003, "material": "steel"}, ACCENT, "steel 3 mm"),
        ({"outer": 0.008, "material": "wood"}, BLUE, "wood 8 mm"),
    ):
        first = [
            found(HandRod(length=float(v), end_mass=0.030, **kind), "wing_reach", 0.0, 0.12).facts["first_bending_hz"]
            for v in lengths
        ]
        plot.plot(lengths * MM, first, color=colour, lw=1.7, label=name)
    plot.axhline(9, color=GREY, lw=0.9, ls=":")
    plot.text(895, 9.3, "9 Hz: under 3 moves\na second no whip", fontsize=8, color=GREY, ha="right")
    plot.set_ylim(0, 24)
    plot.set_ylabel("first bending frequency f_1 [Hz]")
    plot.set_xlabel("length [mm], with 30 g at the end")
    plot.legend(frameon=False, fontsize=8)
    keep(figure, "rod")


if __name__ == "__main__":
    begin()
    for draw in (cable, pull_pull, rod):
        draw()
