"""One solver a kind of mech, found by the type of its record.

Adding a mech: a record in creature/schema/mechs.py, a file here, a line below, a page in docs/methods.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeAlias

from marotte.basis.contracts.common import Unknown
from marotte.basis.contracts.mech import Transmission
from marotte.creature.schema.mechs import (
    BallRod,
    BellCrank,
    Cable,
    CrankSlider,
    Direct,
    FourBar,
    HandRod,
    Linkage,
    PullPull,
    TeeBar,
    TwoRodGimbal,
)
from marotte.mech.case import Case
from marotte.mech.kinds import (
    ball_rod,
    bell_crank,
    cable,
    crank_slider,
    direct,
    four_bar,
    pull_pull,
    rod,
    tee_bar,
    two_rod_gimbal,
)

Solver: TypeAlias = Callable[[Case], Transmission | Unknown]

KINDS: dict[type[Linkage], Solver] = {
    Direct: direct.solve,
    FourBar: four_bar.solve,
    CrankSlider: crank_slider.solve,
    BallRod: ball_rod.solve,
    TwoRodGimbal: two_rod_gimbal.solve,
    BellCrank: bell_crank.solve,
    TeeBar: tee_bar.solve,
    Cable: cable.solve,
    PullPull: pull_pull.solve,
    HandRod: rod.solve,
}
"""Record -> solver. A record that is not here cannot be computed yet."""
