"""The mass sheet of one carrier for people: lines that add up, what is forgotten, where it balances, how hard it swings."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from marotte.basis.contracts.common import Unknown
from marotte.basis.units import number_text, show
from marotte.cli.grades import source_words
from marotte.creature.naming import named, several
from marotte.mech.masses import FORGOTTEN

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from marotte.basis.contracts.fit import CarrierSheet, MassLine, MassSheet
    from marotte.basis.frames import Vec
    from marotte.basis.given import Given, Ref
    from marotte.cli.screen import Screen

DIGITS: Final = 4
WAYS: Final = (("to its left", "to its right"), ("over it", "under it"), ("in front of it", "behind it"))
"""Along x, y and z from the neck; left and right are the creature's own."""
NEAR: Final = 1e-3
"""A place [m] that is not told from none."""


def print_sheet(
    carrier: str, sheet: MassSheet, limit: float | None, given: Mapping[Ref, Given], screen: Screen
) -> None:
    """Print what one carrier bears; ``limit`` is what the brief allows [kg]."""
    found = sheet.carriers[carrier]
    rows = [_row(lines, given) for lines in _alike(found.lines)]
    least, most = found.forgotten
    rows.append([show(found.total, "kg", DIGITS), "all of it together", "", ""])
    low, high = (f"{100.0 * share:.0f}" for share in FORGOTTEN)
    parts = show(found.parts, "kg", DIGITS)
    share = f"the {parts} that are not taken whole" if found.parts < found.total else parts
    text = f"glue, screws, wire, paint: {low} to {high} % of {share} (common practice, no source)"
    rows.append([_range(least, most), "usually forgotten, and not in the sum", "", text])
    rows.append([_range(found.total + least, found.total + most), "with that", "", ""])
    if limit is not None:
        rows.append([show(limit, "kg", DIGITS), "limit of the brief", "", ""])
    screen.table(("mass", "line", "balances at x, y, z", "how it is known"), rows, right=(0,), wrapped=(1, 3))
    screen.say()
    screen.say(_centre(found, sheet.neck))
    screen.say(_inertia(found, sheet))


def _alike(lines: Iterable[MassLine]) -> list[list[MassLine]]:
    """Return lines gathered: the servos of one model, both of a pair; those without a place by themselves."""
    groups: dict[tuple[str, str, float, str, bool], list[MassLine]] = {}
    for line in lines:
        plain = line.label.removesuffix("_left").removesuffix("_right")
        groups.setdefault((line.kind, plain, line.each, line.ref, line.at is None), []).append(line)
    return list(groups.values())


def _row(lines: Sequence[MassLine], given: Mapping[Ref, Given]) -> list[str]:
    first, count = lines[0], sum(line.count for line in lines)
    mass = sum(line.mass for line in lines)
    if first.kind == "part":
        label = several([line.label for line in lines]).removeprefix("the ")
    else:
        label = named(first.label)
    each = f", {show(first.each, 'kg', DIGITS)} each" if count > 1 else ""
    label = f"{count} x {label}{each}" if first.kind != "part" and count > 1 else label + each
    how = (
        "width x length x thickness x density, and its backing"
        if first.kind == "skin"
        else source_words(first.ref, given)
    )
    return [show(mass, "kg", DIGITS), label, _place(lines, mass), f"taken whole: {how}" if first.whole else how]


def _place(lines: Sequence[MassLine], mass: float) -> str:
    """Return where some lines balance together, as people read it [mm]."""
    if lines[0].at is None:
        return "over the skull" if lines[0].placed == "shell" else "not written"
    at = (
        sum((line.mass * np.array(line.at) for line in lines), np.zeros(3)) / mass
        if mass > 0.0
        else np.array(lines[0].at)
    )
    said = _mm((float(at[0]), float(at[1]), float(at[2])))
    return f"{said} (proposed)" if any(line.placed == "proposed" for line in lines) else said


def _mm(at: Vec) -> str:
    return ", ".join(number_text(1e3 * round(part, 4), DIGITS) for part in at) + " mm"


def _range(low: float, high: float) -> str:
    first, second = show(low, "kg", DIGITS), show(high, "kg", DIGITS)
    number, _, unit = first.partition(" ")
    return f"{number} to {second}" if second.endswith(f" {unit}") else f"{first} to {second}"


def _centre(found: CarrierSheet, neck: Vec) -> str:
    if isinstance(found.centre, Unknown):
        lost = {line.kind for line in found.lines if line.at is None}
        cures = {
            "entry": "at for each entry of masses", "servo": "a box for each servo", "battery": "at for the battery",
            "skin": "the skin as an entry of masses, with at",
        }  # fmt: skip
        want = [text for kind, text in cures.items() if kind in lost]
        write = f": write {' and '.join(want)}" if want else ""
        return f"Where it balances is unknown: {found.centre.why}{write}."
    ways = []
    for way, (more, less) in zip(np.array(found.centre) - np.array(neck), WAYS, strict=True):
        if abs(way) >= NEAR:
            ways.append(f"{show(abs(float(way)), 'm', 3)} {more if way > 0.0 else less}")
    rest = f"; from the neck {', '.join(ways)}" if ways else "; right in the neck"
    return f"Centre of mass at neutral: {_mm(found.centre)} from between the eyes{rest}."


def _inertia(found: CarrierSheet, sheet: MassSheet) -> str:
    if isinstance(found.inertia, Unknown):
        return f"So is its inertia about the neck ({_mm(sheet.neck)})." if isinstance(found.centre, Unknown) else (
            f"Its inertia about the neck is unknown: {found.inertia.why}."
        )  # fmt: skip
    nod, turn, tilt = (show(float(found.inertia[k, k]), "kg*m2") for k in range(3))
    source = "" if sheet.neck_written else ", the anatomy's own: build > points > neck is not written"
    return f"Inertia about the neck ({_mm(sheet.neck)}{source}): nodding {nod}, turning {turn}, tilting {tilt}."
