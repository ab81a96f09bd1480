"""fit.*: what the verdict says about heads that fit, and heads that do not."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path

import pytest

from marotte.basis.contracts.common import Quantity
from marotte.basis.contracts.finding import Finding
from marotte.creature.load import load
from marotte.verdict.cells import Cache
from marotte.verdict.check import examine

HEAD = """\
marotte: 1
stock: 2026-1
name: Test head
build:
  head_width: 170 mm
  eye: {diameter: 40 mm, spacing: 88 mm}
  skull: {shape: [150 mm, 160 mm, 150 mm], hatch: top}
functions:
  jaw:
    part: jaw
    travel: [0 deg, 20 deg]
    MEANS
    load: {mass: 60 g, centre: [0 mm, 0 mm, 40 mm]}
supply: {battery: {kind: bench, volts: 6 V, limit: 5 A}, leads: {face: {fed_by: battery, awg: 20, length: 1 m}}}
performers:
  lead: {stature: 1.68 m, mass: 64 kg, sex: woman}
"""
SERVO = "means: {kind: servo, model: mini, box: {at: [0 mm, 10 mm, -30 mm]}}"
HAND = "means: {kind: hand, of: lead, site: right thumb}"
CACHE = Cache()


@pytest.fixture
def findings(tmp_path: Path) -> Callable[..., dict[str, Finding]]:
    def make(means: str, *replaced: tuple[str, str]) -> dict[str, Finding]:
        text = HEAD.replace("MEANS", means)
        for old, new in replaced:
            assert old in text, old
            text = text.replace(old, new)
        (tmp_path / "creature.yaml").write_text(text, encoding="utf-8")
        return {item.id: item for item in examine(load(tmp_path), CACHE).verdict.findings}

    return make


def test_a_servo_with_room_round_it_fits_and_comes_out(findings: Callable[..., dict[str, Finding]]) -> None:
    found = findings(SERVO)
    assert found["fit.skull"].grade == "performs"
    assert found["fit.room"].grade == "performs"
    assert found["fit.access"].grade == "performs"
    assert found["fit.hand"].grade == "not_applicable"


def test_a_servo_outside_the_skull_fails_and_says_by_how_much(findings: Callable[..., dict[str, Finding]]) -> None:
    found = findings(SERVO, ("[0 mm, 10 mm, -30 mm]", "[0 mm, 90 mm, -30 mm]"))["fit.skull"]
    assert found.grade == "fails"
    assert isinstance(found.has, Quantity)
    assert found.has.value < -0.02
    assert "The jaw servo" in found.sentence
    assert "out of the skull" in found.sentence
    assert "/functions/jaw/means/box/at" in found.rests_on


def test_horn_and_case_outside_are_said_at_once_and_two_servos_at_one_place_by_name(
    findings: Callable[..., dict[str, Finding]],
) -> None:
    bar = "mech: {kind: four_bar, horn: 10 mm, rod: 40 mm, arm: 14 mm, ground: 41 mm, arm_at_neutral: 90 deg}"
    box = "box: {at: [0 mm, 30 mm, 70 mm], axis: [1, 0, 0]}"
    out = findings(SERVO, ("box: {at: [0 mm, 10 mm, -30 mm]}}", f"{box}}}\n    {bar}"))["fit.skull"]
    assert "The jaw servo with its horn reaches" in out.sentence
    brow = (
        "  brow:\n    part: brow_inner\n    side: left\n    travel: [-5 mm, 5 mm]\n"
        "    means: {kind: servo, model: mini, box: {at: [0 mm, 10 mm, -30 mm]}}\n"
        "    mech: {kind: crank_slider, horn: 10 mm, rod: 40 mm}\n"
    )
    twice = findings(SERVO, ("supply: {", f"{brow}supply: {{"))["fit.skull"]
    assert twice.grade == "fails"
    assert "The jaw servo and the brow servo overlap by 13 mm" in twice.sentence


def test_a_hatch_that_does_not_exist_fails_by_name(findings: Callable[..., dict[str, Finding]]) -> None:
    found = findings(SERVO, ("-30 mm]}", "-30 mm], access: [trapdoor]}"))["fit.access"]
    assert found.grade == "fails"
    assert "trapdoor" in found.sentence
    assert "it has: top" in found.sentence


def test_a_hand_goes_into_a_wide_head_and_not_into_one_smaller_than_itself(
    findings: Callable[..., dict[str, Finding]],
) -> None:
    wide = findings(HAND)["fit.hand"]
    assert wide.grade == "performs"
    assert "military" in wide.sentence
    narrow = findings(HAND, ("[150 mm, 160 mm, 150 mm]", "[60 mm, 160 mm, 150 mm]"))["fit.hand"]
    assert narrow.grade == "fails"
    assert "does not go into" in narrow.sentence


def test_a_hand_wants_its_breadth_and_the_foam(findings: Callable[..., dict[str, Finding]]) -> None:
    """78 + 2 x 10 mm (common practice): 98."""
    found = findings(HAND, ("sex: woman", "sex: woman, hand_breadth: 78 mm"))["fit.hand"]
    assert found.needed.value == pytest.approx(0.098)


SURVEYED = {None: 0.02985 * 1.68 + 0.035842, "woman": 0.02828 * 1.68 + 0.032101}
"""Breadths of hands at 1.68 m: the lines of the open survey, held by tests/published."""


def _width(inside: float) -> tuple[str, str]:
    return "[150 mm, 160 mm, 150 mm]", f"[{1000 * inside:.1f} mm, 160 mm, 150 mm]"


@pytest.mark.parametrize("off", [-0.006, 0.006])
def test_a_hand_of_the_survey_that_may_or_may_not_go_in_is_undecided_until_it_is_measured(
    findings: Callable[..., dict[str, Finding]], off: float
) -> None:
    """1.96 SD of women's hands about the line are 6.6 mm (the survey's 3.387 mm): 6 mm either way is open, 8 mm is not."""
    wants = SURVEYED["woman"] + 0.020
    found = findings(HAND, _width(wants + off))["fit.hand"]
    assert found.grade == "undecided"
    assert "may not go into" in found.sentence
    assert found.worst_source == "typical"
    (test,) = found.settle
    assert "knuckles" in test.test
    assert "performers > lead > hand_breadth, with source: measured" in test.test
    measured = findings(
        HAND,
        _width(wants + off),
        ("sex: woman", f"sex: woman, hand_breadth: {{value: {1000 * wants - 20:.1f} mm, source: measured}}"),
    )["fit.hand"]
    assert measured.grade == ("performs" if off > 0.0 else "fails")
    assert findings(HAND, _width(wants + 8 / 6 * off))["fit.hand"].grade == ("performs" if off > 0.0 else "fails")


def test_a_hand_of_unsaid_sex_may_be_as_small_as_the_smaller_hands(findings: Callable[..., dict[str, Finding]]) -> None:
    """The line of men less that of women, and 6.6 mm: 13 mm down; a band's low end is where the hand is largest."""
    found = findings(HAND, ("sex: woman", "voice: true"), _width(0.100))["fit.hand"]
    half = SURVEYED[None] - SURVEYED["woman"] + 1.96 * 3.387e-3
    assert found.needed.value == pytest.approx(SURVEYED[None] + 0.020)
    assert found.band is not None
    assert found.band[1] == pytest.approx(0.100 / (SURVEYED[None] + 0.020 - half) - 1.0, abs=1e-3)
    assert found.grade == "undecided"


def test_a_hand_that_is_guessed_is_undecided_too(findings: Callable[..., dict[str, Finding]]) -> None:
    guessed = ("sex: woman", "sex: woman, hand_breadth: {value: 78 mm, source: guess}")
    assert findings(HAND, guessed, _width(0.105))["fit.hand"].grade == "undecided"


def test_a_head_of_the_survey_that_may_or_may_not_go_in_is_undecided(
    findings: Callable[..., dict[str, Finding]],
) -> None:
    """At 1.80 m a man's head is 154.6 +- 10.8 mm broad and wants 30 mm of padding (the survey; common practice)."""
    suit = ("sex: woman", "sex: man, posture: in_suit"), ("1.68 m", "1.80 m")
    point = ("  head_width: 170 mm", "  head_width: 170 mm\n  points: {wearer: [0 mm, 0 mm, 0 mm]}")
    found = findings(HAND, *suit, point, ("[150 mm, 160 mm, 150 mm]", "[190 mm, 300 mm, 300 mm]"))["fit.wearer"]
    assert found.grade == "undecided"
    (test,) = found.settle
    assert "two books" in test.test
    assert "performers > lead > head_breadth" in test.test


def test_a_wearers_head_has_the_room_where_it_sits_and_none_outside(
    findings: Callable[..., dict[str, Finding]],
) -> None:
    """Half way down an ellipsoid of 400 mm it is sqrt(3)/2 as wide and as deep as in its middle (closed form)."""
    suit = ("sex: woman", "sex: man, posture: in_suit, head_breadth: 155 mm, head_length: 195 mm"), ("1.68 m", "1.80 m")
    skull = ("[150 mm, 160 mm, 150 mm]", "[240 mm, 400 mm, 320 mm]")

    def at(point: str) -> Finding:
        place = ("  head_width: 170 mm", f"  head_width: 170 mm\n  points: {{wearer: [{point}]}}")
        return findings(HAND, *suit, place, skull)["fit.wearer"]

    low, aside, out = at("0 mm, -100 mm, 0 mm"), at("20 mm, -100 mm, 0 mm"), at("0 mm, -900 mm, 0 mm")
    assert low.has.value == pytest.approx(0.240 * math.sqrt(3.0) / 2.0, abs=1e-9)  # type: ignore[union-attr]
    assert aside.has.value == pytest.approx(0.240 * math.sqrt(3.0) / 2.0 - 0.040, abs=1e-9)  # type: ignore[union-attr]
    assert low.grade == "performs"
    assert out.grade == "fails"
    assert "lies outside the skull" in out.sentence


def test_a_servo_borne_elsewhere_pulls_its_cable_through_the_neck(findings: Callable[..., dict[str, Finding]]) -> None:
    """What a nod bends is lost there too: 0.4 mm of clearance over 20 degrees, 0.14 mm, of what the lip goes."""
    nod = "  head_nod: {part: head_nod, travel: [-20 deg, 20 deg], means: {kind: hand, of: lead, site: right wrist}, carried_by: post}\n"
    lip = (
        "  lip_upper: {part: lip_upper, travel: [0 mm, 6 mm], means: {kind: servo, model: micro, carried_by: BEARER}, "
        "mech: {kind: cable, pulls: both_ways, horn: 8 mm, core: steel_0p8, bore: 1.2 mm, bends: [70 deg], length: 900 mm}}\n"
    )
    below = findings(SERVO, ("supply: {", f"{nod}{lip.replace('BEARER', 'post')}supply: {{"))
    above = findings(SERVO, ("supply: {", f"{nod}{lip.replace('BEARER', 'skull')}supply: {{"))
    assert above["fit.neck"].grade == "not_applicable"
    assert below["fit.neck"].has.value == pytest.approx(0.4e-3 * math.radians(20.0) / 6e-3, rel=1e-6)  # type: ignore[union-attr]


def test_what_a_cable_loses_is_not_known_where_it_does_not_go_together(
    findings: Callable[..., dict[str, Finding]],
) -> None:
    bare = "mech: {kind: cable, pulls: one_way, core: steel_0p8, bore: 1.4 mm, length: 600 mm, returns: none}"
    lever = CABLES.replace(
        "    means: {kind: lever, of: lead, site: left index}",
        "    means: {kind: servo, model: micro, carried_by: post}",
    )
    start = lever.index("    mech:")
    found = findings(SERVO, ("supply: {", f"{lever[:start]}    {bare}\nsupply: {{"))
    assert found["fit.neck"].grade == "unknown"
    assert "is not known" in found["fit.neck"].sentence


def test_a_skull_too_full_for_its_servos_fails_by_its_room(findings: Callable[..., dict[str, Finding]]) -> None:
    big = "means: {kind: servo, model: quarter_scale, count: 4}"
    found = findings(big, ("[150 mm, 160 mm, 150 mm]", "[120 mm, 120 mm, 120 mm]"))
    assert found["fit.room"].grade == "fails"
    assert found["fit.skull"].grade == "unknown"
    assert "proves nothing" in found["fit.skull"].sentence


def test_a_mesh_that_is_taken_away_while_the_creature_is_open_is_unknown(tmp_path: Path) -> None:
    text = HEAD.replace("MEANS", SERVO).replace("shape: [150 mm, 160 mm, 150 mm]", "mesh: skull.stl")
    (tmp_path / "creature.yaml").write_text(text, encoding="utf-8")
    (tmp_path / "skull.stl").write_bytes(b"solid")
    creature = load(tmp_path)
    (tmp_path / "skull.stl").unlink()
    found = next(item for item in examine(creature).verdict.findings if item.id == "fit.skull")
    assert found.grade == "unknown"
    assert "There is no mesh" in found.sentence


def test_an_edit_that_moves_nothing_leaves_fit_in_the_cache(tmp_path: Path) -> None:
    cache = Cache()
    (tmp_path / "creature.yaml").write_text(HEAD.replace("MEANS", SERVO), encoding="utf-8")
    examine(load(tmp_path), cache)
    before = cache.misses["mech"]
    (tmp_path / "creature.yaml").write_text(HEAD.replace("MEANS", SERVO).replace("mass: 60 g", "mass: 61 g"))
    examine(load(tmp_path), cache)
    # the transmission, the load, the mass sheet; nothing of fit
    assert cache.misses["mech"] - before == 3


def test_a_long_side_that_is_not_written_gives_way_to_the_shaft(findings: Callable[..., dict[str, Finding]]) -> None:
    found = findings(SERVO, ("-30 mm]}", "-30 mm], axis: [1, 0, 0]}"))
    assert found["fit.skull"].grade == "performs"


CABLES = """\
  head_nod: {part: head_nod, travel: [-25 deg, 40 deg], means: {kind: hand, of: lead, site: right wrist}, carried_by: post}
  lid_upper:
    sides: both
    part: lid_upper
    travel: [0 deg, 60 deg]
    means: {kind: lever, of: lead, site: left index}
    mech: {kind: cable, arm: 12 mm, core: steel_0p8, bore: 1.4 mm, length: 600 mm, bends: [90 deg], returns: spring}
supply: {"""


@pytest.mark.parametrize(("bore", "grade"), [("12 mm", "performs"), ("9 mm", "only_just"), ("8 mm", "fails")])
def test_cables_go_through_a_wide_neck_and_not_through_one_thinner_than_they_are(
    bore: str, grade: str, findings: Callable[..., dict[str, Finding]]
) -> None:
    """Two housings of 4.2 mm side by side: 8.4 mm."""
    found = findings(SERVO, ("supply: {", CABLES), ("head_width", f"neck_bore: {bore}\n  head_width"))["fit.bundle"]
    assert (found.grade, "2 cables" in found.sentence) == (grade, True)
    without = findings(SERVO, ("supply: {", CABLES))["fit.bundle"]
    assert without.grade == "not_applicable"
    assert isinstance(without.has, Quantity)
