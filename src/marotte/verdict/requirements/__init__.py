"""The registry of requirements. A new one is one file here and one name below, in the order of the reference page."""

from __future__ import annotations

from typing import Any, Final

from marotte.verdict.requirements.base import Requirement
from marotte.verdict.requirements.drive import DRIVE
from marotte.verdict.requirements.hits import BLINK, CLOSURES, HITS, LOOK
from marotte.verdict.requirements.hold import HOLD
from marotte.verdict.requirements.lag import LAG
from marotte.verdict.requirements.mass import MASS
from marotte.verdict.requirements.mech import MECH
from marotte.verdict.requirements.power import CURRENT, MINUTES
from marotte.verdict.requirements.travel import TRAVEL

REGISTRY: Final[tuple[Requirement[Any], ...]] = (
    TRAVEL, MECH, DRIVE, HOLD, LAG,
    HITS, CLOSURES, BLINK, LOOK,
    CURRENT, MINUTES,
    MASS,
)  # fmt: skip
"""Every requirement."""
