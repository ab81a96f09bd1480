"""Every method of the drive has its page, and the page says its number."""

from __future__ import annotations

from pathlib import Path

import pytest

from marotte.drive import METHODS

PAGES = Path(__file__).parents[2] / "docs" / "methods"


@pytest.mark.parametrize("method", sorted(METHODS))
def test_method_has_a_page_with_its_number(method: str) -> None:
    page = PAGES / f"{method.split('/')[1]}.md"
    assert f"Method `{method}`, number {METHODS[method]}." in page.read_text()
