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
from marotte.creature.schema.build import Carried
from marotte.creature.schema.means import Servo
from marotte.creature.schema.mechs import BallRod, BellCrank, CrankSlider, FourBar, TeeBar, TwoRodGimbal
from marotte.creature.schema.skins import Strip
from marotte.creature.schema.stock import SkinStuff
from marotte.mech.skin_pieces import pieces
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
    """Of a skin, priced by the kilogram, that nothing but its strip is written of: its size."""
    weighed: Carried | None = None
    """Of a skin that stands under masses: its whole piece."""
    share: float = 1.0
    """Of what was weighed, by the strips, where the piece is made of several materials."""

    @property
    def by_the_kilogram(self) -> bool:
        """Whether its price is that of a kilogram."""
        return self.strip is not None or self.weighed is not None


@dataclass(frozen=True, slots=True)
class Budget:
    """What one limit is held against."""

    field: str
    """Of ``limits``: cost or hours."""
    limits: Limits
    shop: Shop
    lines: tuple[Line, ...]
    unpriced: tuple[str, ...] = ()
    """What the creature has and nothing prices."""

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
        if line.weighed is not None:
            return line.count * price * line.share * line.weighed.mass
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
    yield from _skins(creature)


def _skins(creature: Creature) -> Iterator[Line]:
    """Yield the skins as they are cast: by the weight of the whole piece where it stands under masses, else by their strips."""
    stock, made = creature.stock_tables, pieces(creature.skins, creature.masses)
    kilos: dict[str, dict[str, float]] = {}
    for piece in made:
        strips = [strip for card in piece.cards if (strip := creature.skins[card].strip) is not None]
        if piece.entry is not None and piece.material is not None:
            dense = stock.skins[piece.material].density
            mass = sum(dense * strip.thickness * strip.width * strip.length for strip in strips)
            kilos.setdefault(piece.entry, {})[piece.material] = mass
    for piece in made:
        stuff = piece.material
        if stuff is None:
            continue
        if piece.entry is None:
            strip = creature.skins[piece.cards[0]].strip
            yield Line(f"skin {piece.cards[0]}", stock.skins[stuff], 1, stuff, strip)
            continue
        of = kilos[piece.entry]
        label = f"{piece.entry}, {stuff}" if len(of) > 1 else piece.entry
        share = of[stuff] / sum(of.values())
        yield Line(label, stock.skins[stuff], 1, stuff, None, creature.masses[piece.entry], share)


def _unpriced(creature: Creature) -> tuple[str, ...]:
    """Return what the creature has and neither the file nor the stock prices."""
    parts = {function.part for function in creature.functions.values()}
    servos = bool(_servos(creature))
    found = {
        "boards": servos, "wire": servos, "prints": True,
        "eyes": creature.build.eye is not None or bool(parts & {"eye_turn", "eye_lift"}),
        "measured skins": any(piece.material is None for piece in pieces(creature.skins, creature.masses)),
        "moulds": bool(creature.skins), "supply": creature.supply is not None, "suit": creature.worn is not None,
        "fur, hair and paint": True,
    }  # fmt: skip
    return tuple(name for name, there in found.items() if there)


def _worked(creature: Creature) -> Iterator[Line]:
    stock = creature.stock_tables.hours
    counts: dict[str, int] = {}
    for means in creature.means.values():
        kind = {"chin": "body"}.get(means.kind, means.kind)
        counts[kind] = counts.get(kind, 0) + (means.count if isinstance(means, Servo) else 1)
    counts["wiring"] = counts.get("servo", 0)
    counts["skin"] = len(pieces(creature.skins, creature.masses))
    counts["suit"] = int(creature.worn is not None)
    drawn = set(counts) & {"servo", "lever", "hand", "body", "air"} == set()
    counts.update(dict.fromkeys(WHOLE, 0 if drawn else 1))
    for name, count in counts.items():
        if count:
            yield Line(name, stock[name], count, name)


def budget_of(creature: Creature, field: Literal["cost", "hours"]) -> Budget | Unknown | NotClaimed:
    """Return what one limit is held against, line by line."""
    lines = tuple(_priced(creature) if field == "cost" else _worked(creature))
    budget = Budget(field, creature.limits, creature.shop, lines, _unpriced(creature) if field == "cost" else ())
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
        per = f"{unit}/kg" if line.by_the_kilogram else unit
        if args.own(line):
            one = w.given(
                args.shop,
                "prices" if field == "price" else "hours",
                line.key,
                meaning=_meaning(args, line),
                unit=per,
            )
        else:
            one = w.given(line.record, field, meaning=_meaning(args, line), unit=per)
        if line.weighed is not None:
            kilos = w.given(line.weighed, "mass", symbol="m", meaning=f"{line.label}, as it is weighed")
            if line.share < 1.0:
                share = w.read("k_m", f"{line.label}: its share", "by the strips of the skin cards", line.share, "1")
                kilos = f"{share}*{kilos}"
            terms.append(w.worked("c_k", line.label, f"{one}*{kilos}", unit))
        elif line.strip is not None:
            thick, width = w.given(line.strip, "thickness"), w.given(line.strip, "width")
            length, dense = w.given(line.strip, "length"), w.given(line.record, "density")
            kilos = w.worked("m_s", f"{line.label}, mass", f"{thick}*{width}*{length}*{dense}", "kg")
            one = w.worked("c_k", line.label, f"{one}*{kilos}", unit)
            terms.append(one)
        else:
            many = w.read("n", f"how many: {line.label}", "counted in the file", line.count, "1")
            terms.append(f"{many}*{one}")
    w.worked("sum", "all of it", " + ".join(terms) or "0", unit)


def _spaced(name: str) -> str:
    return name.replace("_", " ")


def _meaning(args: Budget, line: Line) -> str:
    """Return what one price or so many hours are for."""
    if line.by_the_kilogram:
        return f"price of a kilogram of {_spaced(line.key)}"
    if args.field == "cost":
        return f"price of one {_spaced(line.label)}"
    return f"hours for {getattr(line.record, 'about', '') or _spaced(line.label)}"


def _counted(line: Line) -> str:
    return f"{line.count} x {_spaced(line.label)}" if line.count > 1 else _spaced(line.label)


def _say(args: Budget, found: Found, grade: Grade) -> Said:
    total, limit = number_text(args.total, 3), number_text(found.needed.value, 3)
    dearest = max(args.lines, key=lambda line: (args.of(line), line.label), default=None)
    most = "" if dearest is None else f"; the most of it is {_counted(dearest)}"
    if args.field == "cost":
        text = f"the parts that have a price come to {total} EUR of {limit} EUR"
        rest = f"; {', '.join(args.unpriced)} have none in the file"
    else:
        text, rest = f"the shop is at it for about {total} h of {limit} h", ""
    return Said(sentence=text[0].upper() + text[1:] + most + rest + ".", clause=text)


def _limits(creature: Creature) -> tuple[str, ...]:
    return ("limits",)


COST = Requirement(
    name="cost",
    number=2,
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
    example="limits",
)
HOURS = Requirement(
    name="hours",
    number=2,
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
    example="limits",
)
