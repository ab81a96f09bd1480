"""The stock as people read it: docs/reference/stock.md, made from the newest edition.

``python -m marotte.creature.stock_page`` renews it; a test fails, with that command, where it is behind.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Final

from marotte.basis.given import Given
from marotte.basis.units import number_text, show
from marotte.creature.schema.base import Record
from marotte.creature.schema.quantities import quantity
from marotte.creature.schema.servos import ServoClass
from marotte.creature.shelf import LATEST, Stock, shelf

TABLES: Final = ("skins", "backings", "fabrics", "wires", "liners", "joints", "batteries", "controls", "hours")
INTRO: Final = """\
# The stock, edition {edition}

Typical parts, so that a creature can be judged before its parts are bought. What you write in your own file wins over every one of
these, and a data sheet or a measurement should. A name in the first column is what `creature.yaml` takes: `model: micro`,
`material: silicone_00_30`, `like: standard`. This page is made from the edition's data by
`python -m marotte.creature.stock_page`.

A value stands with its half-width (19 pieces of 20 lie within it). Where the edition gives none it is the project's for typical values,
25 %, and is not written. Values are from memory and typical of the class unless the notes say otherwise.
"""


def page(stock: Stock) -> str:
    """Return the page of an edition, in Markdown."""
    parts = [INTRO.format(edition=stock.edition), *_servos(stock)]
    for name in TABLES:
        table: Mapping[str, Record] = getattr(stock, name)
        parts.extend(("", f"## {name.capitalize()}", "", *_table(table, stock)))
    parts.extend(
        ("", "## Ampacity", "", "Amperes that a copper wire bears, by its number. Local electrical codes win.", "")
    )
    parts.extend(("| awg | single, in free air | among others, or long |", "|---|---|---|"))
    parts.extend(f"| {r.awg} | {show(r.chassis, 'A')} | {show(r.bundled, 'A')} |" for r in stock.ampacity.values())
    return "\n".join(parts) + "\n"


def _servos(stock: Stock) -> Iterator[str]:
    yield "## Servos"
    yield ""
    yield "Stall torque is the advertised one; `derate` takes it to the real one."
    yield ""
    yield "| name | mass | body | volts | stall torque | s/60deg | stall current | derate | gears, noise | about |"
    yield "|---|---|---|---|---|---|---|---|---|---|"
    for name, servo in stock.servos.items():
        body = " x ".join(number_text(side * 1e3) for side in servo.body) + " mm"
        for place, point in enumerate(servo.points):
            first = (name, show(servo.mass, "kg"), body) if place == 0 else ("", "", "")
            last = (
                (show(servo.derate, "%"), f"{servo.gears}, {servo.noise}", servo.about or "")
                if place == 0
                else ("",) * 3
            )
            row = (
                show(point.at, "V"),
                show(point.stall, "N*m"),
                number_text(_sixty(point.free)),
                show(point.stall_current, "A"),
            )
            yield "| " + " | ".join((*first, *row, *last)) + " |"
    yield ""
    yield "What else each has:"
    yield ""
    fields = [
        name
        for name in ServoClass.model_fields
        if name not in ("points", "measured", "body", "mass", "derate", "price")
    ]
    shown = [name for name in fields if quantity(ServoClass, name) is not None]
    yield "| name | " + " | ".join(name.replace("_", " ") for name in shown) + " | price |"
    yield "|---" * (len(shown) + 2) + "|"
    for name, servo in stock.servos.items():
        cells = [_cell(stock.given.get(servo.ref(field)), getattr(servo, field)) for field in (*shown, "price")]
        yield f"| {name} | " + " | ".join(cells) + " |"
    yield ""
    yield from _notes(stock.servos, stock)


def _sixty(free: float) -> float:
    return 1.0471975511965976 / free


def _table(table: Mapping[str, Record], stock: Stock) -> Iterator[str]:
    fields = [name for name in type(next(iter(table.values()))).model_fields if name != "about"]
    yield "| name | " + " | ".join(name.replace("_", " ") for name in fields) + " | about |"
    yield "|---" * (len(fields) + 2) + "|"
    for name, record in table.items():
        cells = [_cell(stock.given.get(record.ref(field)), getattr(record, field)) for field in fields]
        yield f"| {name} | " + " | ".join(cells) + f" | {getattr(record, 'about', '')} |"
    yield ""
    yield from _notes(table, stock)


def _cell(given: Given | None, value: object) -> str:
    if given is None:
        if isinstance(value, bool):
            return "yes" if value else "no"
        if isinstance(value, tuple):
            return ", ".join(str(item) for item in value) or "one"
        return "" if value is None else str(value)
    text = given.written
    if given.spread is not None:
        width = given.spread if given.unit == "1" and not text.endswith("%") else None
        text += f" ± {number_text(width)}" if width is not None else f" ± {_width(given)}"
    return text


def _width(given: Given) -> str:
    if given.spread is None or given.value == 0:
        return "0"
    if given.unit == "1":
        return f"{number_text(given.spread * 100, 2)} points"
    return f"{number_text(given.spread / abs(given.value) * 100, 2)} %"


def _notes(table: Mapping[str, Record], stock: Stock) -> Iterator[str]:
    """Yield where the values come from that are not from memory and typical of their class, each note once."""
    common = "from memory, typical of the class"
    where: dict[str, list[str]] = {}
    for name, record in table.items():
        for ref in sorted(record.refs()):
            given = stock.given.get(ref)
            if given is not None and given.note != common:
                field = ref.split("/")[2]
                found = where.setdefault(given.note, [])
                if f"{name} {field}" not in found:
                    found.append(f"{name} {field}")
    for note, of in where.items():
        listed = ", ".join(of[:4]) + (f" and {len(of) - 4} more" if len(of) > 4 else "")
        yield f"- {listed}: {note}"


def main() -> None:
    """Renew the page."""
    target = Path(__file__).resolve().parents[3] / "docs" / "reference" / "stock.md"
    target.write_text(page(shelf(LATEST)), encoding="utf-8")


if __name__ == "__main__":
    main()
