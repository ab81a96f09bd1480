"""Spellings and factors, held against an independent units library (Pint) where it has the unit."""

from __future__ import annotations

import math

import pint
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from marotte.basis import units
from marotte.basis.units import ANGLE, KINDS, LENGTH, NUMBER, RATIO, SPEED, TIME, TORQUE, Kind, UnitError, parse, show

REGISTRY = pint.UnitRegistry()
# how Pint spells what the trade spells otherwise; None: Pint has no such unit, checked by hand below
PINT = {
    "%": None, "": None, "s/60deg": None, "EUR": None, "degC": None, "N*mm": "N*mm", "Nm": "N*m", "kg*cm": "kgf*cm",
    "gf*cm": "gram_force*cm", "gf": "gram_force", "ozf": "ounce_force", "ozf*in": "ounce_force*inch", "oz*in": "ounce_force*inch",
    "lbf*in": "pound_force*inch", "lbf": "pound_force", "in": "inch", "ft": "foot", "lb": "pound", "oz": "ounce",
    "rpm": "revolution/minute", "deg/s": "degree/second", "deg": "degree", "turn": "revolution", "mohm": "milliohm",
    "mAh": "milliampere*hour", "Ah": "ampere*hour", "C": "coulomb", "/s": "1/second", "1/s": "1/second", "/min": "1/minute",
    "1/min": "1/minute", "Hz": "1/second", "mm/deg": "millimeter/degree", "mN*m/deg": "millinewton*meter/degree",
    "N*m/deg": "newton*meter/degree", "cm3": "centimeter**3", "m3": "meter**3", "m2": "meter**2", "cm2": "centimeter**2",
    "mm2": "millimeter**2", "kg/m3": "kg/m**3", "g/cm3": "g/cm**3", "kg/m2": "kg/m**2", "g/m2": "g/m**2", "kg*m2": "kg*m**2",
    "g*cm2": "g*cm**2", "kg*cm2": "kg*cm**2", "g*mm2": "g*mm**2", "min": "minute", "h": "hour", "um": "micrometer", "L": "liter",
    "mL": "milliliter", "K": "kelvin", "kgf": "kilogram_force", "kgf*cm": "kgf*cm", "kgf*m": "kgf*m",
}  # fmt: skip
SI = {
    "C": "coulomb",
    "1/s": "1/second",
    "m3": "m**3",
    "m2": "m**2",
    "kg/m3": "kg/m**3",
    "kg/m2": "kg/m**2",
    "kg*m2": "kg*m**2",
    "h": "hour",
}
CASES = [(kind, spelling) for kind in KINDS for spelling in kind.spellings if PINT.get(spelling, spelling) is not None]


@pytest.mark.parametrize(("kind", "spelling"), CASES, ids=[f"{kind.name}: {spelling}" for kind, spelling in CASES])
def test_factor_to_si_agrees_with_an_independent_units_library(kind: Kind, spelling: str) -> None:
    theirs = REGISTRY.Quantity(1.0, PINT.get(spelling, spelling)).to(SI.get(kind.si, kind.si)).magnitude
    assert kind.spellings[spelling] == pytest.approx(theirs, rel=1e-12)


def test_ten_kgf_cm_is_0_980665_newton_metre() -> None:
    # facts S7-27: arithmetic on standard gravity, 138.87 ozf in
    assert parse("10 kgf*cm", TORQUE)[1].value == pytest.approx(0.980665, rel=1e-12)
    assert parse("138.87 ozf*in", TORQUE)[1].value == pytest.approx(0.980665, rel=1e-4)


def test_servo_speed_is_a_time_for_sixty_degrees() -> None:
    # 0.15 s / 60 deg = 400 deg/s = 6.9813 rad/s (arithmetic)
    assert parse("0.15 s/60deg", SPEED)[1].value == pytest.approx(math.radians(400))


@pytest.mark.parametrize(
    ("text", "value", "spread"),
    [
        ("14 mm", 0.014, None),
        ("14mm", 0.014, None),
        ("14 mm ± 0.5 mm", 0.014, 0.0005),
        ("14 mm +/- 0.5", 0.014, 0.0005),
        ("14 mm ± 3 %", 0.014, 0.00042),
        ("-2.5e1 mm", -0.025, None),
        ("1 in", 0.0254, None),
    ],
)
def test_written_lengths_are_read(text: str, value: float, spread: float | None) -> None:
    kind, parsed = parse(text, LENGTH)
    assert kind is LENGTH
    assert parsed.value == pytest.approx(value)
    assert parsed.spread == (None if spread is None else pytest.approx(spread))


@pytest.mark.parametrize(
    "text",
    [
        "9**9**9 mm",
        "14",
        "mm",
        "14 furlong",
        "nan mm",
        "inf mm",
        "1e999 mm",
        "14 mm mm",
        "14 mm ± ",
        "",
        "x" * 5000,
        "14 mm; rm -rf",
        "٣ mm",
    ],
)
def test_what_is_not_a_length_is_refused_at_once(text: str) -> None:
    with pytest.raises(UnitError):
        parse(text, LENGTH)


def test_a_wrong_unit_says_what_is_allowed_and_what_was_probably_meant() -> None:
    with pytest.raises(UnitError) as caught:
        parse("14 MM", LENGTH)
    assert "mm" in caught.value.allowed
    assert caught.value.try_ == "14 mm"


@pytest.mark.parametrize(
    ("text", "kind", "try_"),
    [
        ("11 kg-cm", TORQUE, "11 kg*cm"), ("11 kgf.cm", TORQUE, "11 kgf*cm"), ("11 kg/cm", TORQUE, "11 kg*cm"),
        ("153 oz-in", TORQUE, "153 oz*in"), ("1.1 N-m", TORQUE, "1.1 N*m"), ('0.55"', LENGTH, "0.55 in"), ("0.55 inches", LENGTH, "0.55 in"),
        ("20 degrees", ANGLE, "20 deg"), ("14,5 mm", LENGTH, "14.5 mm"), ("-14,5mm", LENGTH, "-14.5 mm"),
        ("\u22125 deg", ANGLE, "-5 deg"), ("\u20135 deg", ANGLE, "-5 deg"), ("\uff11\uff14 mm", LENGTH, "14 mm"),
        ("\u0661\u0664 mm", LENGTH, "14 mm"),
        ("25:30", TIME, "25.5 min"), ("2:15", units.HOURS, "2.25 h"),
    ],
)  # fmt: skip
def test_what_sheets_and_keyboards_write_is_offered_as_the_same_quantity(text: str, kind: Kind, try_: str) -> None:
    with pytest.raises(UnitError) as caught:
        parse(text, kind)
    assert caught.value.try_ == try_
    parse(caught.value.try_, kind)


def test_a_unit_of_something_else_is_never_offered_as_another_value() -> None:
    # 0.1 stone is not 0.1 N*m: an offer that keeps the number and changes the unit would be taken
    for text, kind in (
        ("14 deg", LENGTH),
        ("0.1 stone", TORQUE),
        ("5 g", ANGLE),
        ("\u22125 g", ANGLE),
        ("25:30", LENGTH),
    ):
        with pytest.raises(UnitError) as caught:
            parse(text, kind)
        assert caught.value.try_ == ""


def test_look_alike_units_do_not_slip_through() -> None:
    # 12 M is not metres, 2 ma not milliampere, 10 Hz not rad/s: what a general unit parser gets wrong
    for text, kind in (
        ("12 M", LENGTH),
        ("2 ma", units.CURRENT),
        ("10 Hz", SPEED),
        ("3 Nm", units.FORCE),
        ("5 g", units.FORCE),
    ):
        with pytest.raises(UnitError):
            parse(text, kind)


def test_zero_needs_no_unit_and_other_plain_numbers_do() -> None:
    assert parse(0, ANGLE)[1].value == 0.0
    with pytest.raises(UnitError):
        parse(3, ANGLE)
    assert parse(3, NUMBER)[1].value == 3.0


def test_a_percent_is_a_hundredth_and_its_spread_is_in_percent_of_the_whole() -> None:
    assert parse("40 %", RATIO)[1].value == pytest.approx(0.4)
    assert parse("40 % ± 5 %", RATIO)[1].spread == pytest.approx(0.05)


@settings(deadline=None, max_examples=300)
@given(
    st.floats(-1e6, 1e6, allow_nan=False).filter(lambda x: x == 0 or abs(x) > 1e-9),
    st.sampled_from([k for k in KINDS if k is not SPEED]),
    st.data(),
)
def test_any_number_in_any_spelling_reads_back_to_the_same_si_value(
    number: float, kind: Kind, data: st.DataObject
) -> None:
    spelling = data.draw(st.sampled_from(sorted(kind.spellings)))
    text = f"{number:.9g} {spelling}"
    _, parsed = parse(text, kind)
    assert parsed.value == pytest.approx(float(f"{number:.9g}") * kind.spellings[spelling], rel=1e-12, abs=0.0)


@settings(deadline=None, max_examples=300)
@given(st.text(max_size=90), st.sampled_from(KINDS))
def test_no_text_brings_the_reader_down(text: str, kind: Kind) -> None:
    try:
        _, parsed = parse(text, kind)
    except UnitError as error:
        assert error.what
    else:
        assert math.isfinite(parsed.value)


@pytest.mark.parametrize(
    ("value", "unit", "shown"),
    [
        (0.0140, "m", "14 mm"), (1.93, "m", "1.93 m"), (0.3839724, "rad", "22 deg"), (0.0654, "kg", "65.4 g"), (2.2, "kg", "2.2 kg"),
        (0.83, "N*m", "0.83 N·m"), (0.042, "s", "42 ms"), (1.5, "s", "1.5 s"), (600.0, "s", "10 min"), (0.0, "m", "0 mm"),
        (7920.0, "C", "2200 mAh"), (1234567.0, "N", "1230000 N"),
    ],
)  # fmt: skip
def test_values_are_shown_as_people_say_them(value: float, unit: str, shown: str) -> None:
    assert show(value, unit) == shown
