"""Every method of the mech engine has its page, with the number that the code has."""

from __future__ import annotations

from pathlib import Path

import pytest

from marotte.creature.schema.mechs import MECHS
from marotte.mech import METHODS
from marotte.mech.kinds import KINDS

PAGES = Path(__file__).parents[2] / "docs" / "methods"


@pytest.mark.parametrize("method", sorted(METHODS))
def test_each_method_has_a_page_with_its_number(method):
    page = PAGES / f"{method.removeprefix('mech/')}.md"
    assert page.is_file(), f"docs/methods/{page.name} is missing"
    assert f"Method `{method}`, number {METHODS[method]}." in page.read_text()


def test_every_mech_of_the_file_has_a_solver_and_a_method():
    assert set(KINDS) == set(MECHS)
    for record in MECHS:
        assert f"mech/{record.model_fields['kind'].default}" in METHODS
