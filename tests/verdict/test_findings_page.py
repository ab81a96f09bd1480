"""The reference page of findings: its names are those of findings, its method numbers those of the pages."""

from __future__ import annotations

from pathlib import Path

import pytest

from marotte.verdict.publish import findings_page, method_number
from marotte.verdict.requirements import REGISTRY

METHODS = Path(__file__).resolve().parents[2] / "docs" / "methods"


@pytest.mark.parametrize("page", sorted({requirement.method for requirement in REGISTRY}))
def test_the_number_of_a_method_is_the_one_on_its_page(page: str) -> None:
    head = (METHODS / f"{page}.md").read_text(encoding="utf-8").split("\n\n")[1]
    assert f", number {method_number(page)}." in head
    assert f"(../methods/{page}.md), number {method_number(page)}; " in findings_page()


def test_cost_and_hours_stand_under_their_names() -> None:
    names = [line for line in findings_page().splitlines() if line.startswith("## ")]
    assert names[-2:] == ["## `limits.cost`", "## `limits.hours`"]
