"""Draw the mechanisms in one plane of the method pages: ``PYTHONPATH=. .venv/bin/python docs/img/mechs.py``
(wants matplotlib, which is no dependency).

Every position is one that the engine's own solution gives: a mechanism at neutral, and in grey at both ends of its travel.
"""

from __future__ import annotations

import math

import matplotlib.pyplot as plt
import numpy as np
from paper import (
    ACCENT,
    BLUE,
    DEG,
    GREY,
    INK,
    MM,
    angle,
    angles,
    axle,
    begin,
    bench,
    beside,
    between,
    drawing,
    keep,
    links,
    note,
    plain,
)  # fmt: skip
from tests.mech.rigs import JAW, function, sound

from marotte.basis.contracts.mech import Transmission
from marotte.creature.schema.mechs import (
    BellCrank,
    CrankSlider,
    Direct,
    FourBar,
    TeeBar,
)

RAD = math.pi / 180.0


def polar(at: np.ndarray, length: float, angle_: float) -> np.ndarray:
    """Return the far end of a link [mm]."""
    return np.array([at[0] + length * math.cos(angle_), at[1] + length * math.sin(angle_)])


def curves(upper: plt.Axes, lower: plt.Axes, found: Transmission, style: str = "-", names: bool = True) -> None:
    """Ratio over the travel, and the angle at every joint."""
    q = found.position[0] * (DEG if found.output_units[0] == "rad" else MM)
    rate = found.rate[0, 0] * (1.0 if found.output_units[0] == "rad" else MM / DEG)
    upper.plot(q, rate, color=INK, lw=1.7, ls=style)
    for (name, rows), colour in zip(found.joints.items(), (BLUE, ACCENT, GREY, INK), strict=False):
        lower.plot(q, rows * DEG, color=colour, lw=1.5, ls=style, label=f"at the {name}" if names else None)
    angles(lower)


def four_bar() -> None:
    """A jaw: clocked square, and as it lay on the bench."""
    figure, (ax,), upper, lower = bench()
    own = function("jaw", 0.0, 22 * RAD)
    square, flat = (sound(FourBar(**JAW, arm_at_neutral=clock * RAD), own) for clock in (90, 70))
    horn, rod, arm, ground = (JAW[name] * MM for name in ("horn", "rod", "arm", "ground"))
    servo, hinge = np.zeros(2), np.array([ground, 0.0])
    ax.plot([0, ground + 17], [0, 0], color=INK, lw=0.9, ls=(0, (6, 4)))
    for i in (-1, 0):
        u, q = square.grid[0][i], square.position[0, i]
        way = 1.0 if square.clocking["horn"] < math.pi else -1.0
        a, b = square.clocking["horn"] + way * u, square.clocking["arm"] + q
        ball, far = polar(servo, horn, a), polar(hinge, arm, b)
        assert abs(np.linalg.norm(far - ball) - rod) < 1e-6, "the drawing does not close"
        links(ax, [servo, ball, far, hinge], INK if i == 0 else "#cfc4b2", rod=1)
        if i == -1:
            note(ax, np.add(far, (-2, 3.5)), "at 22 deg", GREY)
    beside(ax, servo, ball, "horn", 6)
    beside(ax, ball, far, "rod", 3.2, colour=ACCENT)
    beside(ax, far, hinge, "arm", 3.4)
    beside(ax, servo, hinge, "ground", -4)
    axle(ax, servo, "servo's axle", (0, -6))
    axle(ax, hinge, "function's axle\n(jaw hinge)", (0, -7))
    angle(ax, hinge, 0, b, 8, "arm_at_neutral\n90 deg", BLUE, (17, 6))
    angle(ax, servo, 0, a, 6, f"horn_at_neutral\n{a * DEG:.0f} deg, follows", BLUE, (17, 5))
    between(ax, far, ball, hinge, 5, "transmission\nangle", ACCENT, (-14, -7))
    note(ax, (32, -14), "arm_turns: with (the arm's angle grows as the jaw opens); branch: open", fontsize=8.5)
    ax.set_xlim(-12, 92)
    ax.set_ylim(-17, 33)
    curves(upper, lower, square)
    curves(upper, lower, flat, "--", names=False)
    upper.set_ylim(0, 0.8)
    upper.set_ylabel("jaw deg per deg of servo")
    upper.set_title("solid: arm_at_neutral 90 deg; dashed: 70 deg", loc="left", fontsize=9)
    lower.legend(frameon=False, loc="lower right", fontsize=8)
    lower.set_xlabel("jaw [deg]. Shaded: under the 40 deg that are asked for")
    keep(figure, "four_bar")


def crank_slider() -> None:
    """A lower lip's tab, with an offset."""
    figure, (ax,), upper, lower = bench()
    record = CrankSlider(horn=0.009, rod=0.028, offset=0.004)
    found = sound(record, function("lip_lower", -0.004, 0.005))
    servo, offset = np.zeros(2), record.offset * MM
    ax.plot([0, 44], [0, 0], color=INK, lw=0.9, ls=(0, (6, 4)))
    ax.plot([14, 44], [offset, offset], color=GREY, lw=5, alpha=0.3, solid_capstyle="butt")
    tab0 = math.sqrt(28.0**2 - (9.0 - offset) ** 2)
    for i in (0, -1, int(np.argmin(np.abs(found.grid[0])))):
        u, q = found.grid[0][i], found.position[0, i] * MM
        ball = min(
            (polar(servo, 9.0, math.pi / 2 + way * u) for way in (1, -1)),
            key=lambda p, q=q: abs(np.linalg.norm(p - (tab0 + q, offset)) - 28.0),
        )
        tab = np.array([tab0 + q, offset])
        assert abs(np.linalg.norm(tab - ball) - 28.0) < 1e-6, "the drawing does not close"
        here = abs(u) < 0.02
        links(ax, [servo, ball, tab], INK if here else "#cfc4b2", rod=1)
        ax.plot(*tab, "s", color=INK if here else "#cfc4b2", ms=9, zorder=4)
        if not here:
            note(ax, np.add(tab, (0, -1.9)), f"{q:+.0f} mm", GREY)
    beside(ax, servo, ball, "horn", -2.2)
    beside(ax, ball, tab, "rod", 1.3, colour=ACCENT)
    note(ax, np.add(tab, (2.2, 1.7)), "tab")
    angle(ax, servo, 0, math.pi / 2, 2.6, "horn_at_neutral\n90 deg", BLUE, (-6.5, 1.6))
    ax.annotate("", (11.5, offset), (11.5, 0), arrowprops={"arrowstyle": "<->", "color": INK, "lw": 0.9})
    note(ax, (14.2, 1.2), "offset")
    ax.annotate("", (44, offset), (37, offset), arrowprops={"arrowstyle": "->", "color": INK, "lw": 1.2})
    note(ax, (40.5, offset + 2.2), "slides: out")
    between(ax, tab, ball, np.add(tab, (0, 6)), 5, "angle at the slide", ACCENT, (0, 6.6))
    ax.plot([tab[0]] * 2, [tab[1], tab[1] + 5.5], color=ACCENT, lw=0.8, ls=":")
    axle(ax, servo, "servo's axle", (0, -2.2))
    ax.set_xlim(-11, 45)
    ax.set_ylim(-8, 17)
    curves(upper, lower, found)
    upper.set_ylim(0, 0.22)
    upper.set_ylabel("mm per deg of servo")
    lower.legend(frameon=False, loc="lower right", fontsize=8)
    lower.set_xlabel("lip [mm]. Shaded: under the 40 deg that are asked for")
    keep(figure, "crank_slider")


def bell_crank() -> None:
    """A lip's corner: the pull turned round at a crank."""
    figure, (one, two), upper, lower = bench(14.5, 4.2, drawings=2, share=1.15)
    record = BellCrank(
        horn=0.012, rod=0.034, in_arm=0.012, out_arm=0.016, ground=0.036, next_rod=0.030, out_arm_at_neutral=85 * RAD
    )
    own = function("lip_corner", -0.005, 0.006)
    found = sound(record, own)
    first = sound(
        FourBar(horn=0.012, rod=0.034, arm=0.012, ground=0.036, arm_at_neutral=90 * RAD),
        function("other_turn", -0.6, 0.6, axis=(1.0, 0.0, 0.0)),
    )
    servo, crank = np.zeros(2), np.array([36.0, 0.0])
    out0 = 16 * math.cos(85 * RAD) + math.sqrt(30.0**2 - (16 * math.sin(85 * RAD)) ** 2)
    for ax, long in ((one, 46), (two, 42)):
        ax.plot([0, long], [0, 0], color=INK, lw=0.9, ls=(0, (6, 4)))
    for i in (0, -1, int(np.argmin(np.abs(found.grid[0])))):
        u, q = found.grid[0][i], found.position[0, i] * MM
        turned = float(np.interp(-u, first.grid[0], first.position[0]))
        ball = min((polar(servo, 12, found.clocking["horn"] + w * u) for w in (1, -1)),
                   key=lambda p, t=turned: abs(np.linalg.norm(p - polar(crank, 12, math.pi / 2 + t)) - 34))  # fmt: skip
        far = polar(crank, 12, math.pi / 2 + turned)
        pull, tab = polar(servo, 16, 85 * RAD + turned), np.array([out0 + q, 0.0])
        assert abs(np.linalg.norm(ball - far) - 34) < 1e-4, "the first drawing does not close"
        assert abs(np.linalg.norm(pull - tab) - 30) < 1e-3, "the second drawing does not close"
        here = abs(u) < 0.02
        tone = INK if here else "#cfc4b2"
        links(one, [servo, ball, far, crank], tone, rod=1)
        links(two, [servo, pull, tab], tone, rod=1)
        two.plot(*tab, "s", color=tone, ms=9, zorder=4)
    for a, b, text, off in ((servo, ball, "horn", 4.5), (far, crank, "in_arm", -4)):
        beside(one, a, b, text, off)
    beside(one, ball, far, "rod", 2.4, colour=ACCENT)
    beside(one, servo, crank, "ground", -2.6)
    angle(one, crank, 0, math.pi / 2, 4, "in_arm_at_neutral\n90 deg", BLUE, (11, 7.5))
    axle(one, servo, "servo's axle", (0, -4.2))
    axle(one, crank, "crank's axle", (0, -4.2))
    one.set_title("first plane: as a four_bar", fontsize=9)
    beside(two, servo, pull, "out_arm", 6.5)
    beside(two, pull, tab, "next_rod", 3.2, colour=ACCENT)
    angle(two, servo, 0, 85 * RAD, 4, "out_arm_at_neutral\n85 deg", BLUE, (-12, 2.5))
    axle(two, servo, "crank's axle", (0, -4.2))
    note(two, np.add(tab, (0, -4.2)), "tab")
    two.set_title("second plane: as a crank_slider\n(with next_arm, next_ground: as a four_bar)", fontsize=9)
    one.set_xlim(-9, 58)
    two.set_xlim(-23, 44)
    for ax in (one, two):
        ax.set_ylim(-14, 25)
    curves(upper, lower, found)
    upper.set_ylim(0, 0.4)
    upper.set_ylabel("mm per deg of servo")
    lower.legend(frameon=False, loc="lower right", fontsize=7.5, ncols=2)
    lower.set_xlabel("corner [mm]. Shaded: under the 40 deg asked for")
    keep(figure, "bell_crank")


def tee_bar() -> None:
    """Two brows on one bar."""
    figure, (ax,), upper, lower = bench(share=1.5)
    record = TeeBar(shares=(0.6, 0.4), horn=0.020, rod=0.060)
    inner, outer = function("brow_inner", -0.005, 0.009), function("brow_outer", -0.004, 0.006)
    found = sound(record, inner, outer)
    servo, bar0 = np.zeros(2), math.sqrt(60.0**2 - 20.0**2)
    for i in (0, -1, int(np.argmin(np.abs(found.grid[0])))):
        u = found.grid[0][i]
        q1, q2 = (row[i] * MM for row in found.position)
        s = q1 / 0.6
        bar = np.array([bar0 + s, 0.0])
        ball = min(
            (polar(servo, 20, math.pi / 2 + w * u) for w in (1, -1)),
            key=lambda p, b=bar: abs(np.linalg.norm(p - b) - 60),
        )
        assert abs(np.linalg.norm(bar - ball) - 60) < 1e-6, "the drawing does not close"
        here = abs(u) < 0.02
        tone = INK if here else "#cfc4b2"
        links(ax, [servo, ball, bar], tone, rod=1)
        ax.plot([bar[0], bar[0] + 8], [0, 0], color=tone, lw=2.6)
        ends = np.array([[bar0 + 8 + q1 / 0.6, 16], [bar0 + 8 + q1 / 0.6, -16]])
        ax.plot(*ends.T, color=tone, lw=2.6)
        for y, q in ((16, q1), (-16, q2)):
            ax.plot([bar0 + 30 + q], [y], "s", color=tone, ms=9)
        if here:
            ax.plot([bar0 + 8, bar0 + 30], [16, 16], color=INK, lw=1.2, ls=":")
            ax.plot([bar0 + 8, bar0 + 30], [-16, -16], color=INK, lw=1.2, ls=":")
    beside(ax, servo, ball, "horn", 12)
    beside(ax, ball, bar, "rod", 6, colour=ACCENT)
    note(ax, (bar0 + 6, 21), "bar, stroke s")
    note(ax, (bar0 + 34, 23), "first tab:\nshare 60 %")
    note(ax, (bar0 + 34, -23.5), "second tab:\nshare 40 %")
    angle(ax, servo, 0, math.pi / 2, 6, "horn_at_neutral\n90 deg", BLUE, (17, 5))
    ax.plot([0, bar0], [0, 0], color=INK, lw=0.9, ls=(0, (6, 4)))
    axle(ax, servo, "servo's axle", (0, -6))
    ax.set_xlim(-14, 104)
    ax.set_ylim(-29, 29)
    u = found.grid[0] * DEG
    upper.plot(u, found.position[0] * MM, color=INK, lw=1.7, label="inner brow, 60 %")
    upper.plot(u, found.position[1] * MM, color=BLUE, lw=1.7, label="outer brow, 40 %")
    for end, colour in ((9, INK), (6, BLUE), (-5, INK), (-4, BLUE)):
        upper.axhline(end, color=colour, lw=0.8, ls=":")
    upper.set_ylabel("tab [mm]")
    upper.legend(frameon=True, facecolor="#fffdf8", edgecolor="none", framealpha=1.0, fontsize=8, loc="lower right")
    for (name, rows), colour in zip(found.joints.items(), (BLUE, ACCENT), strict=False):
        lower.plot(u, rows * DEG, color=colour, lw=1.5, label=f"at the {name}")
    angles(lower)
    lower.legend(frameon=False, loc="lower right", fontsize=8)
    lower.set_xlabel("servo from neutral [deg]. Dotted: ends of the travels that the file claims")
    keep(figure, "tee_bar")


def direct() -> None:
    """An ear on a horn, and fingers on a mouth plate."""
    figure, (one, two, upper) = plt.subplots(
        1, 3, figsize=(12.5, 3.5), width_ratios=[1.0, 1.1, 0.9], facecolor="#fffdf8"
    )
    drawing(one)
    drawing(two)
    plain(upper)
    for t, tone in ((90, INK), (70, "#cfc4b2"), (160, "#cfc4b2")):
        tip = polar(np.zeros(2), 60, t * RAD)
        one.plot([0, tip[0]], [0, tip[1]], color=tone, lw=7 if tone == INK else 5, solid_capstyle="round", zorder=2)
    axle(one, (0, 0))
    note(one, (0, -11), "the servo's axle is the function's")
    note(one, (-25, 58), "ear, neutral")
    angle(one, (0, 0), 90 * RAD, 160 * RAD, 26, "q = u\n(ratio: 1)", BLUE, (-26, 33))
    one.set_xlim(-66, 48)
    one.set_ylim(-20, 70)
    one.set_title("on a horn", fontsize=9)
    found = sound(Direct(plate=0.06), function("beak", 0.0, 35 * RAD))
    assert abs(found.grid[0][-1] - 0.06 * 35 * RAD) < 1e-9, "the fingers' way is not a_p q"
    for t, tone in ((-35, "#cfc4b2"), (0, INK)):
        tip = polar(np.zeros(2), 78, t * RAD)
        two.plot([0, tip[0]], [0, tip[1]], color=tone, lw=4, solid_capstyle="round")
    fingers = polar(np.zeros(2), 60, -35 * RAD)
    two.annotate("", np.add(fingers, (0, 2)), (60, -1), arrowprops={"arrowstyle": "->", "color": ACCENT, "lw": 1.6})
    note(two, (69, -19), "x, fingers", ACCENT)
    two.annotate("", (60, 8), (0, 8), arrowprops={"arrowstyle": "<->", "color": INK, "lw": 0.9})
    note(two, (30, 13), "plate: 60 mm")
    angle(two, (0, 0), 0, -35 * RAD, 24, "q", BLUE, (29, -9))
    axle(two, (0, 0), "hinge", (-2, -9))
    two.set_xlim(-10, 92)
    two.set_ylim(-52, 40)
    two.set_title("with a plate", fontsize=9)
    upper.plot(found.grid[0] * MM, found.position[0] * DEG, color=INK, lw=1.7)
    upper.set_xlabel("way of the fingertips [mm]")
    upper.set_ylabel("beak [deg]")
    upper.set_title("plate: 60 mm: 37 mm open it by 35 deg", fontsize=9, loc="left")
    keep(figure, "direct")


if __name__ == "__main__":
    begin()
    for draw in (direct, four_bar, crank_slider, bell_crank, tee_bar):
        draw()
