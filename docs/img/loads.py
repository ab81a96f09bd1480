"""Draw what bears and what drives: a skin, a servo's line, a supply. ``PYTHONPATH=. .venv/bin/python docs/img/loads.py``
(wants matplotlib, which is no dependency).
"""

from __future__ import annotations

import math

import matplotlib.pyplot as plt
import numpy as np
from paper import ACCENT, BLUE, DEG, GREY, INK, MM, PALE, PAPER, begin, drawing, keep, note, plain
from tests.mech.rigs import function
from tests.published.test_measured_servo import LINE, STALLED_NEAR_NM, VOLTS, bench, rows

from marotte.basis.contracts.mech import Skin
from marotte.creature.schema.servos import ServoPoint
from marotte.creature.schema.skins import SkinCard, Strip
from marotte.creature.shelf import shelf
from marotte.drive.servo import motor, speed_at_torque_rad_s
from marotte.mech.skin import force_at, skin, stretch_at

RAD = math.pi / 180.0


def skins() -> None:
    """The chin of a jaw: as cast shut, and sculpted part-way and thinned."""
    figure, (left, right) = plt.subplots(1, 2, figsize=(12, 4.0), facecolor=PAPER, width_ratios=[1, 1])

    def chin(sculpted: float, thickness: float, low: float = 0.0) -> Skin:
        jaw = function("jaw", low * RAD, 22 * RAD)
        strip = Strip(material="silicone_00_50", thickness=thickness, width=0.080, length=0.045)
        card = SkinCard(strip=strip, sculpted_at={"jaw": sculpted * RAD}, holds={"jaw": 0.070})
        return skin("chin", card, {"jaw": jaw}, shelf("2026-1"))

    shut, thin, ajar, both = chin(0, 0.004), chin(0, 0.002), chin(8, 0.002), chin(0, 0.004, -5)
    for ax in (left, right):
        plain(ax)
        ax.axhline(0, color=GREY, lw=0.7)
    x = np.linspace(-0.006, 0.026, 300)
    force = np.array([force_at(both, v) for v in x])
    pull = force > 0
    left.fill_between(x[pull] * MM, force[pull] * shut.band[0], force[pull] * shut.band[1], color=PALE)
    left.plot(x * MM, force, color=INK, lw=1.8)
    for factor, text, colour in ((shut.band[1], "cold", BLUE), (shut.band[0], "worn in and warm", ACCENT)):
        left.plot(x[pull] * MM, force[pull] * factor, color=colour, lw=1.0)
        side = "right" if factor > 1 else "left"
        left.text(18.5 if factor > 1 else 20.0, force_at(both, 0.019) * factor, text, color=colour, ha=side,
                  va="bottom" if factor > 1 else "top", fontsize=8.5)  # fmt: skip
    left.plot(0, 0, "o", color=INK, ms=6)
    left.annotate(
        "as sculpted:\nno force", (0, 0), (4.0, 0.9), arrowprops={"arrowstyle": "->", "color": INK, "lw": 0.9}
    )
    left.annotate(
        "pushed together\nit folds",
        (-3.5, force[23]),
        (-6.2, 2.6),
        arrowprops={"arrowstyle": "->", "color": INK, "lw": 0.9},
    )
    left.set_xlabel("stretch x [mm]")
    left.set_ylabel("pull F [N]")
    left.set_title("silicone_00_50, 4 mm thick, 80 wide, 45 long", loc="left", fontsize=9)
    q = np.linspace(0, 22, 200)
    for made, colour, text in (
        (shut, INK, "4 mm, sculpted_at 0 deg"),
        (thin, BLUE, "2 mm, sculpted_at 0 deg"),
        (ajar, ACCENT, "2 mm, sculpted_at 8 deg"),
    ):
        pulls = np.array([force_at(made, stretch_at(made, {"jaw": v * RAD})) for v in q])
        right.plot(q, pulls, color=colour, lw=1.8)
        right.plot(made.sculpted["jaw"] * DEG, 0, "o", color=colour, ms=6)
        right.text(22.3, pulls[-1], f"{text}\n{pulls[-1]:.1f} N", color=colour, va="center", fontsize=8.5)
    right.set_xlim(-0.5, 31)
    right.set_xticks(range(0, 23, 4))
    right.set_xlabel("jaw [deg], holds: 70 mm/rad")
    right.set_ylabel("pull F [N]")
    right.set_title("the same chin over the jaw's travel", loc="left", fontsize=9)
    keep(figure, "skin")


def servo() -> None:
    """A real servo on a bench, its advertised line, and what is planned with."""
    figure, (left, right) = plt.subplots(1, 2, figsize=(12, 4.0), facecolor=PAPER)
    measured = np.array(rows())
    free, claimed = np.deg2rad(LINE[0]), LINE[0] / LINE[1]
    sheet = bench().model_copy(
        update={
            "measured": (),
            "derate": 1.0,
            "points": (ServoPoint(at=VOLTS, stall=claimed, free=free, stall_current=2.58, free_current=0.21),),
        }
    )
    torque = np.linspace(0, claimed, 400)
    plain(left)
    for record, colour, text in (
        (sheet, BLUE, "one straight line through its loads, derate: 100 %"),
        (sheet.model_copy(update={"derate": 0.5}), ACCENT, "the same with derate: 50 %, as planned with"),
    ):
        made = motor(record, VOLTS)
        left.plot(torque, speed_at_torque_rad_s(made, torque) * DEG, color=colour, lw=1.6, label=text)
    tested = motor(bench(), VOLTS)
    up = torque[torque <= measured[-1, 0]]
    left.plot(up, speed_at_torque_rad_s(tested, up) * DEG, color=INK, lw=1.4, label="from its points, under measured")
    left.plot(measured[:, 0], measured[:, 1] * DEG, "o", color=INK, ms=5, label="lifted on the bench")
    left.axvline(STALLED_NEAR_NM, ymax=0.6, color=GREY, lw=1.0, ls=":")
    left.text(STALLED_NEAR_NM + 0.02, 60, "here it\nstopped", color=GREY, fontsize=8.5)
    left.set_xlabel("torque [N·m]")
    left.set_ylabel("speed [deg/s]")
    left.set_xlim(0, 1.65)
    left.set_ylim(0, 480)
    left.legend(frameon=False, fontsize=8, loc="upper right")
    left.set_title("a low-cost standard servo at 7.15 V (Pfrommer 2015, open data)", loc="left", fontsize=9)
    plain(right)
    stock = shelf("2026-1").servos
    for name, colour in (("standard", INK), ("mini", BLUE), ("micro", ACCENT)):
        made = stock[name]
        volts = made.points[0].at
        own = motor(made, volts)
        torque = np.linspace(0, own.stall_torque_nm, 100)
        right.plot(torque, speed_at_torque_rad_s(own, torque) * DEG, color=colour, lw=1.7)
        sheet_end = [0.0, own.stall_torque_nm / made.derate]
        right.plot(sheet_end, [own.free_speed_rad_s * DEG, 0], color=colour, lw=0.9, ls="--")
        right.plot([], [], color=colour, lw=1.7, label=f"{name}, {volts:g} V")
    right.legend(frameon=False, fontsize=8.5)
    right.set_xlabel("torque [N·m]. Dashed: as the sheet says; solid: derated, what counts")
    right.set_ylim(0, None)
    right.set_xlim(0, None)
    right.set_title("classes of the stock 2026-1, at the lowest voltage of their rows", loc="left", fontsize=9)
    keep(figure, "servo")


def supply() -> None:
    """A tree from pack to servo, by the names of the file's fields."""
    figure, ax = plt.subplots(figsize=(12, 4.2), facecolor=PAPER)
    drawing(ax)
    ax.set_aspect("auto")

    def box(x: float, y: float, text: str, colour: str = INK, wide: float = 15) -> None:
        ax.add_patch(plt.Rectangle((x - wide / 2, y - 5), wide, 10, fc=PALE, ec=colour, lw=1.4, zorder=3))
        ax.text(x, y, text, ha="center", va="center", fontsize=8.5, zorder=4)

    box(8, 0, "battery\nlithium_polymer\ncells: 2, 7.4 V", wide=14)
    ax.plot([15, 33], [0, 0], color=INK, lw=2.4)
    note(ax, (24, 4.8), "trunk: awg 14,\nlength 0.3 m", fontsize=8)
    ax.add_patch(plt.Rectangle((18.5, -1.3), 5, 2.6, fc=PAPER, ec=ACCENT, lw=1.4, zorder=3))
    note(ax, (21, -4.0), "fuse: 15 A", ACCENT, fontsize=8)
    ax.plot(33, 0, "o", color=INK)
    for y, name, what, awg, servos in (
        (
            17,
            "regulator, switching",
            "volts: 6 V, limit: 10 A\nefficiency: 90 %",
            "face: awg 18, fed_by: trunk",
            ("jaw", "lip_lower", "brow_inner"),
        ),
        (0, "", "", "ears: awg 18, fed_by: trunk", ("ear_lift", "ear_swivel")),
        (
            -19,
            "regulator, linear",
            "volts: 5 V, limit: 3 A\ndrop: 0.5 V",
            "eyes: awg 20, fed_by: trunk",
            ("lid_upper", "eye.a", "eye.b"),
        ),
    ):
        ax.plot([33, 33], [0, y], color=INK, lw=1.6, zorder=1)
        start = 33
        if what:
            ax.plot([33, 42], [y, y], color=INK, lw=1.6)
            box(51, y, f"{name}\n{what}", BLUE, 20)
            start = 61
        ax.plot([start, 84], [y, y], color=INK, lw=1.6)
        note(ax, (73, y + 2.2), awg, fontsize=8)
        for k, servo_ in enumerate(servos):
            yy = y + (len(servos) - 1) * 2.4 - 4.8 * k
            ax.plot([84, 88], [y, yy], color=INK, lw=1.0)
            ax.text(89, yy, servo_, va="center", fontsize=8.5)
    ax.annotate("", (114, -26.5), (2, -26.5), arrowprops={"arrowstyle": "<-", "color": ACCENT, "lw": 1.3})
    note(ax, (58, -29), "currents are folded from the tips to the battery", ACCENT)
    ax.annotate("", (114, 24.5), (2, 24.5), arrowprops={"arrowstyle": "->", "color": BLUE, "lw": 1.3})
    note(ax, (58, 26.8), "voltages are handed down from the battery to the tips", BLUE)
    note(ax, (106, 17), "an island:\nregulated", GREY)
    note(ax, (106, 0), "an island:\nfeels the\npack sag", GREY)
    note(ax, (106, -19), "an island:\nregulated", GREY)
    ax.set_xlim(0, 116)
    ax.set_ylim(-31, 29)
    keep(figure, "supply")


if __name__ == "__main__":
    begin()
    for draw in (skins, servo, supply):
        draw()
