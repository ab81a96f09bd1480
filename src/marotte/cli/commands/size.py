"""``marotte size FOLDER FUNCTION``: lengths and clocking that bring a function its travel with its load on."""

from __future__ import annotations

import shlex
from argparse import ArgumentParser, Namespace
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from marotte.basis.faults import BadRequest, nearest, shown_path
from marotte.cli.screen import Screen

if TYPE_CHECKING:
    from marotte.basis.contracts.finding import Edit
    from marotte.creature.creature import Creature
    from marotte.desk.session import Session
    from marotte.mech.asked_of import Asking
    from marotte.mech.size import Sizing
    from marotte.mech.size_candidate import Candidate

    Eased = tuple[Sizing, tuple[Edit, ...]] | None

HELP = "find lengths and clocking for one function, with its load and skin on"
QUICKEST_S: Final = 0.02
SLOWEST_S: Final = 60.0
MOST_SHOWN: Final = 10.0
"""Shares of the torque over this are only said to be over it: the servo is then too slow, not too weak."""


def arguments(parser: ArgumentParser) -> None:
    """Declare the arguments."""
    parser.add_argument("folder", metavar="FOLDER", type=Path, help="the creature folder")
    parser.add_argument(
        "function", metavar="FUNCTION", help="its name, or that of its mech; one side of a pair is enough"
    )
    within = "seconds in which the whole travel is asked (0.25 where nothing is said)"
    parser.add_argument("--within", metavar="SECONDS", type=float, help=within)
    parser.add_argument(
        "--part", action="store_true", help="size for what the script asks of it, not for whole travels"
    )
    parser.add_argument("--write", metavar="N", type=int, help="write candidate N into creature.yaml; comments stay")
    parser.add_argument("--json", action="store_true", help="print one JSON object for machines")


def run(args: Namespace, screen: Screen) -> int:
    """Print the best few, and write one where that is asked; exit 1 where none performs."""
    from marotte.basis.contracts.common import Unknown
    from marotte.creature.anatomy import PARTS
    from marotte.creature.edit import writing
    from marotte.desk.session import Session
    from marotte.mech.size import edits, size
    from marotte.mech.size_skin import size_with_skin

    session = Session(args.folder)
    function = _function(args.function, session.creature)
    with screen.progress(f"Sizing {function}"):
        asking = _asking(args, session)
        found = size(session.creature, function, asking)
        eased = None
        if not isinstance(found, Unknown) and not _performs(found):
            eased = size_with_skin(session.creature, function, asking)
    if isinstance(found, Unknown):
        raise BadRequest(found.why)
    choices: list[tuple[Candidate | None, tuple[Edit, ...]]] = [(candidate, ()) for candidate in found.candidates]
    if eased is not None:
        best = next((candidate for candidate in eased[0].candidates if candidate.performs), None)
        choices.append((best, eased[1]))
    if args.json:
        screen.json(_as_json(found, eased))
    else:
        moves = session.creature.functions
        units = {name: "rad" if PARTS[moves[name].part].kind == "turn" else "m" for name in found.moves}
        _print(found, eased, units, screen)
    if args.write is not None:
        if not 1 <= args.write <= len(choices):
            raise BadRequest(f"there is no candidate {args.write}; {len(choices)} were found")
        candidate, skins = choices[args.write - 1]
        wanted = (*(edits(session.creature, candidate) if candidate is not None else ()), *skins)
        session.edit(tuple(writing(session.tree, edit.path, edit.to) for edit in wanted))
        session.save()
        screen.trouble(f"Candidate {args.write} is written into creature.yaml.")
    elif choices and not args.json:
        screen.say()
        if not args.part and found.now is not None and not found.now.performs:
            screen.say("With --part it is sized for what the script asks of it instead.")
        pick = len(choices) if eased is not None else 1
        folder, name = shlex.quote(str(args.folder)), args.function
        screen.say(f"Nothing was changed. To write one: marotte size {folder} {name} --write {pick}")
    return 0 if _performs(found) or eased is not None else 1


def _asking(args: Namespace, session: Session) -> Asking:
    """Return what asks: whole travels, or what the script asks, rounded off as the operating point is."""
    from marotte.basis.contracts.common import Unknown
    from marotte.basis.ticks import SERIES_HZ
    from marotte.mech.asked_of import asked_by, asked_of, asked_within
    from marotte.verdict.asked import rounded
    from marotte.verdict.graph_script import demanded

    if args.within is not None:
        if args.part:
            raise BadRequest("--part and --within: the part has times of its own; one of the two")
        if not QUICKEST_S <= args.within <= SLOWEST_S:
            raise BadRequest(f"--within {args.within:g}: from {QUICKEST_S:g} to {SLOWEST_S:g} seconds")
        return asked_within(args.within)
    if not args.part:
        return asked_of
    asked, _ = demanded(session.creature, session.cache)
    if isinstance(asked, Unknown):
        raise BadRequest(f"--part: {asked.why}")
    motion = asked.value.motion
    return asked_by({name: rounded(motion.row(name).astype("float64")) for name in motion.names}, SERIES_HZ)


def _performs(found: Sizing) -> bool:
    return any(candidate.performs for candidate in (*found.candidates, *([found.now] if found.now else [])))


def _function(written: str, creature: Creature) -> str:
    """Return the function that is meant: by its name, one side's, or by what moves it."""
    moved = {name: mechanism.outputs[0] for name, mechanism in creature.mechs.items()}
    for name in (written, f"{written}_left"):
        if name in creature.functions or name in moved:
            return name if name in creature.functions else moved[name]
    near = nearest(written, [*creature.functions, *moved])
    raise BadRequest(f"there is no function {written}" + (f"; try {near}" if near else ""))


def _print(found: Sizing, eased: Eased, units: dict[str, str], screen: Screen) -> None:
    from marotte.basis.contracts.finding import ABSENT
    from marotte.basis.units import show

    together = len(found.moves) > 1
    title = f"{found.mechanism} ({', '.join(found.moves)})" if together else found.function
    screen.say(f"{title}: lengths and clocking, with {'their' if together else 'its'} load and skin on", style="bold")
    listed = [] if found.now is None else [("now", found.now)]
    listed += [(str(number), candidate) for number, candidate in enumerate(found.candidates, 1)]
    if not listed:
        screen.say("As written it does not go together, and nothing near it does.")
    else:
        _table(listed, units[found.function], screen)
        at = max((candidate for _, candidate in listed), key=lambda candidate: candidate.use).use_at
        names = found.moves if len(at) > 1 else (found.function,)
        place = ", ".join(show(value, units[name]) for value, name in zip(at, names, strict=True))
        angles = any(candidate.least_angle is not None for _, candidate in listed)
        aims = f"{'40 deg or more, ' if angles else ''}half of the real torque or less"
        screen.say(f"The most torque is wanted near {place}. Aimed for: {aims}.")
    if found.now is not None and found.now.performs and not found.candidates:
        screen.say("As it is written it performs, and nothing near it does much better.")
    for told in found.told:
        screen.item(told.sentence)
    if eased is not None:
        with_skin, skins = eased
        best = next((candidate for candidate in with_skin.candidates if candidate.performs), with_skin.now)
        assert best is not None
        screen.say()
        screen.say("With its skin eased first", style="bold")
        changes = "; ".join(
            f"{shown_path(edit.path)} {'unsaid' if edit.from_ is ABSENT else edit.from_} -> {edit.to}" for edit in skins
        )
        screen.say(
            f"{changes}. A skin sculpted open folds a little when shut, and a thinned one wants net where it is held."
        )
        _table([(str(len(found.candidates) + 1), best)], units[found.function], screen)


def _table(listed: list[tuple[str, Candidate]], unit: str, screen: Screen) -> None:
    """Print candidates; a column that none of them has is left out."""
    from marotte.basis.units import show

    angles = any(candidate.least_angle is not None for _, candidate in listed)
    leaks = any(candidate.cross_talk is not None for _, candidate in listed)
    heads = ["", "", *(["angle at worst"] if angles else []), "of real torque", "horn swings", "play"]
    right = tuple(range(2, len(heads) + 2 * leaks))
    rows = []
    for name, one in listed:
        row = [name, "performs" if one.performs else "falls short"]
        row += ["" if one.least_angle is None else show(one.least_angle, "rad")] if angles else []
        row += [
            f"{one.use:.0%}" if one.use < MOST_SHOWN else f"over {MOST_SHOWN:.0%}",
            show(one.swing, "rad"),
            show(one.play, unit, 2),
        ]
        row += [show(leak, "rad", 2) for leak in one.cross_talk or ()]
        rows.append([*row, _changes(one)])
    screen.table((*heads, *(["turned lifts", "lifted turns"] if leaks else []), "changes"), rows, right=right)


def _changes(candidate: Candidate) -> str:
    """Return what a candidate changes; of what is written, what is wrong with it."""
    changes = ", ".join(
        f"{_said(field)} {_value(field, before)} -> {_value(field, after)}"
        for field, (before, after) in candidate.changes.items()
    )
    faults = "; ".join(fault.sentence for fault in candidate.faults)
    return "; ".join(text for text in (changes, faults) if text) or "as written"


def _said(field: str) -> str:
    block, _, name = field.rpartition("/")
    return f"share {int(name) + 1}" if block == "shares" else name.replace("_", " ")


def _value(field: str, value: float | None) -> str:
    from marotte.basis.units import show

    if value is None:
        return "unsaid"
    return show(value, "%" if field.startswith("shares/") else "rad" if field.endswith("at_neutral") else "m")


def _as_json(found: Sizing, eased: Eased) -> dict[str, Any]:
    def one(candidate: Candidate) -> dict[str, Any]:
        return {
            "what": candidate.what, "performs": candidate.performs, "least_angle_rad": candidate.least_angle,
            "use": candidate.use, "swing_rad": candidate.swing, "play": candidate.play,
            "cross_talk_rad": None if candidate.cross_talk is None else list(candidate.cross_talk),
            "changes": {field: {"from": a, "to": b} for field, (a, b) in candidate.changes.items()},
            "faults": [fault.sentence for fault in candidate.faults],
        }  # fmt: skip

    return {
        "function": found.function, "mechanism": found.mechanism, "moves": list(found.moves), "now": one(found.now) if found.now else None,
        "candidates": [one(candidate) for candidate in found.candidates], "told": [told.sentence for told in found.told],
        "with_skin": None if eased is None else {
            "edits": [{"path": edit.path, "from": edit.from_ if isinstance(edit.from_, str) else None, "to": edit.to} for edit in eased[1]],
            "candidates": [one(candidate) for candidate in eased[0].candidates],
        },
    }  # fmt: skip
