"""A sculpted or scanned skull: a closed mesh as distances on a grid, an open one as its hull."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import numpy as np

from marotte.basis.compiled import compiled
from marotte.basis.contracts.common import F64, I64, Bool, Told, Unknown, f64
from marotte.basis.digest import digest
from marotte.basis.frames import Vec
from marotte.basis.units import number_text

NODES: Final = 96
"""Nodes of the grid along the longest side."""
MOST_FACES: Final = 2_000_000
LEAST: Final = 20e-3
"""Longest side [m] below which a mesh is in another unit than millimetres: a rule of this project."""
LARGEST: Final = 5.0
"""The same, above."""
MOST_BYTES: Final = 256 * 1024 * 1024


@dataclass(frozen=True, slots=True)
class MeshFile:
    """A mesh in the creature folder; known by its bytes."""

    path: Path
    content: str

    def __digest__(self) -> bytes:
        return digest((self.path.name, self.content))


@dataclass(frozen=True, slots=True, kw_only=True)
class Hollow:
    """The inside of a mesh."""

    says: str
    volume: float
    centre: Vec
    shape: Vec
    planes: F64 | None
    grid: F64 | None
    corner: Vec
    step: float
    told: tuple[Told, ...]


def hollow_of(file: MeshFile, scale_m: float = 1e-3) -> Hollow | Unknown:
    """Return the inside of a mesh file, in metres; its numbers are taken as millimetres, as printers' files have them.

    A mesh with holes has no inside: it is reported, and the hull of its points is used.
    """
    try:
        import trimesh
    except ModuleNotFoundError:
        return Unknown(why="a skull from a mesh needs the extra libraries: install marotte with its extra 'solids'")
    name, wants = f"the mesh {file.path.name}", ("/build/skull/mesh",)
    try:
        if file.path.stat().st_size > MOST_BYTES:
            return Unknown(why=f"{name} is larger than {MOST_BYTES // 2**20} MB: thin the mesh out", wants=wants)
        with file.path.open(
            "rb"
        ) as handle:  # not by its path: a reader would follow what the file names, out of the folder too
            mesh: Any = trimesh.load(handle, file_type=file.path.suffix.lower().removeprefix("."), force="mesh")
    except Exception:  # noqa: BLE001 - readers of many formats raise what they like; the person gets one sentence
        return Unknown(
            why=f"{name} cannot be read: it is no {file.path.suffix.upper().removeprefix('.')} file, or it is cut off",
            wants=wants,
        )
    points = np.asarray(getattr(mesh, "vertices", np.zeros((0, 3))), dtype=np.float64) * scale_m
    faces = np.asarray(getattr(mesh, "faces", np.zeros((0, 3))), dtype=np.int64)
    if len(points) < 4 or len(faces) < 4 or not np.isfinite(points).all() or len(faces) > MOST_FACES:
        return Unknown(why=f"{name} holds no body ({len(points)} points, {len(faces)} faces)", wants=wants)
    size = points.max(axis=0) - points.min(axis=0)
    if size.min() < 1e-6:
        return Unknown(why=f"{name} is flat: it has no inside", wants=wants)
    if not LEAST <= size.max() <= LARGEST:
        wide, high, deep = (number_text(side * 1e3, 2) for side in size)
        return Unknown(
            why=(
                f"{name} is {wide} x {high} x {deep} mm, its numbers taken as millimetres: no head is that "
                f"{'small' if size.max() < LEAST else 'large'}; save it in millimetres"
            ),
            wants=wants,
        )
    if bool(mesh.is_watertight):
        return _closed(name, points, faces, abs(float(mesh.volume)) * scale_m**3)
    return _hull(name, points)


def _middle(points: F64) -> tuple[Vec, Vec]:
    low, high = points.min(axis=0), points.max(axis=0)
    centre, shape = 0.5 * (low + high), high - low
    return (float(centre[0]), float(centre[1]), float(centre[2])), (float(shape[0]), float(shape[1]), float(shape[2]))


def _hull(name: str, points: F64) -> Hollow:
    from scipy.spatial import ConvexHull

    hull = ConvexHull(points)
    centre, shape = _middle(points)
    sentence = (
        f"{name} has holes, so it has no inside: the hull of its points is used, which is larger where it is hollow"
    )
    return Hollow(
        says=f"the hull of {name}, which has holes", volume=float(hull.volume), centre=centre, shape=shape,
        planes=f64(np.column_stack([hull.equations[:, :3], -hull.equations[:, 3]])), grid=None, corner=(0.0, 0.0, 0.0),
        step=0.0, told=(Told(code="mesh_holes", sentence=sentence, ref="/build/skull/mesh"),),
    )  # fmt: skip


def _closed(name: str, points: F64, faces: I64, volume: float) -> Hollow:
    from scipy.ndimage import distance_transform_edt  # heavy: only for a mesh

    centre, shape = _middle(points)
    step = max(shape) / (NODES - 5)
    corner = np.array(centre) - 0.5 * np.array(shape) - 2.0 * step
    counts = tuple(int(np.ceil(side / step)) + 5 for side in shape)
    inside = _inside(np.ascontiguousarray(points), np.ascontiguousarray(faces), corner, step, *counts)
    # Half a step lies between a node inside and the surface that the next node is outside of.
    far = distance_transform_edt(~inside) - distance_transform_edt(inside)
    far = (far + np.where(inside, 0.5, -0.5)) * step
    return Hollow(
        says=f"the inside of {name}", volume=volume, centre=centre, shape=shape, planes=None, grid=f64(far),
        corner=(float(corner[0]), float(corner[1]), float(corner[2])), step=step,
        told=(
            Told(
                code="mesh_grid", ref="/build/skull/mesh",
                sentence=f"{name} is looked at on a grid of {step * 1e3:.1f} mm: gaps to its shell are good to about that",
            ),
        ),
    )  # fmt: skip


@compiled()
def _inside(points: F64, faces: I64, corner: F64, step: float, nx: int, ny: int, nz: int) -> Bool:
    """Return (nx, ny, nz) whether a node lies inside a closed mesh: an odd number of faces above it."""
    odd = np.zeros((nx, ny, nz), dtype=np.bool_)
    for f in range(faces.shape[0]):
        a, b, c = points[faces[f, 0]], points[faces[f, 1]], points[faces[f, 2]]
        # a hair to the side, and never on a node's line: an edge that two faces share is then counted once
        ax, bx, cx = (
            (a[0] - corner[0]) / step + 1.23e-7,
            (b[0] - corner[0]) / step + 1.23e-7,
            (c[0] - corner[0]) / step + 1.23e-7,
        )
        ay, by, cy = (
            (a[1] - corner[1]) / step + 3.21e-7,
            (b[1] - corner[1]) / step + 3.21e-7,
            (c[1] - corner[1]) / step + 3.21e-7,
        )
        az, bz, cz = (a[2] - corner[2]) / step, (b[2] - corner[2]) / step, (c[2] - corner[2]) / step
        area = (bx - ax) * (cy - ay) - (by - ay) * (cx - ax)
        if area == 0.0:
            continue
        x0, x1 = max(int(np.ceil(min(ax, min(bx, cx)))), 0), min(int(np.floor(max(ax, max(bx, cx)))), nx - 1)
        y0, y1 = max(int(np.ceil(min(ay, min(by, cy)))), 0), min(int(np.floor(max(ay, max(by, cy)))), ny - 1)
        for i in range(x0, x1 + 1):
            for j in range(y0, y1 + 1):
                u = ((bx - i) * (cy - j) - (by - j) * (cx - i)) / area
                v = ((cx - i) * (ay - j) - (cy - j) * (ax - i)) / area
                w = 1.0 - u - v
                if u < 0.0 or v < 0.0 or w < 0.0:
                    continue
                height = u * az + v * bz + w * cz
                top = min(int(np.ceil(height)), nz)
                for k in range(top):
                    odd[i, j, k] = not odd[i, j, k]
    return odd
