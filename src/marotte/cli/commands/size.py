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
    from marotte.mech.size import Sizing
    from marotte.mech.size_candidate import Candidate

    Eased = tuple[Sizing, tuple[Edit, ...]] | None

HELP = "find lengths and clocking for one function, with its load and skin on"
QUICKEST_S: Final = 0.02
SLOWEST_S: Final = 60.0


def arguments(parser: ArgumentParser) -> None:
    """Declare the arguments."""
    parser.add_argument("folder", metavar="FOLDER", type=Path, help="the creature folder")
    parser.add_argument("function", metavar="FUNCTION", help="its name, one side of a pair is enough")
    within = "seconds in which the whole travel is asked (0.25 where nothing is said)"
    parser.add_argument("--within", metavar="SECONDS", type=float, help=within)
    parser.add_argument("--write", metavar="N", type=int, help="write candidate N into creature.yaml; comments stay")
    parser.add_argument("--json", action="store_true", help="print one JSON object for machines")


def run(args: Namespace, screen: Screen) -> int:
    """Print the best few, and write one where that is asked; exit 1 where none performs."""
    from marotte.basis.contracts.common import Unknown
    from marotte.creature.anatomy import PARTS
    from marotte.desk.session import Session
    from marotte.mech.asked_of import asked_of, in_time
    from marotte.mech.size import edits, size
    from marotte.mech.size_skin import size_with_skin

    session = Session(args.folder)
    function = _function(args.function, list(session.creature.functions))
    ask = asked_of(session.creature, function)
    if isinstance(ask, Unknown):
        raise BadRequest(ask.why)
    if args.within is not None:
        if not QUICKEST_S <= args.within <= SLOWEST_S:
            raise BadRequest(f"--within {args.within:g}: from {QUICKEST_S:g} to {SLOWEST_S:g} seconds")
        ask = in_time(ask, args.within)
    with screen.progress(f"Sizing {function}"):
        found = size(session.creature, function, ask)
        eased = None
        if not isinstance(found, Unknown) and not _performs(found):
            eased = size_with_skin(session.creature, function, args.within)
    if isinstance(found, Unknown):
        raise BadRequest(found.why)
    choices: list[tuple[Candidate | None, tuple[Edit, ...]]] = [(candidate, ()) for candidate in found.candidates]
    if eased is not None:
        best = next((candidate for candidate in eased[0].candidates if candidate.performs), None)
        choices.append((best, eased[1]))
    if args.json:
        screen.json(_as_json(found, eased))
    else:
        turns = PARTS[session.creature.functions[function].part].kind == "turn"
        _print(found, eased, "rad" if turns else "m", screen)
    if args.write is not None:
        if not 1 <= args.write <= len(choices):
            raise BadRequest(f"there is no candidate {args.write}; {len(choices)} were found")
        candidate, skins = choices[args.write - 1]
        session.edit((*(edits(session.creature, candidate) if candidate is not None else ()), *skins))
        session.save()
        screen.trouble(f"Candidate {args.write} is written into creature.yaml.")
    elif choices and not args.json:
        screen.say()
        pick = len(choices) if eased is not None else 1
        folder, name = shlex.quote(str(args.folder)), args.function
        screen.say(f"Nothing was changed. To write one: marotte size {folder} {name} --write {pick}")
    return 0 if _performs(found) or eased is not None else 1


def _performs(found: Sizing) -> bool:
    return any(candidate.performs for candidate in (*found.candidates, *([found.now] if found.now else [])))


def _function(written: str, names: list[str]) -> str:
    for name in (written, f"{written}_left"):
        if name in names:
            return name
    near = nearest(written, names)
    raise BadRequest(f"there is no function {written}" + (f"; try {near}" if near else ""))


def _print(found: Sizing, eased: Eased, unit: str, screen: Screen) -> None:
    from marotte.basis.contracts.finding import ABSENT
    from marotte.basis.units import show

    screen.say(f"{found.function}: lengths and clocking, with its load and skin on", style="bold")
    rows = []
    if found.now is not None:
        rows.append(_row("now", found.now, unit))
    rows += [_row(str(number), candidate, unit) for number, candidate in enumerate(found.candidates, 1)]
    if not rows:
        screen.say("As written it does not go together, and nothing near it does.")
    else:
        heads = ("", "", "angle at worst", "of real torque", "horn swings", "play", "changes")
        screen.table(heads, rows, right=(2, 3, 4, 5))
        judged = [*found.candidates, *([found.now] if found.now else [])]
        place = show(max(judged, key=lambda candidate: candidate.use).use_at, unit)
        screen.say(
            f"The most torque is wanted near {place}. Aimed for: 40 deg or more, half of the real torque or less."
        )
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
        screen.table(
            ("", "", "angle at worst", "of real torque", "horn swings", "play", "changes"),
            [_row(str(len(found.candidates) + 1), best, unit)],
            right=(2, 3, 4, 5),
        )


def _row(name: str, candidate: Candidate, unit: str) -> list[str]:
    from marotte.basis.units import show

    what = "performs" if candidate.performs else "falls short"
    changes = ", ".join(
        f"{field.replace('_', ' ')} {_value(field, before)} -> {_value(field, after)}"
        for field, (before, after) in candidate.changes.items()
    )
    faults = "; ".join(fault.sentence for fault in candidate.faults)
    return [
        name, what, show(candidate.least_angle, "rad"), f"{candidate.use:.0%}", show(candidate.swing, "rad"),
        show(candidate.play, unit, 2), changes or faults or "as written",
    ]  # fmt: skip


def _value(field: str, value: float | None) -> str:
    from marotte.basis.units import show

    return "unsaid" if value is None else show(value, "rad" if field.endswith("at_neutral") else "m")


def _as_json(found: Sizing, eased: Eased) -> dict[str, Any]:
    def one(candidate: Candidate) -> dict[str, Any]:
        return {
            "what": candidate.what, "performs": candidate.performs, "least_angle_rad": candidate.least_angle,
            "use": candidate.use, "swing_rad": candidate.swing, "play": candidate.play,
            "changes": {field: {"from": a, "to": b} for field, (a, b) in candidate.changes.items()},
            "faults": [fault.sentence for fault in candidate.faults],
        }  # fmt: skip

    return {
        "function": found.function, "now": one(found.now) if found.now else None,
        "candidates": [one(candidate) for candidate in found.candidates], "told": [told.sentence for told in found.told],
        "with_skin": None if eased is None else {
            "edits": [{"path": edit.path, "from": edit.from_ if isinstance(edit.from_, str) else None, "to": edit.to} for edit in eased[1]],
            "candidates": [one(candidate) for candidate in eased[0].candidates],
        },
    }  # fmt: skip
