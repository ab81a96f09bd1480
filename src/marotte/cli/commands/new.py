"""``marotte new NAME``: a creature folder to start from, which checks clean of faults."""

from __future__ import annotations

import os
import re
import shlex
import shutil
import tempfile
from argparse import ArgumentParser, Namespace
from importlib import resources
from pathlib import Path
from typing import Final

from marotte.basis.faults import BadRequest, CannotSave
from marotte.cli.screen import Screen

HELP = "make a creature folder to start from"
KINDS: Final[dict[str, str]] = {
    "head": "an animatronic head on a post or a hand",
    "hand-and-rod": "a hand in the head, rods to the hands or wings, no electronics",
    "suit": "someone inside, an animatronic head",
    "screen": "drawn on a screen; no force is needed",
}
LONGEST_NAME: Final = 60


def arguments(parser: ArgumentParser) -> None:
    """Declare the arguments."""
    parser.add_argument(
        "name", metavar="NAME", help="the creature's name; its folder is made here, or where a path says"
    )
    says = "; ".join(f"{kind}: {what}" for kind, what in KINDS.items())
    parser.add_argument("--kind", choices=tuple(KINDS), default="head", help=f"{says} (default: head)")


def run(args: Namespace, screen: Screen) -> int:
    """Write the folder, whole or not at all."""
    folder, name = named(args.name)
    make(folder, name, args.kind)
    screen.say(f"{name} is in {folder}: creature.yaml and script.fountain, with comments to start from.")
    screen.say(f"Next: marotte check {shlex.quote(str(folder))}")
    return 0


def named(written: str) -> tuple[Path, str]:
    """Return the folder and the creature's name: ``work/grey_hen`` is Grey hen in that folder.

    Raises:
        BadRequest: nothing that could be a name.
    """
    folder = Path(written)
    name = re.sub(r"[-_ ]+", " ", folder.name).strip()
    if not name or len(name) > LONGEST_NAME or not written.isprintable() or not re.search(r"[^\W\d_]", name):
        raise BadRequest(f"{written!r} cannot be a creature's name: letters are wanted, {LONGEST_NAME} at most")
    return folder, name[0].upper() + name[1:]


def make(folder: Path, name: str, kind: str) -> None:
    """Write a template to a folder that is not there yet.

    Raises:
        BadRequest: there is something already, or the place for it is missing.
        CannotSave: it cannot be written; nothing is left behind.
    """
    if folder.exists() or folder.is_symlink():
        raise BadRequest(f"{folder} is there already; nothing was changed")
    if not folder.parent.is_dir():
        raise BadRequest(f"there is no folder {folder.parent} to put it in")
    source = resources.files("marotte.cli") / "templates" / kind
    cue = re.sub(r"[^\w ]+", " ", name.upper()).strip()
    beside: Path | None = None
    try:
        beside = Path(tempfile.mkdtemp(prefix=f".{folder.name}.", suffix=".new", dir=folder.parent))
        for item in ("creature.yaml", "script.fountain"):
            text = (source / item).read_text(encoding="utf-8")
            quoted = '"' + name.replace("\\", "\\\\").replace('"', '\\"') + '"'
            text = text.replace("@NAME@", quoted if item.endswith(".yaml") else name)
            (beside / item).write_text(text.replace("@CUE@", cue), encoding="utf-8", newline="\n")
        beside.chmod(0o777 & ~_umask())
        os.rename(beside, folder)
    except OSError as error:
        if beside is not None:
            shutil.rmtree(beside, ignore_errors=True)
        raise CannotSave(f"{folder} was not made ({error.strerror or error}); nothing was changed") from error


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
