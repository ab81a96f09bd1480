"""Inertias of the mass sheet against trimesh, a general mesh library (MIT licence), which integrates over the triangles."""

from __future__ import annotations

import numpy as np
import pytest

from marotte.mech.balance import shell_inertia, steiner

trimesh = pytest.importorskip("trimesh")


def test_a_far_box_has_the_library_s_inertia_about_the_origin() -> None:
    sides, place, density = np.array([0.04, 0.02, 0.038]), np.array([0.03, -0.05, 0.02]), 1900.0
    mesh = trimesh.creation.box(extents=sides)
    mesh.density = density
    mesh.apply_translation(place)
    mass = density * sides.prod()
    own = mass / 12 * np.diag((sides**2).sum() - sides**2)
    wanted = mesh.moment_inertia_frame(np.eye(4))
    assert mesh.mass == pytest.approx(mass)
    np.testing.assert_allclose(own + steiner(mass, place), wanted, rtol=1e-9, atol=1e-12)


def test_a_skull_s_shell_is_the_difference_of_two_solid_ellipsoids() -> None:
    """Tolerance 1 %: the mesh is a polyhedron of 20,480 faces, and the shell a hundredth of the half axes thick."""
    shape = np.array([0.155, 0.170, 0.150])
    ball = trimesh.creation.icosphere(subdivisions=5, radius=0.5)
    out, inside = ball.copy(), ball.copy()
    out.apply_scale(shape * 1.005)
    inside.apply_scale(shape * 0.995)
    volume = out.volume - inside.volume
    wanted = (out.moment_inertia - inside.moment_inertia) / volume
    np.testing.assert_allclose(shell_inertia(1.0, tuple(shape)), wanted, rtol=0.01, atol=1e-9)
