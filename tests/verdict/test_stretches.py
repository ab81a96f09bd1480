"""Looking at a part stretch by stretch finds what looking at all of it finds."""

from __future__ import annotations

import pytest

from marotte.verdict import asked
from marotte.verdict.cells import Cache
from marotte.verdict.check import Examined, examine


def test_the_operating_points_do_not_depend_on_where_the_part_is_cut(
    small: Examined, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole = dict(small.results.worst)
    for stretch in (97, 1000):
        monkeypatch.setattr(asked, "STRETCH", stretch)
        again = examine(small.results.creature, Cache())
        assert dict(again.results.worst) == whole
        assert again.verdict.key == small.verdict.key
