"""The verdict: cells, requirements, margins, workings, remedies, cautions; ``check(creature) -> Verdict``."""

from __future__ import annotations

METHODS: dict[str, int] = {
    "verdict/margins": 2,
    "verdict/workings": 1,
    "verdict/operating_point": 2,
    "verdict/transmission_angle": 2,
    "verdict/hits": 4,
    "verdict/effort": 1,
    "verdict/clearance": 2,
    "verdict/heat_in_the_skull": 1,
    "verdict/power": 3,
    "verdict/noise": 1,
    "verdict/remedies": 5,
    "verdict/budget": 2,
    "verdict/cautions": 2,
}
"""Numbers of the methods whose results are cached here; a change of method is a change of number."""
