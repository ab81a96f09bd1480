"""A mechanism's record -> its Transmission, by the type of the record."""

from __future__ import annotations

from collections.abc import Mapping

from marotte.basis.contracts.common import Unknown
from marotte.basis.contracts.mech import Transmission
from marotte.basis.frames import Vec
from marotte.creature.anatomy import EYE_SPACING, Part
from marotte.creature.creature import Mechanism
from marotte.creature.schema.functions import Function
from marotte.creature.schema.mechs import BellCrank, CrankSlider, FourBar, TwoRodGimbal
from marotte.creature.shelf import Stock
from marotte.mech.case import Case, Limits, jammed
from marotte.mech.kinds import KINDS


def transmission(
    mechanism: Mechanism,
    functions: Mapping[str, Function],
    points: Mapping[str, Vec],
    anatomy: Mapping[str, Part],
    limits: Limits | None = None,
    stock: Stock | None = None,
    eye_spacing: float = EYE_SPACING,
    pushed_by: tuple[str, ...] = (),
) -> Transmission | Unknown:
    """Return what one mechanism does over the sound span of its travel.

    Args:
        mechanism: the mechanism.
        functions: by name; only its own outputs are read.
        points: named places of the build [m], right ones mirrored.
        anatomy: by name of part.
        limits: where the span ends; the project's own where absent.
        stock: an edition, for wires, liners and joints; kinds that need it are Unknown without.
        eye_spacing: distance of the eye centres [m], which scales the anatomy's own places.
        pushed_by: kinds of the means at its inputs ("servo", "hand", ...), where they are to be checked against it.

    Returns:
        A Transmission; ``Jammed`` where the design does not go together; ``Unknown`` where this kind, or a value that it
        needs, is missing.
    """
    own = tuple(functions[name] for name in mechanism.outputs)
    parts = tuple(anatomy[function.part] for function in own)
    case = Case(
        mechanism=mechanism, functions=own, parts=parts, points=points,
        limits=limits or Limits(), stock=stock, eye_spacing=eye_spacing,
    )  # fmt: skip
    record = mechanism.record
    solver = KINDS.get(type(record))
    if solver is None:
        return Unknown(why=f"{mechanism.name}: a mech of kind {record.kind} cannot be computed yet")
    wrong = _misfit(case)
    if wrong:
        return jammed(case, "kind", f"{mechanism.name}: {wrong}", ("kind",))
    found = solver(case)
    if isinstance(found, Transmission) and "servo" in pushed_by and "m" in found.input_units:
        field = "horn" if hasattr(record, "horn") else "kind"
        sentence = f"{mechanism.name}: a servo turns, and this {record.kind} is pushed straight: write its horn"
        return jammed(case, "input", sentence, (field,))
    return found


def _misfit(case: Case) -> str:
    """Return why a mech cannot move what it is meant to move, or nothing."""
    record, part = case.mechanism.record, case.parts[0]
    if isinstance(record, (FourBar, TwoRodGimbal)) and part.kind != "turn":
        return f"a {record.kind} turns what it moves, and {part.name} slides: a crank_slider would do"
    if isinstance(record, CrankSlider) and part.kind != "slide":
        return f"a crank_slider slides what it moves, and {part.name} turns: a four_bar would do"
    if isinstance(record, BellCrank) and (record.next_arm is None) != (part.kind == "slide"):
        return f"the bell_crank pulls a tab straight, and {part.name} turns" if part.kind == "turn" else "it slides"
    return ""
