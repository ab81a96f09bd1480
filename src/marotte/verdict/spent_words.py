"""What a pack at the end of its time takes from the drives, told beside their findings."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from marotte.basis.contracts.common import Told, Unknown
from marotte.basis.units import show
from marotte.creature.naming import named
from marotte.drive.leads import nominal_volts
from marotte.drive.model import with_source
from marotte.drive.servo import available_torque_nm
from marotte.verdict.asked import LEAST_SHARE

if TYPE_CHECKING:
    from marotte.creature.creature import Creature
    from marotte.verdict.graph import Results


def spent_pack(creature: Creature, results: Results) -> Iterator[Told]:
    """Yield which drives have torque enough half used, and not at the end of a pack; nothing where none does."""
    spent, model = results.spent, results.model
    if spent is None or creature.supply is None or spent.volts >= model.leads[0].source_v:
        return
    leads = with_source(model, spent.volts, spent.ohm).leads
    short: dict[str, str] = {}
    for name, points in results.worst.items():
        for given, point in zip(
            creature.mechs[name].inputs, () if isinstance(points, Unknown) else points, strict=False
        ):
            drive = model.drive(given)
            stall = drive.count * drive.motor.stall_torque_nm
            wanted = max(point.torque, LEAST_SHARE * stall)
            speed = 0.0 if point.has >= stall * (1.0 - 1e-9) else abs(point.speed)  # braking it has all that it has
            volts = nominal_volts(leads, drive.lead)
            has = drive.count * float(available_torque_nm(drive.motor, speed, volts))
            if has < wanted <= point.has:
                short[given] = f"{named(given)} ({show(has, 'N*m', 2)} of {show(wanted, 'N*m', 2)})"
    if short:
        yield Told(
            code="power.spent", sentence=f"at the end of a pack ({show(spent.volts, 'V')} of {show(model.leads[0].source_v, 'V')} half used) "
            f"these have less torque than the part wants: {', '.join(short.values())}", ref=creature.supply.ref("battery"),
        )  # fmt: skip
