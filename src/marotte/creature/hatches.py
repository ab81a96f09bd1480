"""Names of hatches: which way things come out through each."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from marotte.basis.frames import Vec, unit

WAYS: Final[dict[str, Vec]] = {
    "top": (0.0, 1.0, 0.0), "cap": (0.0, 1.0, 0.0), "crown": (0.0, 1.0, 0.0), "lid": (0.0, 1.0, 0.0),
    "back": (0.0, 0.0, -1.0), "nape": (0.0, 0.0, -1.0), "rear": (0.0, 0.0, -1.0),
    "front": (0.0, 0.0, 1.0), "face": (0.0, 0.0, 1.0), "mouth": (0.0, 0.0, 1.0),
    "bottom": (0.0, -1.0, 0.0), "neck": (0.0, -1.0, 0.0), "chin": (0.0, -1.0, 0.0), "throat": (0.0, -1.0, 0.0),
    "left": (1.0, 0.0, 0.0), "right": (-1.0, 0.0, 0.0),
}  # fmt: skip
"""Words of a hatch's name that say which way things come out; any other name needs a point of its own."""


def hatch_point(name: str) -> str:
    """Return the name of the point under build > points that says where a hatch is.

    >>> hatch_point("Service door")
    'hatch_service_door'
    """
    return f"hatch_{'_'.join(_words(name))}"


def hatch_ways(names: Sequence[str], points: Mapping[str, Vec], centre: Vec) -> tuple[dict[str, Vec], tuple[str, ...]]:
    """Return the unit way out through each hatch, and the names that say none.

    A point ``hatch_NAME`` of the build wins: the way goes from the skull's middle through it. Otherwise a word of the name counts.
    """
    ways: dict[str, Vec] = {}
    lost: list[str] = []
    for name in names:
        point = points.get(hatch_point(name))
        if point is not None:
            away = (point[0] - centre[0], point[1] - centre[1], point[2] - centre[2])
            if max(abs(x) for x in away) > 1e-6:
                ways[name] = unit(away)
                continue
        word = next((word for word in _words(name) if word in WAYS), None)
        if word is None:
            lost.append(name)
        else:
            ways[name] = WAYS[word]
    return ways, tuple(lost)


def _words(name: str) -> list[str]:
    return name.lower().replace("_", " ").replace("-", " ").split()
