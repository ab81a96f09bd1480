"""Overlaps and skulls against manifold3d and trimesh, general mesh libraries that cut triangles: an independent second method.

Tolerance: two solids whose boolean has less than a cubic millimetre may count as touching (gap within 0.2 mm).
"""

from __future__ import annotations

import math
import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from marotte.basis.contracts.common import F64, Unknown
from marotte.basis.contracts.fit import Fit, Placed
from marotte.basis.frames import rotation
from marotte.creature.schema.build import Skull
from marotte.mech.fit.meshes import MeshFile, hollow_of
from marotte.mech.fit.skull import shell_of
from marotte.mech.fit.solids import Solid, box, gap_of, out_of, pack, sector
from tests.mech.fit.heads import HEAD, fitted, head, servo
from tests.shared_data import shared_data

manifold = pytest.importorskip("manifold3d")
trimesh = pytest.importorskip("trimesh")


def hull(points: F64) -> object:
    return manifold.Manifold.hull_points(np.ascontiguousarray(points))


def common(one: object, other: object) -> float:
    return float((one ^ other).volume())  # type: ignore[operator]


def some_solids(seed: int) -> list[Solid]:
    rng = np.random.default_rng(seed)
    out = []
    for k in range(14):
        frame = rotation(tuple(rng.normal(size=3)), float(rng.uniform(0, 6)))
        at = rng.uniform(-0.04, 0.04, 3)
        if k % 3 == 2:
            out.append(
                sector(at, frame[0], frame[2], float(rng.uniform(0.01, 0.03)), -1.0, float(rng.uniform(0, 4)), 0.005)
            )
        else:
            out.append(box(at, frame, rng.uniform(0.01, 0.05, 3)))
    return out


@pytest.mark.parametrize("seed", range(4))
def test_solids_overlap_where_the_boolean_has_volume_and_only_there(seed: int) -> None:
    solids = some_solids(seed)
    bodies = [hull(solid.points) for solid in solids]
    met = 0
    for i in range(len(solids)):
        for j in range(i):
            gap, volume = gap_of(solids[i], solids[j])[0], common(bodies[i], bodies[j])
            if abs(gap) < 2e-4:
                continue
            met += gap < 0
            assert (gap < 0) == (volume > 1e-12), (i, j, gap, volume)
    assert met > 5


def test_what_the_boolean_leaves_outside_the_skull_is_reported_and_nothing_else() -> None:
    half = np.array([0.0775, 0.085, 0.075])
    ball = trimesh.creation.icosphere(subdivisions=5)
    skull = manifold.Manifold.hull_points(np.ascontiguousarray(ball.vertices * half))
    rng = np.random.default_rng(3)
    for _ in range(60):
        solid = box(rng.uniform(-0.06, 0.06, 3), rotation(tuple(rng.normal(size=3)), 1.0), [0.04, 0.02, 0.038])
        out = float(out_of(pack([solid]), (0.0, 0.0, 0.0), half)[0])
        outside = float((hull(solid.points) - skull).volume())  # type: ignore[operator]
        if abs(out) > 3e-4:
            assert (out > 0) == (outside > 1e-11)


def test_a_proposed_packing_overlaps_nothing_by_booleans_either(tmp_path: Path) -> None:
    found = fitted(head(tmp_path, *[servo(f"f{k}", model=("mini", "standard")[k % 2]) for k in range(10)]))
    bodies = [(p.of, hull(p.points)) for p in found.placed if p.kind in ("servo", "horn", "mouth")]
    assert len(bodies) > 15
    for i, (owner, body) in enumerate(bodies):
        for other, thing in bodies[:i]:
            if owner != other:
                assert common(body, thing) < 1e-12


def rounded(placed: Placed) -> object:
    """Return a solid as triangles that lie within it: hulls of its points, each with a ball of some corners round it."""
    if placed.radius == 0.0:
        return hull(placed.points)
    ball = trimesh.creation.icosphere(subdivisions=2).vertices * placed.radius
    return hull((placed.points[:, None, :] + ball[None]).reshape(-1, 3))


def randomised(folder: Path, seed: int, boxes: bool) -> Fit:
    """Return the fit of a head of random shape with servos of random cases on mechs of several kinds, with boxes or without."""
    rng = np.random.default_rng(seed)
    width, height, depth = rng.uniform(130.0, 190.0, 3)
    shape = f"[{width:.0f} mm, {height:.0f} mm, {depth:.0f} mm]"
    functions, servos = [], []
    for k in range(9):
        length, broad, tall = rng.uniform(18.0, 34.0), rng.uniform(9.0, 16.0), rng.uniform(18.0, 32.0)
        servos.append(
            f"  s{k}: {{like: mini, body: [{length:.1f} mm, {broad:.1f} mm, {tall:.1f} mm], shaft: {0.2 * length:.1f} mm}}\n"
        )
        x, y, z = rng.uniform(-0.3, 0.3, 3) * [width, height, depth]
        axis = ("[0, 0, 1], along: [1, 0, 0]", "[0, 1, 0], along: [1, 0, 0]", "[1, 0, 0], along: [0, 1, 1]")[k % 3]
        box = f", box: {{at: [{x:.1f} mm, {y:.1f} mm, {z:.1f} mm], axis: {axis}}}" if boxes else ""
        means = f"means: {{kind: servo, model: s{k}{box}}}"
        ax, ay, az = rng.uniform(-0.25, 0.25, 3) * [width, height, depth]
        at = f"at: [{ax:.1f} mm, {ay:.1f} mm, {az:.1f} mm]"
        functions.append(
            (
                f"  f{k}: {{part: other_slide, axis: [0, 1, 0], {at}, travel: [0 mm, 5 mm], {means}, "
                f"mech: {{kind: cable, horn: 9 mm, length: 120 mm, pulls: both_ways}}}}\n",
                f"  f{k}: {{part: other_turn, axis: [1, 0, 0], {at}, travel: [-15 deg, 15 deg], {means}, "
                f"mech: {{kind: four_bar, horn: 10 mm, rod: 40 mm, arm: 14 mm, ground: 41 mm, arm_at_neutral: 90 deg}}}}\n",
                f"  f{k}: {{part: other_slide, axis: [0, 1, 0], {at}, travel: [-3 mm, 3 mm], {means}, "
                f"mech: {{kind: crank_slider, horn: 9 mm, rod: 34 mm}}}}\n",
            )[k % 3]
        )
    text = HEAD.replace("[150 mm, 160 mm, 150 mm]", shape) + "servos:\n" + "".join(servos)
    return fitted(head(folder, *functions, text=text))


def together(found: Fit) -> float:
    """Return the largest volume [m3] that two solids share which must keep apart, by booleans."""
    bodies = [(placed, rounded(placed)) for placed in found.placed]
    most = 0.0
    for i, (one, body) in enumerate(bodies):
        for other, thing in bodies[:i]:
            kinds = {one.kind, other.kind}
            if kinds <= {"eye", "mouth"} or kinds == {"rod"} or one.of == other.of:
                continue
            most = max(most, common(body, thing))
    return most


def outside(found: Fit, shape: F64) -> float:
    """Return the largest volume [m3] of a case or horn outside an ellipsoid of whole sides, by booleans."""
    ball = trimesh.creation.icosphere(subdivisions=5)
    skull = hull(ball.vertices * 0.5 * shape * 1.0005)  # corners of the mesh on it, its faces hardly within
    cases = [placed for placed in found.placed if placed.kind in ("servo", "horn")]
    return max(float((hull(placed.points) - skull).volume()) for placed in cases)  # type: ignore[operator]


def inner(found: Fit) -> F64:
    """Return the whole sides of the skull that a fit says it has [m]."""
    return np.array([float(word) for word in re.findall(r"\d+", found.skull)]) * 1e-3


@pytest.mark.parametrize("seed", range(6))
def test_a_proposed_packing_of_random_cases_overlaps_nothing_by_booleans(seed: int, tmp_path: Path) -> None:
    """Cases, horns and rods of nine servos among eyes; what found no place is named and placed nowhere."""
    found = randomised(tmp_path, seed, boxes=False)
    names = {placed.of for placed in found.placed if placed.kind == "servo"}
    assert len(names) + len(found.unplaced) == 9
    assert len(names) >= 5
    assert not names & set(found.unplaced)
    assert together(found) < 1e-12
    assert outside(found, inner(found)) < 1e-12


def test_what_is_said_to_fit_where_boxes_are_written_at_random_fits_by_booleans_too_and_nothing_else_does(
    tmp_path: Path,
) -> None:
    """Nine random boxes overlap nearly always; so three at a time are looked at as well, by leaving the others out."""
    fits = clashes = 0
    for seed in range(10):
        found = randomised(tmp_path, 100 + seed, boxes=True)
        for first in range(0, 9, 2):
            kept = tuple(
                p
                for p in found.placed
                if p.of not in {f"f{k}" for k in range(9)} - {f"f{first}", f"f{(first + 4) % 9}"}
            )
            names = {placed.name for placed in kept}
            some = [c.gap for c in found.clashes if c.first in names and (c.second in names or c.second == "skull")]
            gap = min(some, default=1e-3)
            if abs(gap) < 3e-4:
                continue
            less = replace(found, placed=kept)
            cut = max(together(less), outside(less, inner(found)))
            assert (gap < 0.0) == (cut > 1e-11), (seed, first, gap, cut)
            fits, clashes = fits + (gap > 0.0), clashes + (gap < 0.0)
    assert fits > 3
    assert clashes > 10


def test_volumes_of_boxes_are_those_of_the_library() -> None:
    solid = box((0.01, 0.02, 0.03), rotation((1.0, 2.0, 3.0), 0.7), [0.04, 0.02, 0.038])
    assert float(hull(solid.points).volume()) == pytest.approx(0.04 * 0.02 * 0.038, rel=1e-6)  # type: ignore[attr-defined]


def _write(mesh: object, path: Path) -> MeshFile:
    mesh.export(path)  # type: ignore[attr-defined]
    return MeshFile(path, "content")


def test_a_closed_mesh_has_the_gaps_of_the_ellipsoid_that_it_was_made_from(tmp_path: Path) -> None:
    """Within the step of the grid (1.9 mm) and the flats of the mesh."""
    shape = np.array([155.0, 170.0, 150.0])
    mesh = trimesh.creation.icosphere(subdivisions=4, radius=0.5)
    mesh.apply_scale(shape)
    hollow = hollow_of(_write(mesh, tmp_path / "skull.stl"))
    assert not isinstance(hollow, Unknown)
    assert hollow.grid is not None
    assert hollow.volume == pytest.approx(math.pi / 6 * np.prod(shape) * 1e-9, rel=0.01)
    shell = shell_of(Skull(mesh="skull.stl"), hollow)
    smooth = shell_of(Skull(shape=(0.155, 0.17, 0.15)), None)
    assert not isinstance(shell, Unknown)
    assert not isinstance(smooth, Unknown)
    rng = np.random.default_rng(5)
    packed = pack([box(rng.uniform(-0.05, 0.05, 3), np.eye(3), [0.03, 0.013, 0.03]) for _ in range(40)])
    np.testing.assert_allclose(shell.reaches_out(packed), smooth.reaches_out(packed), atol=2.5e-3)


def test_a_mesh_with_a_hole_is_reported_and_its_hull_used() -> None:
    """``sphereWithHole.stl`` of the shared open data: 3 units across, taken as decimetres here."""
    path = shared_data("meshes/sphereWithHole.stl")
    hollow = hollow_of(MeshFile(path, "content"), scale_m=0.1)
    assert not isinstance(hollow, Unknown)
    assert hollow.planes is not None
    assert any(note.code == "mesh_holes" for note in hollow.told)
    mesh = trimesh.load(path, force="mesh")
    assert hollow.volume == pytest.approx(float(mesh.convex_hull.volume) * 1e-3, rel=1e-6)


def test_a_mesh_that_is_no_head_s_size_is_said_with_its_size() -> None:
    """The same file, three millimetres across as printers' files are read."""
    found = hollow_of(MeshFile(shared_data("meshes/sphereWithHole.stl"), "content"))
    assert isinstance(found, Unknown)
    assert "3 x 3 x 3 mm" in found.why
    assert "save it in millimetres" in found.why


def test_a_unit_cube_holds_a_smaller_one_and_not_a_larger() -> None:
    hollow = hollow_of(MeshFile(shared_data("meshes/unit_cube.STL"), "content"), scale_m=0.1)
    assert not isinstance(hollow, Unknown)
    shell = shell_of(Skull(mesh="x"), hollow)
    assert not isinstance(shell, Unknown)
    size = hollow.shape[0]
    assert hollow.volume == pytest.approx(size**3, rel=1e-6)
    cubes = pack([box(hollow.centre, np.eye(3), [size * k] * 3) for k in (0.5, 1.4)])
    inside, outside = shell.reaches_out(cubes)
    assert inside == pytest.approx(-0.25 * size, abs=0.03 * size)
    assert outside > 0.1 * size


def test_a_file_that_is_no_mesh_is_said_and_not_raised(tmp_path: Path) -> None:
    (tmp_path / "skull.stl").write_bytes(b"not a mesh at all")
    found = hollow_of(MeshFile(tmp_path / "skull.stl", "content"))
    assert isinstance(found, Unknown)
    assert "skull.stl" in found.why
