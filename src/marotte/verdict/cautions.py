"""Hazards with their usual advice: never a grade, never a permission. docs/methods/cautions.md."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

import numpy as np

from marotte.basis.contracts.common import Unknown
from marotte.basis.contracts.finding import Caution
from marotte.basis.units import show
from marotte.creature.anatomy import HEAD_MOTION
from marotte.creature.creature import Creature
from marotte.creature.naming import named
from marotte.creature.schema.means import Servo
from marotte.creature.schema.mechs import Cable, HandRod
from marotte.creature.schema.supply import Cells
from marotte.verdict.loss import FAST_M_S, failsafes, moves, otherwise
from marotte.verdict.upset_words import quickest

if TYPE_CHECKING:
    from marotte.verdict.graph import Results

DECIDES: Final = "These are planning values: local rules, the makers' own data and a competent person decide"
MOUTHS: Final = frozenset({"jaw", "beak"})
HEAVY_OVERHEAD_KG: Final = 1.0
HOT_RISE_K: Final = 40.0
NEAR_PEOPLE: Final = ("head", "mouth", "body")
"""Groups of parts that may come down on a hand or a face, or shut on one."""


def cautions(creature: Creature, results: Results) -> tuple[Caution, ...]:
    """Return the cautions of a creature, in a fixed order."""
    found: list[Caution] = []
    for source in (
        _pinches,
        _stored,
        _cells,
        _servos,
        _falls,
        _powerless,
        _hot,
        _rods,
        _overhead,
        _suits,
        _stuff,
        _radio,
    ):
        found.extend(source(creature, results))
    return tuple(found)


def _pinches(creature: Creature, results: Results) -> Iterator[Caution]:
    """A mouth that a servo shuts: the force at its telling point, where the mechanism is at its strongest."""
    for name, function in creature.functions.items():
        if function.part not in MOUTHS or function.tells_at is None:
            continue
        mech = next((item for item in creature.mechs.values() if name in item.outputs), None)
        if mech is None or not all(isinstance(creature.means[given], Servo) for given in mech.inputs):
            continue
        transmission = results.mechs.transmissions[mech.name]
        if isinstance(transmission, Unknown) or len(mech.inputs) != 1:
            continue
        drive = results.model.drive(mech.inputs[0])
        slowest = float(np.abs(transmission.rate[mech.outputs.index(name), 0]).min())
        force = drive.count * drive.motor.stall_torque_nm / max(slowest, 1e-6) / function.tells_at.arm
        yield Caution(
            id=f"pinch.{name}", about=name,
            sentence=f"The {named(name)} shuts with about {show(force, 'N', 2)} at the {function.tells_at.point}, stalled, over a gap "
            f"of up to {show(function.span * function.tells_at.arm, 'm', 2)}.",
            advice="Keep fingers, hair and faces out of a powered mouth, pad its edges, set the travel's end in the servo, and have a "
            f"kill switch in the operator's hand; with children or the public near, ask for contact limits. {DECIDES}.",
        )  # fmt: skip


def _stored(creature: Creature, results: Results) -> Iterator[Caution]:
    springs = [name for name, function in creature.functions.items() if function.load.spring is not None]
    springs += [
        name
        for name, mech in creature.mechs.items()
        if isinstance(mech.record, Cable) and mech.record.returns == "spring"
    ]
    if springs:
        yield Caution(
            id="stored_energy", about="springs",
            sentence=f"Springs or elastics hold energy with the power off ({', '.join(named(name) for name in sorted(springs))}).",
            advice="Pin or slacken them before hands go in, and wear eye protection while they are fitted.",
        )  # fmt: skip


def _cells(creature: Creature, results: Results) -> Iterator[Caution]:
    supply = creature.supply
    if supply is None or not isinstance(supply.battery, Cells):
        return
    if supply.battery.kind.startswith("lithium"):
        yield Caution(
            id="lithium", about="battery",
            sentence="Lithium cells burn when they are crushed, pierced, overcharged or shorted.",
            advice="Carry them in a fire-resistant bag outside the head, reachable in seconds without lifting skin; charge them watched, "
            f"with a charger of their kind; retire swollen packs. {DECIDES}.",
        )  # fmt: skip
    bare = sorted(name for name, lead in supply.leads.items() if lead.fed_by == "battery" and lead.fuse is None)
    if bare:
        yield Caution(
            id="no_fuse", about="supply", sentence=f"No fuse is written between the pack and {', '.join(bare)}.",
            advice="Put a fuse within a hand's breadth of the pack, rated under what its thinnest wire bears.",
        )  # fmt: skip


def _servos(creature: Creature, results: Results) -> Iterator[Caution]:
    if any(isinstance(means, Servo) for means in creature.means.values()):
        swing = quickest(creature, results, results.upsets.up)
        how = f": at power-up {swing.words()}" if swing is not None and swing.speed_m_s > FAST_M_S else ""
        yield Caution(
            id="kill_switch", about="supply",
            sentence=f"Servos move without warning at power-up, on lost signal and on a wrong plug{how}.",
            advice="A kill switch in the operator's hand that cuts the servos' power, and nobody's fingers inside when it comes on.",
        )  # fmt: skip


def _falls(creature: Creature, results: Results) -> Iterator[Caution]:
    """A head, mouth or limb that comes down, or snaps shut, when the power is cut: what cuts it in an emergency as well."""
    found = moves(creature, results, results.upsets.cut, NEAR_PEOPLE)
    if found:
        yield Caution(
            id="falls", about=", ".join(label.removeprefix("the ") for label in found),
            sentence=f"With the power cut these move by themselves, from the farthest that they get to in the part: {'; '.join(found.values())}.",
            advice="A kill switch lets them go: nothing may hang over a hand or a face that a servo alone holds up. Balance them, spring them "
            "towards the safe side, or stop them with a hard end.",
        )  # fmt: skip


def _powerless(creature: Creature, results: Results) -> Iterator[Caution]:
    """Parts that the file says fall to a place where the run of the power cut does not have them."""
    found = otherwise(creature, results)
    if found:
        yield Caution(
            id="power_off", about=", ".join(label.removeprefix("the ") for label in found),
            sentence=f"Without power these do not lie where the file has them fall (power_off): {'; '.join(found.values())}. Power-up is run "
            "from what the file says.",
            advice="Pull the plug on purpose and look. What a geared servo holds stays: a part that is to fall wants a weight or a spring "
            "stronger than its gears; one that is to go somewhere when the signal is lost wants a failsafe place, with the power on.",
        )  # fmt: skip


def _hot(creature: Creature, results: Results) -> Iterator[Caution]:
    if isinstance(results.response, Unknown) or not results.response.heat.size:
        return
    rises = results.response.heat.max(axis=0)
    hot = [name for name, rise in zip(results.response.worst.drives, rises, strict=True) if rise > HOT_RISE_K]
    if hot:
        yield Caution(
            id="hot_servos", about="servos",
            sentence=f"Servos get hot over the part: {', '.join(named(name) for name in sorted(hot))}.",
            advice="Let them cool before they are touched, keep foam and solvent away from them, and look at the hold findings.",
        )  # fmt: skip


def _rods(creature: Creature, results: Results) -> Iterator[Caution]:
    rods = sorted(name for name, mech in creature.mechs.items() if isinstance(mech.record, HandRod))
    if rods:
        yield Caution(
            id="rod_tips", about="rods", sentence=f"Rods swing at eye height ({', '.join(named(name) for name in rods)}).",
            advice="Ball or cork the ends, agree who moves first, and keep actors' eyes out of their reach.",
        )  # fmt: skip


def _overhead(creature: Creature, results: Results) -> Iterator[Caution]:
    """What hands hold up, and a head on a post, which may come down with it."""
    weights = {name: sheet.total for name, sheet in results.masses.carriers.items()}
    stands = any(f.part in HEAD_MOTION and f.carried_by == "post" for f in creature.functions.values())
    borne = weights.get("hand", 0.0) + (0.0 if stands else weights.get("skull", 0.0))
    below = any(p.posture in ("standing", "kneeling", "low_stool", "lying") for p in creature.performers.values())
    if stands and weights.get("skull", 0.0) > HEAVY_OVERHEAD_KG:
        yield Caution(
            id="post", about="post", sentence=f"The head, about {show(weights['skull'], 'kg', 2)}, stands on a post.",
            advice="Fix the foot so that it cannot tip or slip, with a stop or a safety line where anyone is below, and see that the post bears "
            "a knock and a person who leans on it.",
        )  # fmt: skip
    if below and borne > HEAVY_OVERHEAD_KG:
        yield Caution(
            id="overhead", about="head", sentence=f"About {show(borne, 'kg', 2)} is held or hung over people.",
            advice="A safety line on anything heavy over a head, two people to lift and to hand over, and rests that are kept.",
        )  # fmt: skip


def _suits(creature: Creature, results: Results) -> Iterator[Caution]:
    inside = sorted(name for name, person in creature.performers.items() if person.posture == "in_suit")
    if inside or creature.worn is not None:
        yield Caution(
            id="suit", about=", ".join(inside) or "worn",
            sentence="Someone is inside: heat illness, blocked sight and hearing, stairs and straps.",
            advice="A handler always; head off in seconds by the wearer alone; water, rest and shade planned; stop at the first sign of heat "
            f"illness and call for medical help. No computed stay is a permission. {DECIDES}.",
        )  # fmt: skip


def _stuff(creature: Creature, results: Results) -> Iterator[Caution]:
    materials = {skin.strip.material for skin in creature.skins.values() if skin.strip is not None}
    latex = any("latex" in name for name in materials)
    if materials:
        what = "Latex is a common allergen, and its" if latex else "Skin"
        yield Caution(
            id="skins_and_solvents", about="skins", sentence=f"{what} glues, solvents and release agents harm skin and lungs.",
            advice="Ask performers and crew about allergies, work with extraction and gloves, and keep the makers' safety sheets at hand.",
        )  # fmt: skip


def _radio(creature: Creature, results: Results) -> Iterator[Caution]:
    supply = creature.supply
    if supply is not None and supply.link.kind == "radio":
        says = {
            "hold": "hold where they are",
            "neutral": f"go to neutral{failsafes(creature)}",
            "power_off": "lose power",
        }[supply.link.on_loss]
        powered = moves(creature, results, results.upsets.lost, NEAR_PEOPLE) if supply.link.on_loss == "neutral" else {}
        how = f": {'; '.join(powered.values())}, under power" if powered else ""
        yield Caution(
            id="radio_loss", about="link",
            sentence=f"When the radio link is lost the functions {says}, whatever is near them{how}.",
            advice="Try the loss of link on purpose before every show, keep the band clear of video and camera channels, and wire first.",
        )  # fmt: skip
