"""``marotte upgrade FOLDER``: bring creature.yaml up to this release, after a copy."""

from __future__ import annotations

import shutil
from argparse import ArgumentParser, Namespace
from pathlib import Path

from marotte.basis.faults import CannotSave
from marotte.cli.screen import Screen

HELP = "bring creature.yaml up to this release's file version and stock edition, after a copy"


def arguments(parser: ArgumentParser) -> None:
    """Declare the arguments."""
    parser.add_argument("folder", metavar="FOLDER", type=Path, help="the creature folder")


def run(args: Namespace, screen: Screen) -> int:
    """Rewrite the file where there is something to rewrite; comments and order stay."""
    from marotte.creature.load import build, open_tree
    from marotte.creature.migrate import migrate
    from marotte.creature.shelf import EDITIONS, LATEST
    from marotte.creature.tree import FILE_NAME, dump, read, save_text

    folder: Path = args.folder
    open_tree(folder)  # says what is wrong with the folder itself
    path = folder / FILE_NAME
    tree = read(path)
    changes = migrate(tree)
    edition = str(tree.data.get("stock"))
    if edition in EDITIONS and edition != LATEST:
        tree.data["stock"] = LATEST
        changes.append(f"stock: {edition} became {LATEST}; typical values may differ, so check again")
    if not changes:
        screen.say("Already up to date; nothing was changed.")
        return 0
    build(tree, folder)  # a file that would not be read afterwards is left as it is
    copy = _copied(path)
    save_text(path, dump(tree))
    for line in changes:
        screen.item(line)
    screen.say(f"The file as it was is kept in {copy.name}.")
    return 0


def _copied(path: Path) -> Path:
    """Return where a copy of a file was put: beside it, under a name that was free."""
    number = 1
    while (copy := path.with_name(f"{path.stem}.before-upgrade-{number}{path.suffix}")).exists():
        number += 1
    try:
        shutil.copy2(path, copy)
    except OSError as error:
        raise CannotSave(f"no copy could be kept ({error.strerror or error}); nothing was changed") from error
    return copy
