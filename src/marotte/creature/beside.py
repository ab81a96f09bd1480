"""What a creature folder holds beside creature.yaml: the script, recordings, measured curves, the mesh of its skull."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import partial
from hashlib import blake2b
from pathlib import Path
from typing import Final

import numpy as np

from marotte.basis.contracts.common import F64
from marotte.basis.faults import BadInput, Fault, nearest, short
from marotte.basis.given import Ref
from marotte.creature.creature import Recording
from marotte.creature.kept import Kept
from marotte.creature.measured import read_curve
from marotte.creature.report import Report
from marotte.creature.schema.file import CreatureFile
from marotte.creature.tree import read_text

SCRIPT_MOST_BYTES: Final = 8_000_000
VOICES: Final = (".wav", ".flac", ".ogg")
MESHES: Final = (".stl", ".obj", ".ply", ".off", ".glb")
"""Formats of a mesh that stand in one file each: what is read of one never lies elsewhere."""


@dataclass(slots=True)
class SideFiles:
    """What the folder holds beside creature.yaml, as far as the file names it."""

    script_text: str | None = None
    script_name: str = ""
    recordings: dict[str, Recording] = field(default_factory=dict)
    tables: dict[str, F64] = field(default_factory=dict)
    faults: list[Fault] = field(default_factory=list)


def side_files(file: CreatureFile, folder: Path | None, report: Report, kept: Kept) -> SideFiles:
    """Return what the folder holds beside creature.yaml; what cannot be read is among the faults.

    A recording is hashed again only where its size, its times or its place on the disk have changed.
    """
    out = SideFiles()
    if folder is None:
        return out
    name = file.brief.script
    if name is not None:
        out.script_name = name
        path = _inside(folder, name, file.brief.ref("script"), report, out.faults)
        if path is not None:
            try:
                out.script_text = read_text(path, name, SCRIPT_MOST_BYTES)
            except BadInput as error:
                out.faults.extend(error.faults)
    for skin in file.skins.values():
        if skin.curve is not None and skin.curve not in out.tables:
            path = _inside(folder, skin.curve, skin.ref("curve"), report, out.faults)
            if path is not None:
                try:
                    curve = read_curve(path, skin.curve)
                    old = kept.before.tables.get(skin.curve) if kept.before is not None else None
                    out.tables[skin.curve] = old if old is not None and np.array_equal(old, curve) else curve
                except BadInput as error:
                    out.faults.extend(error.faults)
    _mesh(file, folder, report, out.faults)
    voices = folder / "voice"
    if voices.is_dir():
        for path in sorted(voices.iterdir()):
            if path.suffix.lower() in VOICES and path.is_file():
                on = path.stat()
                key = ("voice", path, on.st_size, on.st_mtime_ns, on.st_ctime_ns, on.st_ino, on.st_dev)
                content = kept.of(key, (), partial(_hash, path))
                voice = Recording(name=path.stem, path=path, content=content)
                out.recordings[path.stem] = kept.same(voice)
    return out


def _mesh(file: CreatureFile, folder: Path, report: Report, faults: list[Fault]) -> None:
    """Report a mesh that is not there, or of a format that is not read; what is in it is read where the skull is fitted."""
    skull = file.build.skull
    if skull is None or skull.mesh is None:
        return
    ref = skull.ref("mesh")
    path = _inside(folder, skull.mesh, ref, report, faults)
    if path is not None and path.suffix.lower() not in MESHES:
        what = f"{short(path.suffix) or 'a name without an ending'} is no format of a mesh that is read here"
        allowed, try_ = ", ".join(MESHES), "save it as STL, in millimetres"
        faults.append(
            Fault(
                code="choice",
                what=what,
                place=report.place(ref),
                path=ref,
                found=short(skull.mesh),
                allowed=allowed,
                try_=try_,
            )
        )


def _inside(folder: Path, name: str, ref: Ref, report: Report, faults: list[Fault]) -> Path | None:
    """Return the path of a named file; nothing outside the creature folder is ever read."""
    path, code, near = folder / name, "no_folder", ""
    try:
        inside = path.resolve().is_relative_to(folder.resolve())
        there, whole = path.exists(), not path.is_dir()
    except (OSError, ValueError, RuntimeError):  # too long, a NUL inside, a link that loops
        what = f"{short(name)} cannot be the name of a file"
    else:
        if inside and there and whole:
            return path
        if not inside:
            what = f"{short(name)} lies outside the creature folder"
        elif there:
            code, what = "not_a_file", f"{short(name)} is a folder; a file is wanted"
        else:
            what = f"there is no {short(name)} in the creature folder"
            near = nearest(name, (item.name for item in folder.iterdir() if item.is_file()))
    faults.append(Fault(code=code, what=what, place=report.place(ref), path=ref, found=short(name), try_=near))
    return None


def _hash(path: Path) -> str:
    out = blake2b(digest_size=16)
    with path.open("rb") as handle:
        while piece := handle.read(1 << 20):
            out.update(piece)
    return out.hexdigest()
