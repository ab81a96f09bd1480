"""One solver a kind of mech, found by the type of its record.

Adding a mech: a record in creature/schema/mechs.py, a file here, a line below, a page in docs/methods.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeAlias

from marotte.basis.contracts.common import Unknown
from marotte.basis.contracts.mech import Transmission
from marotte.creature.schema.mechs import Direct, FourBar, Linkage, TwoRodGimbal
from marotte.mech.case import Case
from marotte.mech.kinds import direct, four_bar, two_rod_gimbal

Solver: TypeAlias = Callable[[Case], Transmission | Unknown]

KINDS: dict[type[Linkage], Solver] = {
    Direct: direct.solve,
    FourBar: four_bar.solve,
    TwoRodGimbal: two_rod_gimbal.solve,
}
"""Record -> solver. A record that is not here cannot be computed yet."""
