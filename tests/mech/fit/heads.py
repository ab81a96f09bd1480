"""Small heads with servos in written boxes, for the tests of fit."""

from __future__ import annotations

from pathlib import Path

from marotte.basis.contracts.common import Unknown
from marotte.basis.contracts.fit import Fit
from marotte.creature.creature import Creature
from marotte.creature.load import load
from marotte.mech.fit.fit import FitParts, fit
from marotte.mech.fit.skull import shell_of
from marotte.mech.mechs import mechs

HEAD = """\
marotte: 1
stock: 2026-1
name: Test head
build: {eye: {diameter: 40 mm, spacing: 88 mm}, skull: {shape: [150 mm, 160 mm, 150 mm], hatch: [top, back]}}
functions:
FUNCTIONS
supply: {battery: {kind: bench, volts: 6 V, limit: 5 A}, leads: {face: {fed_by: battery, awg: 20, length: 1 m}}}
"""


def servo(name: str, at: str = "", model: str = "standard", axis: str = "[0, 0, 1]", access: str = "[]") -> str:
    """Return a function that slides, pushed by a servo in a box; without ``at`` no box is written."""
    box = f", box: {{at: [{at}], axis: {axis}, access: {access}}}" if at else ""
    return (
        f"  {name}: {{part: other_slide, axis: [0, 1, 0], at: [0 mm, 0 mm, 0 mm], travel: [0 mm, 5 mm], "
        f"means: {{kind: servo, model: {model}{box}}}, mech: {{kind: cable, horn: 9 mm, length: 120 mm, pulls: both_ways}}}}\n"
    )


def head(folder: Path, *functions: str, text: str = HEAD) -> Creature:
    """Return a creature with some functions."""
    (folder / "creature.yaml").write_text(text.replace("FUNCTIONS\n", "".join(functions)), encoding="utf-8")
    return load(folder)


def fitted(creature: Creature, hand_breadth: float | None = None) -> Fit:
    """Return what sits in its skull."""
    found = fit(FitParts.of(creature, mechs(creature), hand_breadth), shell_of(creature.build.skull, None))
    assert not isinstance(found, Unknown), found
    return found
