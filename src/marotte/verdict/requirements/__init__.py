"""The registry: importing this package fills it. A new requirement is one file here and one line below."""

from __future__ import annotations

from marotte.verdict.requirements import (
    drive,
    hits,
    hold,
    lag,
    mass,
    mech,
    power,
    travel,
)
from marotte.verdict.requirements.base import REGISTRY, Requirement

__all__ = ["REGISTRY", "Requirement", "drive", "hits", "hold", "lag", "mass", "mech", "power", "travel"]
