"""The cell of the demand: what the acting does not read leaves it as it is, what it reads does not."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from marotte.basis.contracts.common import Unknown
from marotte.basis.digest import digest
from marotte.creature.creature import Creature
from marotte.creature.load import load
from marotte.verdict.cells import Cache
from marotte.verdict.graph_script import demanded

TANSY = Path(__file__).parents[2] / "examples" / "tansy"


@pytest.fixture(scope="module")
def creature() -> Creature:
    return load(TANSY)


@pytest.fixture(scope="module")
def cache() -> Cache:
    return Cache()


def result(creature: Creature, cache: Cache) -> bytes:
    asked, _ = demanded(creature, cache)
    assert not isinstance(asked, Unknown)
    return asked.result


def with_function(creature: Creature, name: str, **changes: object) -> Creature:
    functions = dict(creature.functions)
    functions[name] = functions[name].model_copy(update=changes)
    return replace(creature, functions=functions)


def test_an_edit_of_what_carries_or_loads_leaves_the_demand(creature: Creature, cache: Cache) -> None:
    before = result(creature, cache)
    assert result(with_function(creature, "jaw", power_off=0.2), cache) == before
    assert result(with_function(creature, "jaw", tells_at=None), cache) == before
    assert result(with_function(creature, "jaw", mech=None, means=None), cache) == before
    assert result(replace(creature, build=creature.build.model_copy(update={"skull": None})), cache) == before


def test_an_edit_of_travel_eyes_or_poses_makes_another(creature: Creature, cache: Cache) -> None:
    before = result(creature, cache)
    assert result(with_function(creature, "jaw", travel=(0.0, 0.3)), cache) != before
    assert creature.build.eye is not None
    eye = creature.build.eye.model_copy(update={"spacing": 0.07})
    assert result(replace(creature, build=creature.build.model_copy(update={"eye": eye})), cache) != before
    assert result(replace(creature, poses=creature.poses.model_copy(update={"moods": {}})), cache) != before


def test_the_demand_is_the_same_with_a_warm_and_with_a_cold_cache(creature: Creature, cache: Cache) -> None:
    warm, _ = demanded(creature, cache)
    cold, _ = demanded(creature, Cache())
    assert not isinstance(warm, Unknown)
    assert not isinstance(cold, Unknown)
    assert digest(warm.value) == digest(cold.value)
