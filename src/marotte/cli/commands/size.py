"""``marotte size FOLDER FUNCTION``: lengths and clocking that bring a function its travel with its load on."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from marotte.basis.faults import BadRequest, nearest
from marotte.cli.screen import Screen

if TYPE_CHECKING:
    from marotte.mech.asked_of import Ask
    from marotte.mech.size import Candidate, Sizing

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
    from marotte.mech.asked_of import asked_of
    from marotte.mech.size import edits, size

    session = Session(args.folder)
    function = _function(args.function, list(session.creature.functions))
    ask = asked_of(session.creature, function)
    if isinstance(ask, Unknown):
        raise BadRequest(ask.why)
    if args.within is not None:
        ask = _within(ask, args.within)
    with screen.progress(f"Sizing {function}"):
        found = size(session.creature, function, ask)
    if isinstance(found, Unknown):
        raise BadRequest(found.why)
    if args.json:
        screen.json(_as_json(found))
    else:
        turns = PARTS[session.creature.functions[function].part].kind == "turn"
        _print(found, "rad" if turns else "m", screen)
    if args.write is not None:
        if not 1 <= args.write <= len(found.candidates):
            raise BadRequest(f"there is no candidate {args.write}; {len(found.candidates)} were found")
        session.edit(edits(session.creature, found.candidates[args.write - 1]))
        session.save()
        screen.trouble(f"Candidate {args.write} is written into creature.yaml.")
    elif found.candidates and not args.json:
        screen.say()
        screen.say(f"Nothing was changed. To write one: marotte size {args.folder} {args.function} --write 1")
    performs = any(candidate.performs for candidate in (*found.candidates, *([found.now] if found.now else [])))
    return 0 if performs else 1


def _function(written: str, names: list[str]) -> str:
    for name in (written, f"{written}_left"):
        if name in names:
            return name
    near = nearest(written, names)
    raise BadRequest(f"there is no function {written}" + (f"; try {near}" if near else ""))


def _within(ask: Ask, seconds: float) -> Ask:
    """Return what is asked when the whole travel is to be made in another time."""
    from marotte.mech.asked_of import MOVE_S

    if not QUICKEST_S <= seconds <= SLOWEST_S:
        raise BadRequest(f"--within {seconds:g}: from {QUICKEST_S:g} to {SLOWEST_S:g} seconds")
    quicker = MOVE_S / seconds
    return replace(ask, speed=ask.speed * quicker, acceleration=ask.acceleration * quicker**2)


def _print(found: Sizing, unit: str, screen: Screen) -> None:
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
        screen.say(f"- {told.sentence}")


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


def _as_json(found: Sizing) -> dict[str, Any]:
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
    }  # fmt: skip
