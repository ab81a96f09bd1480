"""Loss of link: where every function goes when the signal stops, told group by group (docs/methods/power.md)."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from marotte.basis.contracts.common import Told
from marotte.basis.units import show
from marotte.creature.anatomy import PARTS
from marotte.creature.naming import named
from marotte.creature.schema.means import Servo

if TYPE_CHECKING:
    from marotte.creature.creature import Creature


def loss_of_link(creature: Creature) -> Iterator[Told]:
    """Yield what servos do when the link is lost: nothing where there are none, or no supply is written."""
    supply = creature.supply
    if supply is None or not any(isinstance(means, Servo) for means in creature.means.values()):
        return
    link = supply.link
    head = "link lost" if link.kind == "radio" else "signal lost (a plug out, a wire broken)"
    if link.on_loss == "hold":
        text = f"{head}: every servo holds where it is, at whatever it is pressing on"
    else:
        where = "goes to neutral" if link.on_loss == "neutral" else "loses power and falls"
        groups: dict[str, dict[str, str]] = {}
        at_zero: set[str] = set()
        for mech in creature.mechs.values():
            if not any(isinstance(creature.means[name], Servo) for name in mech.inputs):
                continue
            for name in mech.outputs:
                function, part = creature.functions[name], PARTS[creature.functions[name].part]
                place = function.neutral if link.on_loss == "neutral" else function.power_off
                plain = named(name.removesuffix("_left").removesuffix("_right"))
                if place == 0.0:
                    at_zero.add(plain)
                    continue
                unit = "rad" if part.kind == "turn" else "m"
                groups.setdefault(part.group, {})[plain] = show(place, unit)
        said = "; ".join(
            f"{group} ({', '.join(f'{name} {place}' for name, place in places.items())})"
            for group, places in groups.items()
        )
        rest = "what else it moves" if groups else "all that it moves"
        zero = f"{rest} to 0: {', '.join(sorted(at_zero))}" if at_zero else ""
        text = f"{head}: every servo {where}: {'; '.join(part for part in (said, zero) if part)}"
    yield Told(code="link.loss", sentence=text, ref=link.ref("on_loss"))
