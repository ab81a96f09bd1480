from __future__ import annotations

from pathlib import Path

import pytest

from marotte.basis.contracts.fit import Access, WayOut
from marotte.basis.frames import Vec
from marotte.creature.hatches import hatch_ways
from marotte.mech.fit.access import access
from tests.mech.fit.heads import fitted, head, servo

CENTRE: Vec = (0.0, 0.0, 0.0)


def found(
    folder: Path, *functions: str, hatches: tuple[str, ...] = ("top",), wanted: dict[str, tuple[str, ...]] | None = None
) -> Access:
    return access(fitted(head(folder, *functions)), hatches, wanted or {}, {}, CENTRE)


def by_name(result: Access) -> dict[str, WayOut]:
    return {way.servo: way for way in result.ways}


STACK = (servo("low", "0 mm, -30 mm, -30 mm"), servo("mid", "0 mm, 0 mm, -30 mm"), servo("high", "0 mm, 30 mm, -30 mm"))


def test_a_stack_comes_out_from_the_top(tmp_path: Path) -> None:
    ways = by_name(found(tmp_path, *STACK))
    assert ways["high"].first == ()
    assert ways["mid"].first == ("high",)
    assert ways["low"].first == ("high", "mid")


def test_another_hatch_spares_the_others(tmp_path: Path) -> None:
    """Backwards nothing stands in anyone's way."""
    ways = by_name(found(tmp_path, *STACK, hatches=("top", "nape")))
    assert all(way.first == () for way in ways.values())
    assert ways["low"].hatch == "nape"


def test_a_box_that_names_its_hatch_uses_no_other(tmp_path: Path) -> None:
    ways = by_name(found(tmp_path, *STACK, hatches=("top", "nape"), wanted={"low": ("top",)}))
    assert ways["low"].hatch == "top"
    assert ways["low"].first == ("mid", "high") or ways["low"].first == ("high", "mid")


def test_a_servo_under_an_eye_cannot_come_out_upwards(tmp_path: Path) -> None:
    ways = by_name(found(tmp_path, servo("under", "44 mm, -40 mm, 0 mm", model="micro")))
    assert ways["under"].hatch is None
    assert ways["under"].blocked_by == ("left eye",)


def test_two_side_by_side_are_not_in_each_other_s_way(tmp_path: Path) -> None:
    ways = by_name(found(tmp_path, servo("one", "-25 mm, 0 mm, -46 mm"), servo("two", "25 mm, 0 mm, -46 mm")))
    assert all(way.first == () and way.hatch == "top" for way in ways.values())


def test_a_hatch_that_does_not_exist_is_named_with_its_servo(tmp_path: Path) -> None:
    result = found(tmp_path, *STACK, wanted={"mid": ("trapdoor",)})
    assert result.missing_hatches == (("mid", "trapdoor"),)
    assert by_name(result)["mid"].hatch is None


@pytest.mark.parametrize("name, way", [("skull cap", (0, 1, 0)), ("nape_zip", (0, 0, -1)), ("left-cheek", (1, 0, 0))])
def test_a_word_of_the_name_says_the_way(name: str, way: Vec) -> None:
    ways, lost = hatch_ways([name], {}, CENTRE)
    assert ways[name] == way
    assert not lost


def test_a_name_without_a_way_wants_a_point_and_takes_it() -> None:
    assert hatch_ways(["service"], {}, CENTRE) == ({}, ("service",))
    ways, lost = hatch_ways(["service"], {"hatch_service": (0.0, 0.03, -0.04)}, CENTRE)
    assert ways["service"] == pytest.approx((0.0, 0.6, -0.8))
    assert not lost
    assert hatch_ways(["Service door"], {"hatch_service_door": (0.0, 0.0, 0.1)}, CENTRE)[1] == ()
