"""Solids on a page, for the drawings of heads: their outlines from a side, the nearest over the others, and where a number stands on no line."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import matplotlib.pyplot as plt
import numpy as np
from matplotlib.patches import Ellipse, Polygon
from matplotlib.path import Path as Outline
from paper import ACCENT, BLUE, GREY, INK, MM, PALE, PAPER
from scipy.ndimage import distance_transform_edt
from scipy.spatial import ConvexHull

from marotte.basis.contracts.fit import Placed

RED, BLUISH, INSIDE = "#e6c4b6", "#d5dee6", "#faf5ea"
"""Paler red and blue; the inside of a skull."""
STEP = 0.5
"""Of the raster on which places for numbers are found [mm]."""
LEAST = 2.2
"""Half the height that a number wants [mm]: a servo on which none has it is hidden, and is drawn in dots over the others."""
DRAWN = {
    "servo": {"fc": PALE, "ec": INK, "lw": 1.1},
    "horn": {"fc": PAPER, "ec": INK, "lw": 0.9},
    "rod": {"fc": RED, "ec": ACCENT, "lw": 0.8},
    "eye": {"fc": BLUISH, "ec": BLUE, "lw": 1.0},
    "mouth": {"fc": "none", "ec": GREY, "lw": 1.0, "ls": (0, (6, 3))},
    "wearer": {"fc": RED, "ec": ACCENT, "lw": 1.2},
}


@dataclass(frozen=True)
class View:
    """A side from which a head is seen: unit ways [x left, y up, z forward] of the page's right and up."""

    says: str
    right: tuple[float, float, float]
    up: tuple[float, float, float]

    def flat(self, points: Sequence[float] | np.ndarray) -> np.ndarray:
        """Return places (n, 3) [m] on the page, (n, 2) [mm]."""
        return np.atleast_2d(points) @ np.array([self.right, self.up]).T * MM

    def near(self, placed: Placed) -> float:
        """Return how near a solid comes to who looks [m]."""
        return float((placed.points @ np.cross(self.right, self.up)).max()) + placed.radius


LEFT = View("from its left", (0.0, 0.0, -1.0), (0.0, 1.0, 0.0))
RIGHT = View("from its right", (0.0, 0.0, 1.0), (0.0, 1.0, 0.0))
FRONT = View("from the front", (1.0, 0.0, 0.0), (0.0, 1.0, 0.0))
ABOVE = View("from above", (0.0, 0.0, -1.0), (-1.0, 0.0, 0.0))


def hull(points: np.ndarray, radius: float, view: View) -> np.ndarray:
    """Return the outline (n, 2) [mm] on the page of the hull of some points (k, 3) [m], grown by a radius [m]."""
    flat = view.flat(points)
    if radius > 0.0:
        t = np.linspace(0.0, 2.0 * np.pi, 72, endpoint=False)
        flat = (flat[:, None, :] + radius * MM * np.column_stack((np.cos(t), np.sin(t)))).reshape(-1, 2)
    return np.asarray(flat[ConvexHull(flat).vertices])


@dataclass
class Sheet:
    """One view of a head: what sits in it, drawn from the farthest to the nearest."""

    ax: plt.Axes
    view: View
    placed: Sequence[Placed]
    looks: Mapping[str, Mapping[str, object]] = field(default_factory=dict)
    """By kind, by means, or by the name of a solid: what is drawn otherwise."""

    @cached_property
    def solids(self) -> list[tuple[Placed, np.ndarray]]:
        """Every solid with its outline; the room of the mouth lies under all others."""
        order = sorted(self.placed, key=lambda one: (one.kind != "mouth", self.view.near(one)))
        return [(one, hull(one.points, one.radius, self.view)) for one in order]

    def skull(self, centre: Sequence[float], shape: Sequence[float]) -> None:
        """Draw the inside of an ellipsoid of whole sides [m]."""
        wide, high = np.abs(self.view.flat(shape)[0])
        self.ax.add_patch(Ellipse(self.view.flat(centre)[0], wide, high, fc=INSIDE, ec=GREY, lw=1.6, zorder=1))

    def draw(self) -> None:
        """Draw every solid."""
        for one, shape in self.solids:
            look = {"zorder": 3, **DRAWN[one.kind], **self.looks.get(one.kind, {}), **self.looks.get(one.of, {})}
            self.ax.add_patch(Polygon(shape, joinstyle="round", **{**look, **self.looks.get(one.name, {})}))

    def number(self, numbers: Mapping[str, str]) -> None:
        """Write the number of each servo where it stands farthest from all lines; dot the outline of what is hidden."""
        corners = np.concatenate([shape for _, shape in self.solids])
        reach = np.ceil(np.abs(corners).max(axis=0)) + 2.0
        axes = [np.arange(-far, far + STEP, STEP) for far in reach]  # the same on both sides of the middle
        nodes = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1)
        inside = [
            Outline(shape).contains_points(nodes.reshape(-1, 2)).reshape(nodes.shape[:2]) for _, shape in self.solids
        ]
        top = np.full(nodes.shape[:2], -1)
        for k, (one, _) in enumerate(self.solids):
            if DRAWN[one.kind]["fc"] != "none":
                top[inside[k]] = k
        servos = [k for k, (one, _) in enumerate(self.solids) if one.kind == "servo"]
        free, hidden, lost = ~_edges(top), [], [-1]
        while lost:  # the dots of one may take the room of another's number
            lost = [k for k in servos if k not in hidden and _room(free & (top == k)).max() < LEAST]
            hidden += lost
            for k in lost:
                free &= ~_edges(inside[k])
        for k in [*(k for k in servos if k not in hidden), *hidden]:
            one, shape = self.solids[k]
            there = inside[k] if k in hidden else top == k
            alone = there & ~np.any([inside[j] for j in hidden if j != k], axis=0) if len(hidden) > 1 else there
            far = _room(free & (alone if _room(free & alone).max() >= LEAST else there))
            at = nodes[np.unravel_index(int(far.argmax()), far.shape)]
            free &= np.linalg.norm(nodes - at, axis=-1) > 5.0
            if k in hidden:
                self.ax.add_patch(Polygon(shape, fc="none", ec=INK, lw=0.9, ls=(0, (1, 1.6)), zorder=5))
            tone = "#6f665b" if k in hidden else INK
            self.ax.text(*at, numbers[one.of], ha="center", va="center_baseline", fontsize=9, color=tone, zorder=6)


def _room(free: np.ndarray) -> np.ndarray:
    """Return how far each free node is from what is not free [mm]; across the page a number wants half as much again."""
    return np.asarray(distance_transform_edt(free, sampling=(STEP / 1.5, STEP)))


def _edges(values: np.ndarray) -> np.ndarray:
    """Return where a raster's value changes to the next node."""
    out = np.zeros(values.shape, dtype=bool)
    for axis in (0, 1):
        values_, out_ = np.moveaxis(values, axis, 0), np.moveaxis(out, axis, 0)
        changes = values_[1:] != values_[:-1]
        out_[1:] |= changes
        out_[:-1] |= changes
    return out
