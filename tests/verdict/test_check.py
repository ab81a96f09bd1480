"""The whole: a creature in, a verdict out; the JSON contract; every working of every example."""

from __future__ import annotations

import json
import re
from collections.abc import Sequence
from pathlib import Path

import pint
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator
from tests.verdict.conftest import SMALL, small_folder

from marotte.basis.contracts.common import Quantity
from marotte.basis.contracts.finding import GRADES, Step
from marotte.basis.contracts.script import Window
from marotte.basis.faults import BadInput, BadRequest
from marotte.creature.load import load
from marotte.drive.islands import Island
from marotte.drive.windows import Slice, WindowResult
from marotte.verdict.cells import Cache
from marotte.verdict.check import Examined, check, examine, explain, overall, to_json
from marotte.verdict.formula import evaluate
from marotte.verdict.publish import findings_page, json_schema
from marotte.verdict.requirements import REGISTRY

DOCS = Path(__file__).parents[2] / "docs"
RENEW = "run: .venv/bin/python -m marotte.verdict.publish"
UNITS = pint.UnitRegistry()
SHARED = Cache()
UNITS.define("EUR = [money]")


def test_the_published_schema_is_that_of_the_code() -> None:
    assert json.loads((DOCS / "reference" / "verdict.schema.json").read_text()) == json_schema(), RENEW


def test_the_page_of_findings_is_that_of_the_code() -> None:
    assert (DOCS / "reference" / "findings.md").read_text() == findings_page(), RENEW


def test_every_requirement_has_a_method_page_and_says_where_its_thresholds_come_from() -> None:
    for requirement in REGISTRY:
        assert (DOCS / "methods" / f"{requirement.method}.md").exists(), requirement.method
        assert len(requirement.thresholds.why) > 20
        assert requirement.thresholds.performs >= requirement.thresholds.only_just


def test_what_check_prints_is_as_the_schema_says(examined: Examined) -> None:
    printed = json.loads(json.dumps(to_json(examined.verdict, examined.workings, examined.seconds), allow_nan=False))
    Draft202012Validator(json_schema()).validate(printed)
    assert sum(printed["counts"].values()) == len(printed["findings"])
    assert set(printed["counts"]) == set(GRADES)


def test_finding_ids_are_unique_and_have_a_sentence(examined: Examined) -> None:
    ids = [item.id for item in examined.verdict.findings]
    assert len(set(ids)) == len(ids)
    for item in examined.verdict.findings:
        assert item.sentence.endswith(".")
        assert "nan" not in item.sentence.lower().split()
        assert item.key


def test_every_working_evaluates_and_ends_on_its_finding(examined: Examined) -> None:
    """Each step anew from its formula and the steps before it; the last is what the finding has, to 1e-6."""
    for item in examined.verdict.findings:
        working = examined.workings[item.id]
        if not isinstance(item.has, Quantity) or item.grade == "not_applicable":
            continue
        assert working.steps, item.id
        values: dict[str, float] = {}
        for step in working.steps:
            assert step.symbol not in values, (item.id, step.symbol)
            if step.kind == "worked":
                assert step.result == pytest.approx(evaluate(step.formula, values), rel=1e-12, abs=1e-15)
            values[step.symbol] = step.result
        assert working.steps[-1].result == pytest.approx(item.has.value, rel=1e-6, abs=1e-12), item.id


def dimensioned(step: Step, units: dict[str, str]) -> str:
    """Return what is wrong with the dimensions of a worked step, or nothing."""
    names = {
        name: UNITS.Quantity(value or 1.0, units[name] if units[name] != "1" else "dimensionless")
        for name, value in step.values.items()
    }
    scope = {
        **names, "pi": 3.141592653589793, "sqrt": lambda x: x**0.5, "abs": abs, "min": lambda *xs: _same(xs), "max": lambda *xs: _same(xs),
        "sin": _plain_angle, "cos": _plain_angle, "tan": _plain_angle, "acos": _angle, "asin": _angle, "atan2": lambda a, b: _angle((a + b) / b),
        "exp": _plain_angle, "log": _plain_angle,
    }  # fmt: skip
    try:
        out = eval(step.formula, {"__builtins__": {}}, scope)  # a formula that the evaluator has already taken
        wanted = UNITS.Quantity(1.0, step.unit if step.unit != "1" else "dimensionless")
        UNITS.Quantity(out).to(wanted.units) if not hasattr(out, "to") else out.to(wanted.units)
    except pint.DimensionalityError as error:
        return f"{step.symbol} = {step.formula}: {error}"
    return ""


def _same(xs: tuple[object, ...]) -> object:
    total = None
    for x in xs:
        if isinstance(x, (int, float)) and x == 0:
            continue
        total = x if total is None else total + 0 * x  # type: ignore[operator]
    return total


def _plain_angle(x: object) -> float:
    UNITS.Quantity(x).to("dimensionless") if not hasattr(x, "to") else x.to("dimensionless")
    return 0.5


def _angle(x: object) -> object:
    _plain_angle(x)
    return UNITS.Quantity(0.5, "rad")


def test_no_engine_disagrees_with_its_working(examined: Examined) -> None:
    assert not [item.sentence for item in examined.verdict.findings if "disagree" in item.sentence]


def test_every_working_has_consistent_dimensions(examined: Examined) -> None:
    """Checked with an independent units library; a radian counts as a plain number there, as it does in SI."""
    wrong: list[str] = []
    for name, working in examined.workings.items():
        units = {step.symbol: re.sub(r"([a-z])(\d)", r"\1**\2", step.unit) for step in working.steps}
        wrong += [
            f"{name}: {fault}"
            for step in working.steps
            if step.kind == "worked" and (fault := dimensioned(step, units))
        ]
    assert not wrong, wrong[:5]


def test_a_dimension_that_is_wrong_is_seen() -> None:
    step = Step(
        symbol="x", meaning="", kind="worked", unit="N*m", result=1.0, formula="m*g", values={"m": 1.0, "g": 9.8}
    )
    assert dimensioned(step, {"m": "kg", "g": "m/s**2"})
    assert not dimensioned(step, {"m": "kg*m", "g": "m/s**2"})


def test_every_given_step_is_in_the_file_the_stock_or_a_default_of_ours(examined: Examined) -> None:
    known = examined.results.creature.given
    stock = examined.results.creature.stock_tables.given
    for name, working in examined.workings.items():
        for step in working.steps:
            if step.kind == "given" and not step.source.startswith("default:"):
                assert step.source in known or step.source in stock, (name, step)


def test_the_same_creature_gives_the_same_verdict_to_the_bit(tmp_path: Path) -> None:
    folder = small_folder(tmp_path / "a")
    first = check(load(folder))
    cache = Cache()
    check(load(folder), cache)
    again = check(load(folder), cache)
    assert first == again
    assert first.key == again.key


def test_edits_and_their_undoing_leave_the_verdict_of_a_fresh_start(tmp_path: Path) -> None:
    cache = Cache()
    keys = {}
    texts = [
        SMALL,
        SMALL.replace("arm_at_neutral: 90 deg", "arm_at_neutral: 75 deg"),
        SMALL.replace("mass: 160 g", "mass: 110 g"),
        SMALL.replace("thickness: 4 mm", "thickness: 2 mm"),
        SMALL.replace("quietly: wary", "softly: wary"),
    ]
    for k in (0, 1, 2, 1, 0, 3, 4, 2, 0):
        keys.setdefault(k, set()).add(check(load(small_folder(tmp_path / "x", texts[k])), cache).key)
    assert all(len(found) == 1 for found in keys.values())
    assert len(set.union(*keys.values())) == len(texts)
    for k, text in enumerate(texts):
        assert check(load(small_folder(tmp_path / "fresh", text))).key in keys[k]


def test_an_edit_of_a_limit_runs_no_drive(tmp_path: Path) -> None:
    cache = Cache()
    check(load(small_folder(tmp_path / "a")), cache)
    before = dict(cache.misses)
    check(load(small_folder(tmp_path / "b", SMALL.replace("head_mass: 1.2 kg", "head_mass: 1.1 kg"))), cache)
    ran = {name: count - before.get(name, 0) for name, count in cache.misses.items()}
    assert ran["drive"] == 0
    assert ran["mech"] == 0
    assert ran["script"] == 0
    assert ran["verdict"] <= 3  # the masses, and the minutes, whose need stands in the same block


def test_a_jaw_sized_with_its_skin_off_fails_with_it_on_and_says_how_far_it_gapes(small: Examined) -> None:
    jaw = next(item for item in small.verdict.findings if item.id == "jaw.drive")
    assert jaw.grade == "fails"
    assert "gapes to" in jaw.sentence
    assert "with the skin on" in jaw.sentence
    assert "the jaw gapes to" in small.verdict.summary


def test_without_its_skin_the_same_jaw_has_the_torque(tmp_path: Path) -> None:
    text = SMALL[: SMALL.index("skins:")] + SMALL[SMALL.index("servos:") :]
    jaw = next(item for item in check(load(small_folder(tmp_path / "bare", text))).findings if item.id == "jaw.drive")
    assert jaw.margin is not None
    assert jaw.margin > 0.0
    assert "skin" not in jaw.sentence


def test_the_standing_line_counts_what_was_not_measured(small: Examined) -> None:
    inputs = small.verdict.inputs
    assert small.verdict.summary.endswith(
        f"{inputs['typical'] + inputs['guess']} of {sum(inputs.values())} inputs are typical or guessed."
    )
    assert small.verdict.summary.startswith("Does not perform yet: ")


def test_one_mechanism_that_cannot_close_leaves_every_other_reported(tmp_path: Path) -> None:
    text = SMALL.replace("rod: 62 mm, arm: 22 mm", "rod: 12 mm, arm: 22 mm")
    verdict = check(load(small_folder(tmp_path / "jam", text)))
    by_id = {item.id: item for item in verdict.findings}
    assert by_id["jaw.mech"].grade == "fails"
    assert by_id["jaw.drive"].grade == "unknown"
    assert by_id["lid_upper_left.drive"].grade not in ("unknown", "not_applicable")


def test_a_creature_without_a_script_is_judged_on_what_can_be_said(tmp_path: Path) -> None:
    text = SMALL.replace("  script: script.fountain\n", "")
    verdict = check(load(small_folder(tmp_path / "mute", text)))
    by_id = {item.id: item for item in verdict.findings}
    assert by_id["jaw.drive"].grade == "unknown"
    assert "script" in by_id["speech.hits"].sentence
    assert by_id["jaw.hold"].grade != "unknown"
    assert verdict.counts["unknown"] > 3


def test_nobody_says_that_a_creature_performs_of_which_nothing_is_asked(tmp_path: Path) -> None:
    easy = SMALL[: SMALL.index("skins:")] + SMALL[SMALL.index("servos:") :]
    before = check(load(small_folder(tmp_path / "asked", easy)))
    after = check(load(small_folder(tmp_path / "unasked", easy.replace("cue: MOSS", "cue: MOS"))))
    assert before.grade != "unknown"
    if after.counts["fails"] or after.counts["undecided"]:
        assert after.grade in ("fails", "undecided")
    else:
        assert after.grade == "unknown"
        assert after.summary.startswith("Cannot say")
    assert "nobody in the script has the cue 'MOS'" in after.summary
    assert overall({**dict.fromkeys(GRADES, 0), "performs": 9, "unknown": 3}, asked=False) == "unknown"
    assert overall({**dict.fromkeys(GRADES, 0), "performs": 9, "unknown": 3}, asked=True) == "performs"
    assert overall({**dict.fromkeys(GRADES, 0), "performs": 9, "fails": 1}, asked=False) == "fails"


def test_closures_are_not_asked_of_a_mouth_that_is_not_played_by_lips(small: Examined) -> None:
    closures = next(item for item in small.verdict.findings if item.id == "speech.closures")
    assert closures.grade == "not_applicable"


def test_explain_gives_a_finding_with_its_working_and_offers_the_nearest_name(tmp_path: Path) -> None:
    creature = load(small_folder(tmp_path / "why"))
    finding, working = explain(creature, "jaw.drive")
    assert finding.id == "jaw.drive"
    assert working.steps[-1].symbol == "tau_has"
    with pytest.raises(BadRequest, match=r"jaw\.drive"):
        explain(creature, "jaw.driv")


def test_an_undecided_finding_names_the_input_and_where_to_write_the_number(examined: Examined) -> None:
    for item in examined.verdict.findings:
        assert bool(item.settle) == (item.grade == "undecided"), item.id
        if item.settle:
            assert item.band is not None
            assert item.band[0] <= item.margin <= item.band[1]  # type: ignore[operator]
            assert all("source: measured" in one.test for one in item.settle)


def test_cautions_are_advice_and_carry_no_grade(small: Examined) -> None:
    ids = {item.id for item in small.verdict.cautions}
    assert {"pinch.jaw", "lithium", "radio_loss", "kill_switch", "stored_energy"} <= ids
    for item in small.verdict.cautions:
        assert not any(grade in item.sentence for grade in ("fails", "performs", "safe"))


def test_threads_do_not_change_a_bit(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from marotte.verdict import graph_drive

    folder = small_folder(tmp_path / "t")
    two = examine(load(folder))
    monkeypatch.setattr(graph_drive, "THREADS", 1)
    one = examine(load(folder))
    assert one.verdict.key == two.verdict.key
    assert one.results.response.reached.values.tobytes() == two.results.response.reached.values.tobytes()  # type: ignore[union-attr]


@pytest.mark.parametrize("name", ["small", "tansy", "colm"])
def test_halving_the_step_moves_no_finding_by_more_than_a_hundredth(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of what it has, or of the whole where that is a share: a small head, and two whole creatures of 26 servos and of 12."""
    from marotte.verdict import running

    whole = running.run_windows

    def finer(island: Island, pieces: Sequence[Slice], spans: Sequence[Window]) -> tuple[WindowResult, ...]:
        return whole(island, pieces, spans, finer=2)

    folder = small_folder(tmp_path / "finer") if name == "small" else DOCS.parent / "examples" / name
    once = examine(load(folder))
    monkeypatch.setattr(running, "run_windows", finer)
    half = examine(load(folder))
    moved = 0
    for before, after in zip(once.verdict.findings, half.verdict.findings, strict=True):
        assert before.id == after.id
        if isinstance(before.has, Quantity) and isinstance(after.has, Quantity):
            assert after.has.value == pytest.approx(before.has.value, rel=0.01, abs=1e-9), before.id
            moved += before.has.value != after.has.value
        assert after.grade == before.grade, before.id
    assert moved > 5  # or nothing was halved


FACTORS = st.sampled_from([0, 0.01, 0.3, 0.7, 1.5, 3, 10, -1])
NUMBERS = [*re.finditer(r"(?<![\w.])(-?\d+(?:\.\d+)?) (?:mm|deg|g|N\*m|V|A|mAh|ms|g\*cm2)\b", SMALL)]


@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    places=st.lists(st.integers(0, len(NUMBERS) - 1), min_size=1, max_size=4, unique=True),
    factor=FACTORS,
)
def test_any_creature_that_loads_gets_a_verdict_without_a_disagreement(
    tmp_path: Path, places: list[int], factor: float
) -> None:
    """Numbers of the small creature multiplied at random: either every fault has a place, or everything is reported."""
    text = SMALL
    for place in sorted(places, reverse=True):
        found = NUMBERS[place]
        text = f"{text[: found.start(1)]}{float(found.group(1)) * factor:g}{text[found.end(1) :]}"
    try:
        creature = load(small_folder(tmp_path / "mutant", text))
    except BadInput as error:
        assert all(fault.place is not None for fault in error.faults)
        return
    done = examine(creature, SHARED)
    json.dumps(to_json(done.verdict, done.workings, done.seconds), allow_nan=False)
    assert not [item.sentence for item in done.verdict.findings if "disagree" in item.sentence]
