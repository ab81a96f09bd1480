from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from scipy.optimize import minimize

from marotte.creature.creature import Creature
from marotte.mech.fit.neck import BEND_LENGTH, bending_torque, bundle_diameter, head_swing, neck_fit
from tests.mech.fit.heads import head

LEVERS = """\
marotte: 1
stock: 2026-1
name: Test head
functions:
  head_nod: {part: head_nod, travel: [-25 deg, 40 deg], means: {kind: hand, site: right wrist}, carried_by: post}
  head_turn: {part: head_turn, travel: [-60 deg, 60 deg], means: {kind: hand, site: right wrist}, carried_by: post}
FUNCTIONS
brief: {attitudes: {nod: [-20 deg, 30 deg], turn: [-60 deg, 60 deg]}}
"""
CABLE = (
    "mech: {kind: cable, arm: 12 mm, core: steel_0p8, bore: 1.4 mm, length: 600 mm, bends: [90 deg], returns: spring}"
)
LID = f"  NAME: {{part: lid_upper, side: SIDE, travel: [0 deg, 60 deg], means: {{kind: lever, site: left index}}, {CABLE}}}\n"


def lids(folder: Path) -> Creature:
    both = [LID.replace("NAME", f"lid_{side}").replace("SIDE", side) for side in ("left", "right")]
    return head(folder, *both, text=LEVERS)


def test_seven_housings_make_a_bundle_of_three() -> None:
    """Seven equal circles in a circle: exactly 3 diameters (known packing). Tolerance 2 %: loose packing of 0.75 against 7/9."""
    assert bundle_diameter([0.004] * 7) == pytest.approx(0.012, rel=0.02)
    assert bundle_diameter([0.004]) == 0.004
    assert bundle_diameter([]) == 0.0


@pytest.mark.parametrize("count", range(2, 8))
def test_few_housings_go_into_their_bundle_and_into_none_a_hundredth_thinner(count: int) -> None:
    """Independent: as many points as far apart as they can be in a circle, by many local searches (scipy) from random starts."""
    radius = 0.5 * (bundle_diameter([1.0] * count) - 1.0)  # of the circle that the middles lie in
    rng = np.random.default_rng(count)

    def crowded(flat: np.ndarray) -> float:
        points = flat.reshape(-1, 2)
        far = np.sqrt(((points[:, None] - points[None]) ** 2).sum(axis=-1))[np.triu_indices(count, 1)]
        out = np.sqrt((points**2).sum(axis=1)) - radius * scale
        return float((np.maximum(1.0 - far, 0.0) ** 2).sum() + (np.maximum(out, 0.0) ** 2).sum())

    least = {}
    for scale in (1.0005, 0.98):
        starts = rng.uniform(-radius, radius, (40, 2 * count))
        least[scale] = min(minimize(crowded, start, method="BFGS").fun for start in starts)
    assert least[1.0005] < 1e-7
    assert least[0.98] > 1e-5


def test_a_thick_housing_and_a_thin_one_lie_side_by_side() -> None:
    assert bundle_diameter([0.006, 0.002]) == pytest.approx(0.008)


def test_twelve_housings_of_four_millimetres_make_a_bundle_of_sixteen() -> None:
    """Twelve equal circles: 4.029 diameters (best known packing, from memory)."""
    assert bundle_diameter([0.004] * 12) == pytest.approx(4.029 * 0.004, rel=0.02)


def test_the_bend_of_a_turned_bundle_is_that_of_its_helix(tmp_path: Path) -> None:
    """Independent: the angle that the tangent of a helix passes through, added up over 20,000 pieces."""
    creature = lids(tmp_path)
    turn, radius = math.radians(60), 0.008
    functions = {"head_turn": creature.functions["head_turn"]}
    bend, which = head_swing(functions, creature.brief.attitudes, radius)
    t = np.linspace(0.0, 1.0, 20_001)
    line = np.column_stack([radius * np.cos(turn * t), radius * np.sin(turn * t), BEND_LENGTH * t])
    way = np.diff(line, axis=0)
    way /= np.linalg.norm(way, axis=1)[:, None]
    steps = np.linalg.norm(np.cross(way[:-1], way[1:]), axis=1)
    assert which == "turn"
    assert bend == pytest.approx(float(np.arcsin(steps).sum()), rel=1e-3)


def test_what_is_lost_is_clearance_times_bend(tmp_path: Path) -> None:
    """0.6 mm of clearance over 90 degrees is 0.94 mm (worked by hand); here over the nod of 30 degrees that the brief asks."""
    creature = lids(tmp_path)
    found = neck_fit(
        creature.functions, creature.mechs, creature.means, creature.stock_tables, creature.brief.attitudes
    )
    assert found is not None
    assert len(found.cables) == 2
    assert found.swing_of == "nod"
    assert found.swing == pytest.approx(math.radians(30))
    assert found.cables[0].clearance == pytest.approx(0.6e-3)
    assert found.cables[0].stroke == pytest.approx(0.012 * math.radians(60))


def test_a_millimetre_of_steel_bent_to_a_half_circle_wants_what_the_beam_says() -> None:
    """E I / R: 200 GPa, I = 4.909e-14 m4, R = 0.08 / pi m: 0.3855 N m."""
    assert bending_torque(1e-3, True, math.pi) == pytest.approx(200e9 * 4.9087e-14 * math.pi / 0.08, rel=1e-4)


def test_what_a_hand_in_the_head_pulls_comes_through_no_neck(tmp_path: Path) -> None:
    creature = lids(tmp_path)
    found = neck_fit(
        creature.functions, creature.mechs, creature.means, creature.stock_tables, creature.brief.attitudes, "lead"
    )
    assert found is None
