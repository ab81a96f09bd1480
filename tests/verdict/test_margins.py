"""Margin rules, bands, undecided."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from marotte.basis.given import Given, Place
from marotte.creature.schema.functions import FunctionLoad
from marotte.verdict.margins import Rule, Thresholds, spread, undecided
from marotte.verdict.workings import Writer

PLACE = Place(file="creature.yaml", line=1, column=1)
POSITIVE = st.floats(1e-3, 1e3)


def ledger_of(load: FunctionLoad, **fields: tuple[str, float | None]) -> dict[str, Given]:
    out = {}
    for name, (source, width) in fields.items():
        ref = load.ref(name)
        out[ref] = Given(
            value=getattr(load, name),
            unit="kg",
            written="x",
            source=source,
            spread=width,
            place=PLACE,
            ref=ref,  # type: ignore[arg-type]
        )
    return out


def test_the_rules_are_those_of_the_reference_page() -> None:
    assert Rule("at_least").margin(3.0, 2.0) == pytest.approx(0.5)
    assert Rule("at_most").margin(1.5, 2.0) == pytest.approx(0.25)
    assert Rule("share").margin(0.98, 0.95) == pytest.approx(0.6)
    assert Rule("share").margin(1.0, 0.95) == 1.0
    assert Rule("yes_no").margin(0.0, 1.0) is None
    assert Rule("at_most", scale=0.001).margin(0.0005, 0.0) == pytest.approx(-0.5)


@given(has=POSITIVE, needed=POSITIVE, unit=st.floats(1e-3, 1e3))
def test_a_margin_does_not_depend_on_the_unit(has: float, needed: float, unit: float) -> None:
    for kind in ("at_least", "at_most"):
        rule = Rule(kind)  # type: ignore[arg-type]
        assert rule.margin(has * unit, needed * unit) == pytest.approx(rule.margin(has, needed), rel=1e-9, abs=1e-9)


@given(needed=POSITIVE, a=POSITIVE, b=POSITIVE)
def test_more_is_never_worse_where_at_least_is_asked(needed: float, a: float, b: float) -> None:
    rule = Rule("at_least")
    low, high = sorted((a, b))
    assert rule.margin(low, needed) <= rule.margin(high, needed)  # type: ignore[operator]


def test_zero_needed_wants_a_scale() -> None:
    with pytest.raises(ValueError, match="scale"):
        Rule("at_least").margin(1.0, 0.0)


def test_grades_follow_the_thresholds() -> None:
    lines = Thresholds(1.0, 0.0, "twice the torque")
    assert [lines.grade(m) for m in (1.2, 1.0, 0.99, 0.0, -0.01)] == [
        "performs",
        "performs",
        "only_just",
        "only_just",
        "fails",
    ]


def _writer(mass: float, centre: float, source: str, width: float | None) -> tuple[Writer, dict[str, Given]]:
    load = FunctionLoad(mass=mass, friction=centre)
    ledger = ledger_of(load, mass=(source, width), friction=("measured", 0.0))
    w = Writer(ledger, "test")
    m, f = w.given(load, "mass"), w.given(load, "friction")
    w.worked("x", "a product", f"{m}*{f}", "kg")
    return w, ledger


@given(mass=st.floats(0.1, 10), width=st.floats(0.001, 0.05))
def test_a_band_of_one_input_is_its_own_spread(mass: float, width: float) -> None:
    w, ledger = _writer(mass, 2.0, "typical", width)
    found = spread(w, Rule("at_least"), mass, ledger)
    assert found is not None
    base, step = 2.0 - 1.0, 2.0 * width / mass
    assert found.band == pytest.approx((base - step, base + step))


def test_independent_spreads_add_as_squares() -> None:
    load = FunctionLoad(mass=1.0, friction=2.0)
    ledger = ledger_of(load, mass=("guess", 0.03), friction=("typical", 0.08))
    w = Writer(ledger, "test")
    w.worked("x", "a sum", f"{w.given(load, 'mass')} + {w.given(load, 'friction')}", "kg")
    found = spread(w, Rule("at_least"), 1.0, ledger)
    assert found is not None
    assert found.band[1] - 2.0 == pytest.approx(math.hypot(0.03, 0.08))
    assert max(found.doubted, key=lambda ref: max(found.doubted[ref])) == load.ref("friction")


def test_one_written_value_used_twice_errs_twice_together() -> None:
    load = FunctionLoad(mass=1.0)
    ledger = ledger_of(load, mass=("typical", 0.1))
    w = Writer(ledger, "test")
    w.worked("x", "a sum", f"{w.given(load, 'mass')} + {w.given(load, 'mass')}", "kg")
    found = spread(w, Rule("at_least"), 1.0, ledger)
    assert found is not None
    assert found.band[1] == pytest.approx(1.0 + 0.2)


def test_only_a_flip_between_failing_and_not_is_undecided() -> None:
    lines = Thresholds(1.0, 0.0, "twice")
    w, ledger = _writer(1.0, 1.0, "typical", 0.2)
    near_performs = spread(w, Rule("at_least"), 0.52, ledger)
    near_failing = spread(w, Rule("at_least"), 0.9, ledger)
    assert not undecided(1.0 / 0.52 - 1.0, lines, near_performs)
    assert undecided(1.0 / 0.9 - 1.0, lines, near_failing)


def test_a_failing_grade_that_the_spread_could_save_is_undecided_too() -> None:
    lines = Thresholds(1.0, 0.0, "twice")
    w, ledger = _writer(1.0, 1.0, "guess", None)
    assert undecided(1.0 / 1.2 - 1.0, lines, spread(w, Rule("at_least"), 1.2, ledger))


def test_a_measured_input_leaves_nothing_undecided() -> None:
    lines = Thresholds(1.0, 0.0, "twice")
    w, ledger = _writer(1.0, 1.0, "measured", 0.2)
    assert not undecided(1.0 / 0.9 - 1.0, lines, spread(w, Rule("at_least"), 0.9, ledger))


def test_a_default_of_ours_counts_as_typical() -> None:
    load = FunctionLoad(mass=1.0)
    w = Writer({}, "test")
    w.worked("x", "a mass", w.given(load, "mass"), "kg")
    found = spread(w, Rule("at_least"), 0.9, {})
    assert found is not None
    assert set(found.doubted) == {load.ref("mass")}
    assert found.band[1] - found.band[0] == pytest.approx(2 * 0.25 / 0.9)


def test_what_the_day_moves_widens_the_band_and_leaves_nothing_undecided() -> None:
    lines = Thresholds(1.0, 0.0, "twice")
    load = FunctionLoad(mass=1.0)
    ledger = ledger_of(load, mass=("measured", 0.0))
    w = Writer(ledger, "test")
    mass, day = w.given(load, "mass"), w.swing("k_T", "cold or warm", 0.8, 1.3, "the stock")
    w.worked("x", "a pull", f"{mass}*{day}", "kg")
    found = spread(w, Rule("at_most"), 1.1, ledger)
    assert found is not None
    assert found.band == pytest.approx((1 - 1.3 / 1.1, 1 - 0.8 / 1.1))
    assert not undecided(1 - 1.0 / 1.1, lines, found)
