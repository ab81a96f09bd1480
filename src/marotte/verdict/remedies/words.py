"""Remedies in the words of a workshop: what to do, what it gives, what it costs elsewhere on the bench."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from marotte.basis.contracts.common import Quantity
from marotte.basis.contracts.finding import Finding, Remedy
from marotte.basis.faults import shown_path
from marotte.basis.units import show
from marotte.creature.creature import Creature
from marotte.creature.naming import named
from marotte.verdict.remedies.turn import Turn, Value

AFTERTHOUGHTS: Final[tuple[tuple[str, str], ...]] = (
    ("sculpted at", "expect a slight fold when it is shut"),
    ("thickness", "reinforce its corners with net"),
    ("share of the width", "the creases must be in the sculpture, and their ends are tear starts"),
    ("voltage", "every servo on it gets that voltage: mind each sheet"),
    ("moving mass", "hollow it or build it over wire and foam, and weigh it"),
    ("material", "softer skin tears sooner and takes longer to cure"),
    ("backing", "without its backing the edge tears sooner"),
)
"""What goes with turning a knob (common practice, no source)."""


PLENTY: Final = 100
"""Margin [%] that is left from which losing some of it is no matter."""
SAME: Final = 5
"""Difference [%] under which both sides of a pair are said at once."""


def both(parts: Sequence[str]) -> str:
    """Return parts as one clause."""
    return parts[0] if len(parts) == 1 else ", ".join(parts[:-1]) + " and " + parts[-1]


def said(creature: Creature, turns: Sequence[tuple[Turn, Value]]) -> str:
    """Return turns of knobs in words: ``re-clock the upper lid by 28 deg (arm at neutral 104 deg -> 76 deg)``."""
    lengths = [pair for pair in turns if pair[0].ref.rsplit("/", 1)[-1] in ("horn", "arm", "rod", "ground")]
    rest = [_said(creature, turn, value) for turn, value in turns if (turn, value) not in lengths]
    if len(lengths) > 1:
        parts = [f"{_field(turn)} {turn.text(turn.now)} -> {turn.text(value)}" for turn, value in lengths]
        rest.insert(0, f"gear {_where(lengths[0][0])} {_geared(lengths)}: {both(parts)}")
    elif lengths:
        rest.insert(0, _said(creature, *lengths[0]))
    return both(_it(rest, [_where(turn) for turn, _ in turns]))


def _it(clauses: Sequence[str], things: Sequence[str]) -> list[str]:
    """Return clauses in which what all of them are about is named once: ``thin the chin skin ... and sculpt it with ...``."""
    if len(clauses) < 2 or len(set(things)) > 1:
        return list(clauses)
    return [clauses[0], *("it".join(clause.rsplit(things[0], 1)) for clause in clauses[1:])]


def _geared(lengths: Sequence[tuple[Turn, Value]]) -> str:
    now = {_field(turn): turn.now for turn, _ in lengths}
    then = {_field(turn): value for turn, value in lengths}
    sizes = {name: (now.get(name), then.get(name)) for name in ("horn", "arm")}
    horn, arm = sizes["horn"], sizes["arm"]
    up = (float(horn[1] or 1) / float(horn[0] or 1)) > (float(arm[1] or 1) / float(arm[0] or 1))
    return "up" if up else "down"


def _said(creature: Creature, turn: Turn, value: Value) -> str:
    where = _where(turn)
    if turn.says == "servo":
        return f"put a {servo_said(str(value))}{_against(creature, turn, str(value))} on {where}"
    now, then = turn.text(turn.now), turn.text(value)
    if isinstance(value, str):
        return f"cast {where} with {turn.says} {spaced(then)} instead of {spaced(now)}"
    assert not isinstance(turn.now, str)
    if turn.re_clocks:
        return f"re-clock {where} by {abs(math.degrees(value - turn.now)):.0f} deg ({_field(turn)} {now} -> {then})"
    if turn.says.startswith("sculpted at"):
        return f"sculpt {where} with the {named(turn.says.removeprefix('sculpted at '))} at {then} instead of {now}"
    if turn.ref.endswith("/relief"):
        before = f" instead of {now}" if turn.now else ""
        return f"crease or slit {where} over {then} of its width{before}"
    if turn.says == "thickness" and value < turn.now:
        return f"thin {where} from {now} to {then}"
    if turn.ref.endswith("/load/mass"):
        return f"make the moving part of {where} lighter, {now} -> {turn.to_write(value)}"
    if turn.ref.endswith("/volts"):
        what = f"the regulator of {where}" if "/leads/" in turn.ref else where
        return f"turn {what} {'up' if value > turn.now else 'down'} from {now} to {then}"
    if turn.says.startswith("width"):
        return f"make {where} narrower across the pull, {now} -> {then}"
    if turn.says.startswith("free length"):
        return f"give {where} more free length along the pull, {now} -> {then}"
    if turn.says.startswith("distance of the two rods"):
        return f"set the two rods of {where} {'wider' if value > turn.now else 'closer'}, {now} -> {then}"
    return f"{'lengthen' if value > turn.now else 'shorten'} the {_field(turn)} of {where}, {now} -> {then}"


def _against(creature: Creature, turn: Turn, model: str) -> str:
    old, new = creature.servos[str(turn.now)], creature.stock_tables.servos[model]
    size = "same body" if new.same_body(old) else " x ".join(f"{1e3 * side:.0f}" for side in new.body) + " mm body"
    return f" ({show(new.mass, 'kg', 2)} for {show(old.mass, 'kg', 2)}, {size}) in place of the {servo_said(str(turn.now))}"


def afterthought(turns: Sequence[tuple[Turn, Value]]) -> str:
    """Return what else goes with these turns on the bench; empty where nothing does."""
    found = [text for turn, _ in turns for mark, text in AFTERTHOUGHTS if turn.says.startswith(mark)]
    return "; ".join(dict.fromkeys(found))


def result(before: Finding, after: Finding) -> str:
    """Return what a remedy gives: ``25.6 deg -> 54.3 deg at worst``."""
    if not isinstance(before.has, Quantity) or not isinstance(after.has, Quantity):
        return f"{_grade(before)} -> {_grade(after)}"
    if after.margin is None or before.margin is None:
        tail = f", {shown(after.has)}" if after.has.unit != "1" else ""
        return f"{_grade(before)} -> {_grade(after)}{tail}"
    if before.requirement == "drive":
        wants = changed(show(before.needed.value, "N*m", 2), show(after.needed.value, "N*m", 2))
        return f"wants {wants} at speed and has {changed(show(before.has.value, 'N*m', 2), show(after.has.value, 'N*m', 2))}"
    if before.requirement == "mech":
        return f"its rod meets the arm at {shown(before.has)} -> {shown(after.has)} at worst"
    if before.has.word:
        return f"{changed(before.has.word, after.has.word)}, where {changed(before.needed.word, after.needed.word)} is borne"
    if before.id == "fit.skull":
        return f"the least gap is {shown(before.has)} -> {shown(after.has)}"
    if before.id == "fit.access":
        return f"{before.has.value:.0f} -> {after.has.value:.0f} others come out before the worst one"
    return f"{shown(before.has)} -> {shown(after.has)}"


def changed(before: str, after: str) -> str:
    """Return what became of a number; the number alone where nothing did."""
    return after if after == before else f"{before} -> {after}"


def shown(quantity: Quantity) -> str:
    """Return a number as findings show it."""
    return ("over " if quantity.more else "") + show(quantity.value, "%" if quantity.unit == "1" else quantity.unit)


def sentence(what: str, gives: str, after: Finding, then: str) -> str:
    """Return a remedy's sentence."""
    tail = f" {then[0].upper()}{then[1:]}." if then else ""
    return f"{what[0].upper()}{what[1:]}: {gives} ({_grade(after)}).{tail}"


def _grade(item: Finding) -> str:
    return item.grade.replace("_", " ")


def _field(turn: Turn) -> str:
    return spaced(shown_path(turn.ref).rsplit(" > ", 1)[-1])


def spaced(name: str) -> str:
    """Return a name of the file as it is said."""
    return name.replace("_", " ")


def servo_said(model: str) -> str:
    """Return a servo's model as it is said: ``mini servo``, and ``jaw servo`` for one that the file calls so."""
    return spaced(model) if model.endswith("servo") else f"{spaced(model)} servo"


def _where(turn: Turn) -> str:
    """Return what a knob belongs to, with its article."""
    parts = turn.ref.strip("/").split("/")
    section, name = parts[0], parts[1] if len(parts) > 1 else ""
    if section == "skins":
        return f"the {spaced(name)} skin"
    if section == "supply":
        return f"the lead {spaced(parts[2])}" if name == "leads" and len(parts) > 2 else "the supply"
    return f"the {named(name)}" if name else section


def worsened(cure: Remedy) -> str:
    """Return what a remedy makes worse elsewhere as a sentence, both sides of a pair at once; empty where nothing is."""
    texts: dict[str, str] = {}
    for text in cure.worsens:
        name, rest = text.split(": ", 1)
        twin = name.replace("_right.", "_left.")
        if name != twin and twin in texts and _far(texts[twin], rest) < SAME:
            texts[twin.replace("_left.", "_left/right.")] = texts.pop(twin)
        else:
            texts[name] = rest
    mild = [f"{name} ({text})" for name, text in texts.items() if (_left(text) or 0) >= PLENTY]
    bad = [f"{name}: {text}" for name, text in texts.items() if (_left(text) or 0) < PLENTY]
    said = [f"It makes worse: {', '.join(bad)}."] if bad else []
    if mild:
        said.append(f"It takes some of what is plenty: {', '.join(mild)}.")
    return " ".join(said)


def _left(text: str) -> int | None:
    """Return the margin [%] that is left by ``margin +20 % -> +12 %``; None for another text."""
    return int(text.rsplit(" ", 2)[1]) if text.startswith("margin ") else None


def _far(one: str, other: str) -> int:
    """Return by how many percent two such texts differ; much where they are not of a kind."""
    a, b = _left(one), _left(other)
    if a is None or b is None:
        return 0 if one == other else SAME
    return abs(a - b)
