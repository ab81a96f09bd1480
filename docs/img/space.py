"""Draw the ball rod and the gimbal of the method pages: ``PYTHONPATH=. .venv/bin/python docs/img/space.py``
(wants matplotlib, which is no dependency). Every position is one that the engine's own solution gives.
"""

from __future__ import annotations

import math

import matplotlib.pyplot as plt
import numpy as np
from mechs import curves
from paper import (
    ACCENT,
    BLUE,
    DEG,
    GREY,
    INK,
    MM,
    angle,
    axle,
    begin,
    bench,
    beside,
    drawing,
    keep,
    links,
    note,
    plain,
)  # fmt: skip
from tests.mech.rigs import eye, function, sound

from marotte.basis.contracts.mech import Transmission
from marotte.creature.schema.mechs import (
    BallRod,
    GimbalArms,
    TwoRodGimbal,
)
from marotte.mech.kinds.ball_rod import from_forward
from marotte.mech.kinds.two_rod_gimbal import rods_of

RAD = math.pi / 180.0


def flat(points: np.ndarray) -> np.ndarray:
    """Return places (n, 3) [x left, y up, z forward] as seen from the creature's right, in front and above."""
    eye_ = np.array([-0.70, 0.52, 0.50])
    right = np.array([eye_[2], 0.0, -eye_[0]]) / math.hypot(eye_[0], eye_[2])
    up = np.cross(eye_ / np.linalg.norm(eye_), right)
    return np.atleast_2d(points) @ np.column_stack((right, up))


def ball_rod() -> None:
    """A lid whose servo stands upright beside it."""
    figure, (ax,), upper, lower = bench()
    record = BallRod(
        horn=0.010, rod=0.034, arm=0.010, horn_at=(0.010, -0.010, -0.034), horn_axis=(0.0, 1.0, 0.0),
        arm_at=(0.0, 0.0, 0.0), arm_at_neutral=110 * RAD, horn_at_neutral=-95 * RAD,
    )  # fmt: skip
    found = sound(record, function("lid_upper", 0.0, 50 * RAD, 14 * RAD))
    c, o = np.array(record.horn_at) * MM, np.zeros(3)
    (h1, h2), (a1, a2) = (np.array(from_forward(axis)) for axis in ((0.0, 1.0, 0.0), (1.0, 0.0, 0.0)))
    round_ = np.linspace(0, 2 * np.pi, 100)[:, None]
    for centre, (e1, e2) in ((c, (h1, h2)), (o, (a1, a2))):
        ax.plot(*flat(centre + 10 * (np.cos(round_) * e1 + np.sin(round_) * e2)).T, color=GREY, lw=0.8)
        ax.plot(*flat(np.array([centre, centre + 10 * e1])).T, color=INK, lw=0.9, ls=(0, (5, 4)))
    for i in (0, -1, int(np.argmin(np.abs(found.grid[0])))):
        u, q = found.grid[0][i], found.position[0, i]
        b = record.arm_at_neutral + q - 14 * RAD
        far = 10 * (math.cos(b) * a1 + math.sin(b) * a2)
        near = min(
            (
                c + 10 * (math.cos(t) * h1 + math.sin(t) * h2)
                for t in (found.clocking["horn"] + u, found.clocking["horn"] - u)
            ),
            key=lambda p, far=far: abs(np.linalg.norm(p - far) - 34),
        )
        assert abs(np.linalg.norm(near - far) - 34) < 1e-6, "the drawing does not close"
        here = abs(u) < 0.02
        links(ax, flat(np.array([c, near, far, o])), INK if here else "#cfc4b2", rod=1)
    near2, far2, c2, o2 = flat(np.array([near, far, c, o]))
    beside(ax, c2, near2, "horn", -2.2)
    beside(ax, near2, far2, "rod, a ball\nat each end", -3.5, colour=ACCENT)
    beside(ax, far2, o2, "arm", 2.4)
    for centre, axis, text, off in (
        (c, (0, 1, 0), "horn_axis", (0, 1.5)),
        (o, (1, 0, 0), "arm_axis (absent: the function's)", (3, 1.4)),
    ):
        ends = flat(np.array([centre - 4 * np.array(axis), centre + 16 * np.array(axis)]))
        ax.annotate("", ends[1], ends[0], arrowprops={"arrowstyle": "->", "color": INK, "lw": 1.1})
        note(ax, ends[1] + off, text)
    axle(ax, c2, "horn_at", (4.4, 1.6))
    axle(ax, o2, "arm_at", (-1.0, 4.6))
    note(ax, flat(c + 11 * h1)[0] + (1.5, 0.9), "0 deg", GREY)
    note(ax, flat(o + 12 * a1)[0] + (6, -0.4), "0 deg: forward", GREY)
    for centre, e1, e2, stop, text, off in (
        (c, h1, h2, found.clocking["horn"], "horn_at_neutral", (14, 9)),
        (o, a1, a2, record.arm_at_neutral, "arm_at_neutral\n110 deg", (13, -9.5)),
    ):
        t, centre_at = np.linspace(0, stop, 60)[:, None], flat(centre)[0] + off
        way = flat(centre + 5.5 * (np.cos(t) * e1 + np.sin(t) * e2))
        ax.plot(*way.T, color=BLUE, lw=1.3)
        ax.plot([way[30, 0], centre_at[0]], [way[30, 1], centre_at[1]], color=BLUE, lw=0.7)
        note(ax, centre_at, text, BLUE)
    for axis, text in (((1, 0, 0), "x left"), ((0, 1, 0), "y up"), ((0, 0, 1), "z forward")):
        ends = np.add(flat(np.array([[0, 0, 0], 7 * np.array(axis)])), (15.0, 17.0))
        ax.annotate("", ends[1], ends[0], arrowprops={"arrowstyle": "->", "color": GREY, "lw": 1.0})
        note(ax, ends[1] + 0.25 * (ends[1] - ends[0]), text, GREY, fontsize=7.5)
    ax.set_xlim(-42, 26)
    ax.set_ylim(-13, 25)
    curves(upper, lower, found)
    anew = record.model_copy(update={"arm_at_neutral": 80 * RAD})
    curves(upper, lower, sound(anew, function("lid_upper", 0.0, 50 * RAD, 14 * RAD)), "--", names=False)
    upper.set_ylim(0, None)
    upper.set_title("solid: arm_at_neutral 110 deg, as drawn; dashed: 80 deg", loc="left", fontsize=9)
    upper.set_ylabel("lid deg per deg of servo")
    lower.legend(frameon=False, loc="lower left", fontsize=8)
    lower.set_xlabel("lid [deg]. Shaded: under the 40 deg that are asked for")
    keep(figure, "ball_rod")


def against(found: Transmission) -> np.ndarray:
    """Return where the eye looks, (n, 2) [deg], with both horns turned equally far against each other."""
    a, b = found.grid
    inside = found.inside if found.inside is not None else np.ones(found.position[0].shape, dtype=bool)
    kept = []
    for k, u in enumerate(a):
        if b[0] <= -u <= b[-1] and inside[k, int(np.argmin(np.abs(b + u)))]:
            kept.append([np.interp(-u, b, found.position[o][k]) * DEG for o in (0, 1)])
    return np.array(kept)


def two_rod_gimbal() -> None:
    """An eye, from the side and from above; and where it looks for all positions of both horns."""
    figure = plt.figure(figsize=(14.0, 3.9), facecolor="#fffdf8")
    grid = figure.add_gridspec(1, 3, width_ratios=[1.45, 1.45, 1.0], wspace=0.12)
    side, above, sheet = (figure.add_subplot(grid[0, i]) for i in range(3))
    record = TwoRodGimbal(horn=0.012, rod=0.044, arms=GimbalArms(spacing=0.016, height=0.010))
    found = eye(turn_deg=25.0, lift_deg=18.0)
    rods = rods_of(record, (0.0, 0.0), None)
    zero = [int(np.argmin(np.abs(axis))) for axis in found.grid]
    inside = found.inside if found.inside is not None else np.ones(found.position[0].shape, dtype=bool)
    lift = np.where(inside, found.position[1] - 3 * np.abs(found.position[0]), -np.inf)
    turn = np.where(inside, found.position[0] - 3 * np.abs(found.position[1]), -np.inf)
    poses = {
        "lift": np.unravel_index(int(np.argmax(lift)), lift.shape),
        "turn": np.unravel_index(int(np.argmax(turn)), turn.shape),
        "neutral": tuple(zero),
    }
    for ax, (i, j), skip in ((side, (2, 1), "turn"), (above, (2, 0), "lift")):
        drawing(ax)
        for name, at in poses.items():
            if name == skip:
                continue
            tone = INK if name == "neutral" else "#cfc4b2"
            t, s = found.position[0][at], found.position[1][at]
            turned = np.array([[math.cos(t), 0, math.sin(t)], [0, 1, 0], [-math.sin(t), 0, math.cos(t)]])
            lifted = np.array([[1, 0, 0], [0, math.cos(s), math.sin(s)], [0, -math.sin(s), math.cos(s)]])
            pose = turned @ lifted
            for row, u in zip(rods, (found.grid[0][at[0]], found.grid[1][at[1]]), strict=True):
                ball, centre = pose @ row[:3] * MM, row[3:6] * MM
                tip = min(
                    (centre + 12 * np.array([0, math.sin(a), math.cos(a)]) for a in (row[7] + u, row[7] - u)),
                    key=lambda p, b=ball: abs(np.linalg.norm(p - b) - 44),
                )
                assert abs(np.linalg.norm(tip - ball) - 44) < 1e-3, "the drawing does not close"
                links(ax, [centre[[i, j]], tip[[i, j]], ball[[i, j]], (0, 0)], tone, rod=1)
            sight = pose @ np.array([0, 0, 30.0])
            ax.annotate("", sight[[i, j]], (0, 0), arrowprops={"arrowstyle": "->", "color": tone, "lw": 1.3})
        t = np.linspace(-np.pi / 2, np.pi / 2, 60)
        ax.plot(20 * np.cos(t), 20 * np.sin(t), color=GREY, lw=1.2)
        axle(ax, (0, 0))
        ax.set_xlim(-62, 33)
        ax.set_ylim(-24, 27)
    centre, ball = rods[0][3:6] * MM, rods[0][:3] * MM
    tip = np.add(centre, (0, 12, 0))
    beside(side, centre[[2, 1]], tip[[2, 1]], "horn", 7)
    beside(side, tip[[2, 1]], ball[[2, 1]], "rod", 4, colour=ACCENT)
    side.annotate("", (6, 10), (6, 0), arrowprops={"arrowstyle": "<->", "color": INK, "lw": 0.9})
    note(side, (12, 5.4), "height")
    angle(side, centre[[2, 1]], 0, math.pi / 2, 5, "horn_at_neutral\n90 deg", BLUE, (16, 4))
    axle(side, centre[[2, 1]])
    side.set_title("from the side: both pull back, the eye lifts", fontsize=9)
    above.annotate("", (5, 8), (5, -8), arrowprops={"arrowstyle": "<->", "color": INK, "lw": 0.9})
    note(above, (6.5, -12.5), "spacing")
    note(above, (-52, 13), "a: outer rod")
    note(above, (-52, -13.5), "b: inner rod")
    above.set_title("from above: one pulls, the other pushes, the eye turns", fontsize=9)
    plain(sheet)
    turn_deg, lift_deg = (np.where(inside, rows * DEG, np.nan) for rows in found.position)
    for k in range(0, 41, 4):
        sheet.plot(turn_deg[k], lift_deg[k], color=ACCENT, lw=0.9)
        sheet.plot(turn_deg[:, k], lift_deg[:, k], color=BLUE, lw=0.9)
    far_back = eye(turn_deg=25.0, lift_deg=18.0, arms=GimbalArms(spacing=0.016, height=0.010, back=0.010))
    for one, style, name in ((found, "-", "back: 0"), (far_back, (0, (3, 2)), "back: 10 mm")):
        sheet.plot(*against(one).T, color=INK, lw=2.0, ls=style, label=name)
    sheet.legend(frameon=True, facecolor="#fffdf8", edgecolor="none", framealpha=0.9, fontsize=8, loc="lower right")
    sheet.set_xlabel("turn [deg]. Red: horn a held; blue: horn b held;\nblack: a = -b, which should turn only")
    sheet.set_ylabel("lift [deg]")
    keep(figure, "two_rod_gimbal")


if __name__ == "__main__":
    begin()
    for draw in (ball_rod, two_rod_gimbal):
        draw()
