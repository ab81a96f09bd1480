"""The stock: every value has a source and a spread, and the values agree with what they say they come from."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from marotte.basis.faults import BadInput
from marotte.basis.given import SOURCES
from marotte.basis.units import DEG, G0, INCH, LB
from marotte.creature.shelf import EDITIONS, LATEST, Stock, shelf
from marotte.creature.stock_page import page


@pytest.fixture(scope="module", params=EDITIONS)
def stock(request: pytest.FixtureRequest) -> Stock:
    return shelf(request.param)


def test_every_value_says_where_it_comes_from(stock: Stock) -> None:
    assert len(stock.given) > 400
    for ref, given in stock.given.items():
        assert ref.startswith("stock:")
        assert given.source in SOURCES
        assert given.note, f"{ref} does not say where it comes from"
        assert given.half_width >= 0
        assert given.place.line > 1


def test_refs_lead_to_values_of_the_records(stock: Stock) -> None:
    assert stock.given[stock.servos["micro"].ref("mass")].value == stock.servos["micro"].mass
    standard = stock.servos["standard"]
    assert stock.given[standard.points[1].ref("stall")].value == standard.points[1].stall
    skin = stock.skins["silicone_00_50"]
    assert stock.given[skin.ref("modulus")].value == skin.modulus
    for table in (stock.servos, stock.skins, stock.wires, stock.controls):
        for record in table.values():
            for ref in record.refs():
                if "/axes" not in ref and "/sites" not in ref:
                    assert ref in stock.given or ref.rsplit("/", 1)[1] in _WORDS, ref


_WORDS = {
    "about", "gears", "noise", "spline", "body", "points", "measured", "solid", "kind", "centres", "axes", "sites",
}  # fmt: skip


def test_servo_classes_are_split_and_weigh_what_the_trade_expects(stock: Stock) -> None:
    """Masses: common practice, no source."""
    grams = {name: round(servo.mass * 1000) for name, servo in stock.servos.items()}
    assert grams["micro"] == grams["micro_fast"] == 12
    assert grams["mini"] == grams["mini_fast"] == 25
    assert (grams["standard"], grams["standard_fast"], grams["standard_strong"], grams["quarter_scale"]) == (
        58,
        58,
        65,
        160,
    )
    for name, servo in stock.servos.items():
        if name != "standard_measured":
            assert [point.at for point in servo.points] == [6.0, 7.4]


def test_a_faster_row_costs_more_current_and_a_higher_voltage_gives_more(stock: Stock) -> None:
    for servo in stock.servos.values():
        for low, high in zip(servo.points, servo.points[1:], strict=False):
            assert high.stall > low.stall
            assert high.free > low.free
            assert high.stall_current > low.stall_current


def test_stall_currents_keep_the_energy_balance(stock: Stock) -> None:
    """What a motor takes when stalled is more than the torque-speed product that it promises: no efficiency above 100 %."""
    for name, servo in stock.servos.items():
        for point in servo.points:
            share = point.stall * point.free / (point.at * point.stall_current)
            assert 0.3 < share < 0.7, name


def test_skin_moduli_are_the_recalled_stress_at_100_percent_over_1_75() -> None:
    """Nominal uniaxial stress of a neo-Hookean solid at stretch 2 is mu (2 - 1/4). Stresses from memory."""
    stock = shelf(LATEST)
    for name, stress in {
        "silicone_00_30": 0.07e6,
        "silicone_00_50": 0.08e6,
        "silicone_10a": 0.15e6,
        "silicone_20a": 0.34e6,
    }.items():
        assert stock.skins[name].modulus * (2 - 2**-2) == pytest.approx(stress, rel=0.005)


@pytest.mark.parametrize(
    ("name", "inches", "pounds"), [("rope_0p8", 1 / 32, 110), ("rope_1p2", 3 / 64, 270), ("rope_1p6", 1 / 16, 480)]
)
def test_rope_strengths_are_those_of_the_aviation_table(name: str, inches: float, pounds: float) -> None:
    """FAA AC 43.13-1B, table 7-3, stainless."""
    wire = shelf(LATEST).wires[name]
    assert wire.thickness == pytest.approx(inches * INCH, rel=0.01)
    assert wire.breaks_at == pytest.approx(pounds * LB * G0, rel=0.002)


def test_spring_wire_stretches_as_steel_does() -> None:
    """E of spring steel 200 GPa, from memory: force per strain is E times the section."""
    for wire in shelf(LATEST).wires.values():
        if wire.solid:
            assert wire.pull == pytest.approx(200e9 * math.pi / 4 * wire.thickness**2, rel=0.01)


def test_bundled_ampacity_is_700_circular_mils_an_ampere() -> None:
    """Diameter by ASTM B258: 0.127 mm * 92^((36 - n)/39); a circular mil is the square of a thousandth of an inch."""
    for awg, row in shelf(LATEST).ampacity.items():
        mils = 0.127 * 92 ** ((36 - awg) / 39) / 0.0254
        assert row.bundled == pytest.approx(mils**2 / 700, rel=0.005)
        assert row.chassis > row.bundled


def test_measured_servo_is_the_published_one() -> None:
    """Pfrommer 2015, our fit of its raw files: speed = 391.98 - 249.9 tau [deg/s, N*m] within 4 % of full speed."""
    servo = shelf(LATEST).servos["standard_measured"]
    assert len(servo.measured) == 9
    for row in servo.measured[:-2]:
        assert row.speed / DEG == pytest.approx(391.98 - 249.9 * row.torque, abs=0.04 * 392)
    assert all(
        stock_ref.source == "measured"
        for ref, stock_ref in shelf(LATEST).given.items()
        if "/standard_measured/measured/" in ref
    )


def test_a_class_can_be_laid_under_a_servo_of_the_file() -> None:
    raw = shelf(LATEST).raw_servos["mini_fast"]
    assert raw is not None
    assert raw["mass"]["value"] == "25 g"
    assert raw["mass"].origin.ref == "stock:servos/mini_fast/mass"
    assert raw["gears"] == "metal"
    assert "huge" not in shelf(LATEST).raw_servos


def test_an_edition_that_is_not_there_is_refused_with_what_to_write() -> None:
    with pytest.raises(BadInput, match=LATEST) as caught:
        shelf("2031-2")
    assert "newest that this release knows" in str(caught.value)
    assert caught.value.faults[0].path == "/stock"


def test_the_page_of_the_stock_is_that_of_the_data() -> None:
    written = (Path(__file__).resolve().parents[2] / "docs" / "reference" / "stock.md").read_text(encoding="utf-8")
    assert written == page(shelf(LATEST)), "run: .venv/bin/python -m marotte.creature.stock_page"


def test_every_property_of_a_servo_is_in_the_data_and_not_left_to_a_default() -> None:
    for servo in shelf(LATEST).servos.values():
        for name in type(servo).model_fields:
            if name not in ("like", "price", "measured"):
                assert not servo.ref(name).startswith("default:"), f"{servo.ref('mass')}: {name}"
