"""Spellings of quantities: text -> SI, by a white list per kind of quantity.

A general unit parser is not used: such a parser takes ``10 Hz`` for rad/s, ``2 ma`` for milliyears, or hangs on
``9**9**9 mm``. The grammar here is small: NUMBER UNIT, then optionally ± (or +/-) NUMBER (UNIT or %). The factors are held
against an independent units library by tests/basis/test_units.py.
"""

from __future__ import annotations

import math
import re
import unicodedata
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

INCH = 0.0254
LB = 0.45359237
OZ = LB / 16.0
G0 = 9.80665
DEG = math.pi / 180.0
LONGEST = 80
"""Letters of the longest quantity that is read; no true one is longer."""


@dataclass(frozen=True, slots=True, eq=False)
class Kind:
    """One kind of quantity: its SI unit and its allowed spellings with their factors to SI."""

    name: str
    si: str
    spellings: dict[str, float]
    shown: str
    """The spelling that people are shown."""

    def factor(self, spelling: str) -> float | None:
        """Return the factor to SI of a spelling, or None where it is not allowed."""
        return self.spellings.get(_plain(spelling))


def _plain(spelling: str) -> str:
    """Take the typographic forms of a spelling to the plain one: ``N·m`` is ``N*m``, ``°C`` is ``degC``."""
    text = (
        spelling.strip().replace("·", "*").replace("⋅", "*").replace("µ", "u").replace("μ", "u").replace("°C", "degC")
    )
    text = text.replace("Ω", "ohm").replace("°", "deg").replace("²", "2").replace("³", "3")
    return re.sub(r"\s*([*/])\s*", r"\1", text)


_L = {"m": 1.0, "cm": 0.01, "mm": 1e-3, "um": 1e-6, "in": INCH, "ft": 12 * INCH}
_KG = {"kg": 1.0, "g": 1e-3, "mg": 1e-6, "lb": LB, "oz": OZ}
_T = {"s": 1.0, "ms": 1e-3, "min": 60.0, "h": 3600.0}
_TORQUE = {
    "N*m": 1.0, "Nm": 1.0, "mN*m": 1e-3, "N*mm": 1e-3, "N*cm": 1e-2,
    "kgf*cm": G0 * 1e-2, "kg*cm": G0 * 1e-2, "kgf*m": G0, "gf*cm": G0 * 1e-5, "ozf*in": OZ * G0 * INCH, "oz*in": OZ * G0 * INCH,
    "lbf*in": LB * G0 * INCH,
}  # fmt: skip
_FORCE = {"N": 1.0, "mN": 1e-3, "kN": 1e3, "kgf": G0, "gf": G0 * 1e-3, "lbf": LB * G0, "ozf": OZ * G0}

LENGTH: Final = Kind("length", "m", _L, "mm")
ANGLE: Final = Kind("angle", "rad", {"deg": DEG, "rad": 1.0, "turn": 2 * math.pi}, "deg")
MASS: Final = Kind("mass", "kg", _KG, "g")
TIME: Final = Kind("time", "s", _T, "s")
TORQUE: Final = Kind("torque", "N*m", _TORQUE, "N*m")
FORCE: Final = Kind("force", "N", _FORCE, "N")
SPEED: Final = Kind(
    "turning speed", "rad/s", {"rad/s": 1.0, "deg/s": DEG, "rpm": 2 * math.pi / 60, "s/60deg": 0.0}, "deg/s"
)
"""``s/60deg`` is how servo sheets give speed: a time, so its number is turned over (see ``parse``)."""
VOLTAGE: Final = Kind("voltage", "V", {"V": 1.0, "mV": 1e-3}, "V")
CURRENT: Final = Kind("current", "A", {"A": 1.0, "mA": 1e-3}, "A")
RESISTANCE: Final = Kind("resistance", "ohm", {"ohm": 1.0, "mohm": 1e-3}, "mohm")
CHARGE: Final = Kind("charge", "C", {"mAh": 3.6, "Ah": 3600.0, "C": 1.0}, "mAh")
POWER: Final = Kind("power", "W", {"W": 1.0, "mW": 1e-3}, "W")
FREQUENCY: Final = Kind("rate", "1/s", {"Hz": 1.0, "/s": 1.0, "1/s": 1.0, "/min": 1 / 60.0, "1/min": 1 / 60.0}, "/s")
TEMPERATURE: Final = Kind("temperature", "degC", {"degC": 1.0}, "degC")
KELVIN: Final = Kind("temperature difference", "K", {"K": 1.0}, "K")
RATIO: Final = Kind("share", "1", {"%": 0.01, "": 1.0}, "%")
NUMBER: Final = Kind("number", "1", {"": 1.0}, "")
PRESSURE: Final = Kind("pressure", "Pa", {"Pa": 1.0, "kPa": 1e3, "MPa": 1e6}, "MPa")
DENSITY: Final = Kind("density", "kg/m3", {"kg/m3": 1.0, "g/cm3": 1e3}, "g/cm3")
AREA: Final = Kind("area", "m2", {"m2": 1.0, "cm2": 1e-4, "mm2": 1e-6}, "m2")
AREAL: Final = Kind("mass per area", "kg/m2", {"kg/m2": 1.0, "g/m2": 1e-3}, "g/m2")
VOLUME: Final = Kind("volume", "m3", {"m3": 1.0, "L": 1e-3, "mL": 1e-6, "cm3": 1e-6}, "L")
ARM: Final = Kind("arm", "m/rad", {"m/rad": 1.0, "mm/rad": 1e-3, "mm/deg": 1e-3 / DEG}, "mm/rad")
STIFFNESS: Final = Kind("stiffness", "N/m", {"N/m": 1.0, "N/mm": 1e3}, "N/mm")
TWIST: Final = Kind(
    "turning stiffness", "N*m/rad", {"N*m/rad": 1.0, "N*m/deg": 1 / DEG, "mN*m/deg": 1e-3 / DEG}, "N*m/rad"
)
INERTIA: Final = Kind("inertia", "kg*m2", {"kg*m2": 1.0, "g*cm2": 1e-7, "kg*cm2": 1e-4, "g*mm2": 1e-9}, "kg*m2")
DAMPING: Final = Kind("damping", "N*m*s", {"N*m*s": 1.0, "N*m*s/rad": 1.0}, "N*m*s")
CONDUCTANCE: Final = Kind("heat flow", "W/K", {"W/K": 1.0}, "W/K")
THERMAL: Final = Kind("heat resistance", "K/W", {"K/W": 1.0}, "K/W")
HEAT_CAPACITY: Final = Kind("heat capacity", "J/K", {"J/K": 1.0}, "J/K")
MONEY: Final = Kind("money", "EUR", {"EUR": 1.0}, "EUR")
HOURS: Final = Kind("working time", "h", {"h": 1.0, "min": 1 / 60.0, "": 1.0}, "h")
"""Shop hours stay hours: nobody wants them in seconds. `hours: 600` says its unit in its name."""

KINDS: Final[tuple[Kind, ...]] = tuple(value for value in list(globals().values()) if isinstance(value, Kind))


class UnitError(ValueError):
    """A text that is not a quantity of the wanted kind; ``code`` is a fault code."""

    def __init__(self, code: str, what: str, allowed: str = "", try_: str = "") -> None:
        super().__init__(what)
        self.code, self.what, self.allowed, self.try_ = code, what, allowed, try_


@dataclass(frozen=True, slots=True)
class Parsed:
    """A quantity in SI."""

    value: float
    spread: float | None
    """95 % half-width, or None where the text gives none."""


_NUMBER = r"[+-]?(?:[0-9]{1,15}(?:\.[0-9]{0,15})?|\.[0-9]{1,15})(?:[eE][+-]?[0-9]{1,2})?"
_QUANTITY = re.compile(rf"\s*({_NUMBER})\s*(.*?)\s*(?:(?:±|\+/-)\s*({_NUMBER})\s*(.*?)\s*)?\Z", re.DOTALL)


def _spellings(kinds: tuple[Kind, ...]) -> str:
    return ", ".join(spelling or "a plain number" for kind in kinds for spelling in kind.spellings)


_SAID: Final[dict[str, str]] = {
    '"': "in", "''": "in", "inch": "in", "inches": "in", "zoll": "in", "'": "ft", "feet": "ft", "foot": "ft", "metre": "m", "meter": "m",
    "gram": "g", "grams": "g", "gr": "g", "kilo": "kg", "sec": "s", "second": "s", "seconds": "s", "msec": "ms", "minutes": "min",
    "hours": "h", "degree": "deg", "degrees": "deg", "volt": "V", "volts": "V", "amp": "A", "amps": "A", "watt": "W", "watts": "W",
    "percent": "%", "pc": "%", "celsius": "degC", "c": "degC", "euro": "EUR", "euros": "EUR", "€": "EUR", "eur": "EUR",
}  # fmt: skip
"""What people write instead of a spelling that is allowed; offered, never read: a message that is answered leaves no doubt."""
_COMMA: Final = re.compile(r"\s*([+-]?[0-9]{1,15}),([0-9]{1,15})\s*(.*?)\s*\Z", re.DOTALL)


_CLOCK: Final = re.compile(r"\s*([0-9]{1,3}):([0-5][0-9])\s*\Z")
_DASHES: Final = str.maketrans(dict.fromkeys("\u2010\u2011\u2012\u2013\u2014\u2212\ufe63\uff0d", "-"))
"""Hyphens, dashes and minus signs of typesetting."""


def _typed(text: str) -> str:
    """Return a text as a keyboard has it: a minus for typeset dashes, digits of any script and width as 0 to 9."""
    wide = unicodedata.normalize("NFKC", text.translate(_DASHES))
    return "".join(str(unicodedata.decimal(letter)) if letter.isdecimal() else letter for letter in wide)


def _bare(spelling: str) -> str:
    """Return a spelling without its marks: ``kg-cm``, ``kgf.cm`` and ``kg/cm`` of servo sheets all mean a product."""
    return "".join(letter for letter in _plain(spelling).lower() if letter.isalnum() or letter == "%")


def _suggest(kinds: tuple[Kind, ...], number: str, unit: str) -> str:
    """Return what the writer probably meant, or nothing: another unit with the same number would be another value."""
    if not unit:
        return f"{number} {kinds[0].shown}".strip()
    spellings = [spelling for kind in kinds for spelling in kind.spellings if spelling]
    said = _SAID.get(unit.strip().lower())
    if said in spellings:
        return f"{number} {said}"
    return next((f"{number} {spelling}" for spelling in spellings if _bare(spelling) == _bare(unit)), "")


def _no_number(text: str, kinds: tuple[Kind, ...], number: str = "", unit: str = "") -> UnitError:
    comma = _COMMA.match(text)
    if comma is not None:
        whole, part, unit = comma.groups()
        try_ = f"{whole}.{part} {unit}".strip()
        return UnitError("number", f"{text!r}: a decimal is written with a point here", _spellings(kinds), try_)
    clock, typed = _CLOCK.match(text), _QUANTITY.match(_typed(text))
    if clock is not None and (HOURS in kinds or TIME in kinds):
        try_ = f"{int(clock[1]) + int(clock[2]) / 60.0:.4g} {'min' if TIME in kinds else 'h'}"
    elif typed is not None and any(kind.factor(typed[2]) is not None for kind in kinds):
        try_ = _typed(text).strip()
    else:
        try_ = _suggest(kinds, number, unit) if number else ""
    return UnitError("number", f"{text!r} is not a number with a unit", _spellings(kinds), try_)


def parse(text: object, *kinds: Kind) -> tuple[Kind, Parsed]:
    """Return the kind and the SI value of a written quantity of one of some kinds.

    Raises:
        UnitError: not a number, not finite, or in a unit that none of the kinds takes.
    """
    if isinstance(text, bool):
        raise UnitError("number", f"yes or no was written where {kinds[0].name} is wanted", _spellings(kinds))
    if isinstance(text, (int, float)):
        return _plain_number(text, kinds)
    return _parse_text(str(text), kinds)


def _plain_number(number: int | float, kinds: tuple[Kind, ...]) -> tuple[Kind, Parsed]:
    try:
        value = float(number)
    except OverflowError:
        value = math.inf
    if not math.isfinite(value):
        raise UnitError("number", "not a finite number", _spellings(kinds))
    for kind in kinds:
        if "" in kind.spellings or value == 0.0:  # 0 is 0 in every unit
            return kind, Parsed(value, None)
    raise UnitError("unit", f"{number} has no unit", _spellings(kinds), f"{number:g} {kinds[0].shown}")


@lru_cache(maxsize=8192)
def _parse_text(text: str, kinds: tuple[Kind, ...]) -> tuple[Kind, Parsed]:
    if len(text) > LONGEST:
        raise UnitError("number", f"{len(text)} letters is too long for a quantity", f"at most {LONGEST} letters")
    match = _QUANTITY.match(text)
    if match is None:
        raise _no_number(text, kinds)
    number, unit, spread, spread_unit = match.groups()
    if unit and not (
        unit[0].isalpha() or unit[0] in "%°/" or unit.startswith("1/")
    ):  # 9**9 mm, 14,5 mm, 1e999 mm: no number at all
        raise _no_number(text, kinds, number, unit)
    for kind in kinds:
        factor = kind.factor(unit)
        if factor is None:
            continue
        value = _to_si(float(number), factor)
        half = None if spread is None else _half_width(kind, value, float(number), factor, spread, spread_unit or "")
        if half is not None and half < 0:
            raise UnitError("number", f"a spread of {spread} is below zero", "zero or more")
        return kind, Parsed(value, half)
    names = " or ".join(dict.fromkeys(kind.name for kind in kinds))
    found = f"{unit!r} is not a unit of {names} here" if unit else f"{number} has no unit"
    raise UnitError("unit", found, _spellings(kinds), _suggest(kinds, number, unit))


def _to_si(number: float, factor: float) -> float:
    if factor == 0.0:  # s/60deg: 0.15 s for 60 degrees
        if number <= 0:
            raise UnitError("number", "a time for 60 degrees must be above zero", "more than 0 s/60deg", "0.15 s/60deg")
        return math.pi / 3.0 / number
    return number * factor


def _half_width(kind: Kind, value: float, number: float, factor: float, spread: str, unit: str) -> float:
    width = float(spread)
    if unit == "%" and "%" not in kind.spellings:
        return abs(value) * width / 100.0
    own = factor if unit == "" else kind.factor(unit)
    if own is None:
        raise UnitError("unit", f"{unit!r} is not a unit of {kind.name} here", "%, " + _spellings((kind,)))
    if own == 0.0:  # a spread of the time is a spread of the same share of the speed, to first order
        return abs(value) * width / number
    return width * own


_SHOWN: Final[dict[str, tuple[str, float]]] = {
    "m": ("mm", 1e3), "rad": ("deg", 1 / DEG), "kg": ("g", 1e3), "rad/s": ("deg/s", 1 / DEG), "C": ("mAh", 1 / 3.6),
    "Pa": ("MPa", 1e-6), "m/rad": ("mm/rad", 1e3), "m3": ("L", 1e3), "ohm": ("mohm", 1e3), "1": ("", 1.0),
    "degC": ("°C", 1.0), "m/s": ("mm/s", 1e3), "kg*m2": ("g·m²", 1e3), "m2": ("m²", 1.0), "N*m": ("N·m", 1.0),
    "N/m": ("N/mm", 1e-3), "m/s**2": ("m/s²", 1.0), "rad/s**2": ("rad/s²", 1.0), "%": ("%", 100.0), "N*m/rad": ("N·m/rad", 1.0),
}  # fmt: skip


def show(value: float, unit: str, digits: int = 3) -> str:
    """Return an SI value as people are shown it: ``0.38 rad`` as ``21.8 deg``, ``2.2 kg`` as ``2.20 kg``.

    ``digits`` is the number of significant digits; trailing zeros after the point are dropped.
    """
    spelling, factor = _SHOWN.get(unit, (unit, 1.0))
    number = value * factor
    if unit == "s" and abs(value) < 1.0:
        spelling, number = "ms", value * 1e3
    elif unit == "s" and abs(value) >= 14400.0:
        spelling, number = "h", value / 3600.0
    elif unit == "s" and abs(value) >= 120.0:
        spelling, number = "min", value / 60.0
    elif unit == "kg" and abs(value) >= 1.0:
        spelling, number = "kg", value
    elif unit == "m" and abs(value) >= 1.0:
        spelling, number = "m", value
    text = number_text(number, digits)
    if spelling == "%":
        return f"{text} %"
    return f"{text} {spelling}".strip()


def number_text(number: float, digits: int = 3) -> str:
    """Return a number to some significant digits, without exponent in the range that people read.

    >>> number_text(0.05431), number_text(1234.5), number_text(20.0)
    ('0.0543', '1234', '20')
    """
    if not math.isfinite(number):
        return str(number)
    if abs(number) < 1e-9:  # the rounding of an angle that is zero, which nobody wants to read
        return "0"
    places = digits - 1 - math.floor(math.log10(abs(number)))
    rounded = round(number, places)
    if abs(rounded) >= 1e7 or abs(rounded) < 1e-5:
        return f"{number:.{digits - 1}e}"
    text = f"{rounded:.{max(places, 0)}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
