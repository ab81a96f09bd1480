"""cost and hours: what the stock prices, and shop hours by what is built, against the limits of the brief."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, Literal

from marotte.basis.contracts.common import Quantity, Unknown
from marotte.basis.contracts.finding import Grade
from marotte.basis.units import number_text
from marotte.creature.schema.audience import Limits, Shop
from marotte.creature.schema.base import Record
from marotte.creature.schema.means import Servo
from marotte.creature.schema.mechs import BallRod, BellCrank, CrankSlider, FourBar, TeeBar, TwoRodGimbal
from marotte.creature.schema.skins import Strip
from marotte.creature.schema.stock import SkinStuff
from marotte.verdict.margins import Rule, Thresholds
from marotte.verdict.requirements.base import Found, NotClaimed, Requirement, Said
from marotte.verdict.workings import Writer

if TYPE_CHECKING:
    from marotte.creature.creature import Creature

BALLS: Final = {FourBar: 2, CrankSlider: 2, BallRod: 2, TeeBar: 2, BellCrank: 4, TwoRodGimbal: 4}
"""Ball links of each mech."""
WHOLE: Final = ("sculpture", "frame", "hair", "trying")
"""What every creature takes hours for, once."""


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the sheet: so many of what has a price or takes hours."""

    label: str
    record: Record
    """Its ``price`` or ``hours``."""
    count: int
    key: str
    """Its name in the stock: of a servo class, a joint, a material, a kind of work."""
    strip: Strip | None = None
    """Of a skin, priced by the kilogram: its size."""


@dataclass(frozen=True, slots=True)
class Budget:
    """What one limit is held against."""

    field: str
    """Of ``limits``: cost or hours."""
    limits: Limits
    shop: Shop
    lines: tuple[Line, ...]

    def own(self, line: Line) -> bool:
        """Return whether the file says what one of it comes to."""
        return line.key in (self.shop.hours if self.field == "hours" else self.shop.prices)

    def one(self, line: Line) -> float | None:
        """Return what one of it comes to [EUR, EUR/kg or h]; None where nobody says."""
        if self.own(line):
            return (self.shop.hours if self.field == "hours" else self.shop.prices)[line.key]
        found = getattr(line.record, "hours" if self.field == "hours" else "price")
        return None if found is None else float(found)

    def of(self, line: Line) -> float:
        """Return what one line comes to [EUR or h]."""
        price = self.one(line)
        assert price is not None  # asked for before
        if self.field == "hours":
            return line.count * price
        if line.strip is None:
            return line.count * price
        assert isinstance(line.record, SkinStuff)
        return line.count * price * line.record.density * line.strip.thickness * line.strip.width * line.strip.length

    @property
    def total(self) -> float:
        """The sum [EUR or h]."""
        return sum((self.of(line) for line in self.lines), 0.0)


def _servos(creature: Creature) -> dict[str, int]:
    counts: dict[str, int] = {}
    for means in creature.means.values():
        if isinstance(means, Servo):
            counts[means.model] = counts.get(means.model, 0) + means.count
    return counts


def _priced(creature: Creature) -> Iterator[Line]:
    for model, count in _servos(creature).items():
        yield Line(model, creature.servos[model], count, model)
    balls = sum(BALLS.get(type(mech.record), 0) for mech in creature.mechs.values())
    if balls:
        yield Line("ball link", creature.stock_tables.joints["ball_link"], balls, "ball_link")
    for name, skin in creature.skins.items():
        if skin.strip is not None:
            stuff = skin.strip.material
            yield Line(f"skin {name}", creature.stock_tables.skins[stuff], 1, stuff, skin.strip)


def _worked(creature: Creature) -> Iterator[Line]:
    stock = creature.stock_tables.hours
    counts: dict[str, int] = {}
    for means in creature.means.values():
        kind = {"chin": "body"}.get(means.kind, means.kind)
        counts[kind] = counts.get(kind, 0) + (means.count if isinstance(means, Servo) else 1)
    counts["wiring"] = counts.get("servo", 0)
    counts["skin"] = len(creature.skins)
    counts["suit"] = int(creature.worn is not None)
    drawn = set(counts) & {"servo", "lever", "hand", "body", "air"} == set()
    counts.update(dict.fromkeys(WHOLE, 0 if drawn else 1))
    for name, count in counts.items():
        if count:
            yield Line(name, stock[name], count, name)


def budget_of(creature: Creature, field: Literal["cost", "hours"]) -> Budget | Unknown | NotClaimed:
    """Return what one limit is held against, line by line."""
    lines = tuple(_priced(creature) if field == "cost" else _worked(creature))
    budget = Budget(field, creature.limits, creature.shop, lines)
    if getattr(creature.limits, field) is None:
        return NotClaimed(why=f"the file sets no limit of {field}")
    if not lines:
        return NotClaimed(why="nothing in it has a price in the file or in the stock")
    for line in lines:
        if budget.one(line) is None:
            return Unknown(why=f"{line.label} has no price", wants=(line.record.ref("price"),))
    return budget


def _find(args: Budget) -> Found:
    unit = "EUR" if args.field == "cost" else "h"
    limit = float(getattr(args.limits, args.field))
    return Found(needed=Quantity(value=limit, unit=unit), has=Quantity(value=args.total, unit=unit))


def _work(w: Writer, args: Budget, found: Found) -> None:
    w.need(w.given(args.limits, args.field, meaning="limit of the brief"))
    field, unit = ("price", "EUR") if args.field == "cost" else ("hours", "h")
    terms: list[str] = []
    for line in args.lines:
        each, per = ("a kilogram", f"{unit}/kg") if line.strip is not None else ("one", unit)
        if args.own(line):
            one = w.given(
                args.shop,
                "prices" if field == "price" else "hours",
                line.key,
                meaning=f"{line.label}, {each}",
                unit=per,
            )
        else:
            one = w.given(line.record, field, meaning=f"{line.label}, {each}", unit=per)
        if line.strip is not None:
            thick, width = w.given(line.strip, "thickness"), w.given(line.strip, "width")
            length, dense = w.given(line.strip, "length"), w.given(line.record, "density")
            kilos = w.worked("m_s", f"{line.label}, mass", f"{thick}*{width}*{length}*{dense}", "kg")
            one = w.worked("c_k", line.label, f"{one}*{kilos}", unit)
            terms.append(one)
        else:
            many = w.read("n", f"how many: {line.label}", "counted in the file", line.count, "1")
            terms.append(f"{many}*{one}")
    w.worked("sum", "all of it", " + ".join(terms) or "0", unit)


def _counted(line: Line) -> str:
    return f"{line.count} x {line.label}" if line.count > 1 else line.label


def _say(args: Budget, found: Found, grade: Grade) -> Said:
    total, limit = number_text(args.total, 3), number_text(found.needed.value, 3)
    dearest = max(args.lines, key=lambda line: (args.of(line), line.label), default=None)
    most = "" if dearest is None else f"; the most of it is {_counted(dearest)}"
    if args.field == "cost":
        text = f"the parts that have a price come to {total} EUR of {limit} EUR"
        rest = "; boards, wire, prints, hair and paint have none in the file"
    else:
        text, rest = f"the shop is at it for about {total} h of {limit} h", ""
    return Said(sentence=text[0].upper() + text[1:] + most + rest + ".", clause=text)


def _limits(creature: Creature) -> tuple[str, ...]:
    return ("limits",)


COST = Requirement(
    name="cost",
    number=1,
    asks="The parts that the stock or the file prices stay under the limit of the brief.",
    unit="EUR",
    rule=Rule("at_most"),
    thresholds=Thresholds(0.2, 0.0, "A fifth for what has no price in the file (a rule of this project)."),
    method="budget",
    subjects=_limits,
    gather=lambda creature, results, about: budget_of(creature, "cost"),
    find=_find,
    work=_work,
    say=_say,
    weight=0.3,
    example="limits.cost",
)
HOURS = Requirement(
    name="hours",
    number=1,
    asks="Shop hours, by what is built and who gives the force, stay under the limit of the brief.",
    unit="h",
    rule=Rule("at_most"),
    thresholds=Thresholds(0.1, 0.0, "A tenth for what is made twice (a rule of this project)."),
    method="budget",
    subjects=_limits,
    gather=lambda creature, results, about: budget_of(creature, "hours"),
    find=_find,
    work=_work,
    say=_say,
    weight=0.3,
    example="limits.hours",
)
