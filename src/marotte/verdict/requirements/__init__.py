"""The registry of requirements. A new one is one file here and one name below, in the order of the reference page."""

from __future__ import annotations

from typing import Any, Final

from marotte.verdict.requirements.access import ACCESS
from marotte.verdict.requirements.base import Requirement
from marotte.verdict.requirements.brownout import BROWNOUT
from marotte.verdict.requirements.budget import COST, HOURS
from marotte.verdict.requirements.bundle import BUNDLE
from marotte.verdict.requirements.clearance import CLEARANCE
from marotte.verdict.requirements.drive import DRIVE
from marotte.verdict.requirements.effort import EFFORT
from marotte.verdict.requirements.fit import SKULL
from marotte.verdict.requirements.hand import HAND
from marotte.verdict.requirements.heat import HEAT, SKULL_HEAT
from marotte.verdict.requirements.hits import BLINK, CLOSURES, EYES_STILL, HITS, LIFE_STILL, LOOK
from marotte.verdict.requirements.hold import HOLD
from marotte.verdict.requirements.lag import LAG
from marotte.verdict.requirements.mass import MASS
from marotte.verdict.requirements.mech import MECH
from marotte.verdict.requirements.neck import NECK
from marotte.verdict.requirements.noise import NOISE
from marotte.verdict.requirements.power import CURRENT, MINUTES
from marotte.verdict.requirements.room import ROOM
from marotte.verdict.requirements.slop import SLOP
from marotte.verdict.requirements.spares import SPARES
from marotte.verdict.requirements.startup import STARTUP
from marotte.verdict.requirements.travel import TRAVEL
from marotte.verdict.requirements.wearer import WEARER_HEAD
from marotte.verdict.requirements.wiring import FUSE, WIRE

REGISTRY: Final[tuple[Requirement[Any], ...]] = (
    TRAVEL, MECH, DRIVE, HOLD, EFFORT, LAG, SLOP, HEAT, CLEARANCE,
    HITS, CLOSURES, BLINK, LOOK, EYES_STILL, LIFE_STILL,
    CURRENT, BROWNOUT, WIRE, FUSE, STARTUP, MINUTES, SPARES,
    SKULL_HEAT, NOISE,
    MASS, SKULL, ROOM, ACCESS, HAND, WEARER_HEAD, NECK, BUNDLE,
    COST, HOURS,
)  # fmt: skip
"""Every requirement."""
