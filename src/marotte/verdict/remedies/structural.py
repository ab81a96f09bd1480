"""Changes that are more than a knob: a second servo, a balance spring, a slower pace... Each a function of creature and finding.

Every generator returns proposals, the smallest first. None touches ``limits``: what was asked for is not a remedy.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final, TypeAlias

import numpy as np

from marotte.basis.contracts.common import Quantity
from marotte.basis.contracts.finding import ABSENT, Edit, Finding
from marotte.basis.given import Ref
from marotte.basis.units import number_text, show
from marotte.creature.anatomy import PARTS
from marotte.creature.creature import Creature, Mechanism
from marotte.creature.edit import value_at
from marotte.creature.naming import named
from marotte.creature.schema.means import Servo
from marotte.creature.schema.supply import Cells
from marotte.creature.tree import Tree
from marotte.verdict.graph import Results
from marotte.verdict.remedies.knobs import BUILT_TO
from marotte.verdict.remedies.words import servo_said, spaced

AT_SERVO: Final = frozenset({"drive", "hold", "lag"})
"""Requirements that a stronger means or a lighter load helps."""
AT_MOUTH: Final = frozenset({"drive", "lag", "hits", "closures"})
TIGHTER: Final = (0.75, 0.5)
"""Shares of a rod's lost motion that chosen joints have (common practice, no source)."""
SPRINGS: Final = (0.5, 0.75, 1.0)
"""Shares of the middle of what a function bears that a balance spring takes."""
SOFT_SPANS: Final = 3.0
"""How many travels beyond its neutral such a spring goes slack: soft enough to pull nearly the same everywhere."""
SLOWER: Final = (0.9, 0.8)
SMALLER: Final = (0.75, 0.5)
SCULPTED: Final = (0.25, 0.4)
"""Shares of the travel at which a skin is sculpted open."""
NEXT_SPEECH: Final = {"lips": "hits", "hits": "flap"}
REMOTE_ARM: Final = 12e-3
REMOTE_BENDS: Final = ("60 deg", "60 deg")
REMOTE_LENGTH: Final = "600 mm"
"""From the base to the head, by the neck (common practice, no source)."""
REMOTE_MOST: Final = 3
TURN_USED: Final = 0.8
"""Share of a servo's turn that a cable's horn uses, so that something is left for slack."""
HALVES: Final = 3
"""Gauges for which a wire has half the resistance (ASTM B258)."""
GRAMS: Final = 5e-3
"""Steps in which a part is made lighter."""
LIGHTEST: Final = 0.6
"""Share that may stay of a written mass, before it is another part altogether (a rule of this project)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposal:
    """Edits with what they are."""

    edits: tuple[Edit, ...]
    says: str
    then: str
    """What else goes with it; may be empty."""
    cost: float
    asks: bool = False
    """Whether it changes what is asked of the creature, not how it is built."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """What a generator may look at."""

    creature: Creature
    results: Results
    tree: Tree
    finding: Finding
    mechs: tuple[str, ...]
    """Mechanisms that the finding is about, or that its missed hits need."""
    performs: float
    """Margin from which its requirement performs."""

    def edit(self, path: Ref, to: Any) -> Edit:
        """Return the edit that writes a value at a path."""
        return Edit(path=path, from_=value_at(self.tree, path), to=to)


Generator: TypeAlias = Callable[[Case], tuple[Proposal, ...]]


def proposals(case: Case) -> tuple[Proposal, ...]:
    """Return every proposal for a finding, cheapest first, then in the order of the generators."""
    return tuple(sorted((found for one in GENERATORS for found in one(case)), key=lambda found: found.cost))


def second_servo(case: Case) -> tuple[Proposal, ...]:
    """Two servos geared together on one load."""
    out = []
    for name in case.mechs if case.finding.requirement in AT_SERVO else ():
        inputs = case.creature.mechs[name].inputs
        means = case.creature.means[inputs[0]]
        if len(inputs) != 1 or not isinstance(means, Servo) or means.count > 1 or not means.ref("").startswith("/"):
            continue
        servo = case.creature.servos[means.model]
        text = f"put a second {servo_said(means.model)} on the {named(_plain(name))}, geared to share its load"
        then = f"it adds {show(servo.mass, 'kg', 2)} a side and needs room; set the two up so that they do not fight"
        out.append(Proposal(edits=(case.edit(f"{means.ref('')}/count", 2),), says=text, then=then, cost=5.0))
    return _once(out)


def balance_spring(case: Case) -> tuple[Proposal, ...]:
    """A long soft spring that bears the middle of what a function bears over its travel."""
    out = []
    for name in case.mechs if case.finding.requirement in AT_SERVO else ():
        outputs = case.creature.mechs[name].outputs
        function = case.creature.functions[outputs[0]]
        load = function.load
        if len(outputs) != 1 or load.spring is not None or not load.ref("").startswith("/"):
            continue
        force = _borne(case, outputs[0])
        middle = 0.5 * (float(force.max()) + float(force.min()))
        if abs(middle) < 0.25 * float(np.abs(force).max()):
            continue
        turns = PARTS[function.part].kind == "turn"
        slack = function.neutral + math.copysign(SOFT_SPANS * function.span, middle)
        for share in SPRINGS:
            rate = share * abs(middle) / abs(slack - function.neutral)
            values = {
                "rate": f"{number_text(rate, 3)} {'N*m/rad' if turns else 'N/m'}",
                "slack_at": f"{number_text(math.degrees(slack), 3)} deg"
                if turns
                else f"{number_text(1e3 * slack, 3)} mm",
            }
            pull = show(share * abs(middle), "N*m" if turns else "N", 2)
            text = f"hang a long soft balance spring on the {named(_plain(name))}, {pull} at neutral"
            then = "it stores energy: cover it, and let nobody's fingers near it"
            out.append(
                Proposal(edits=(case.edit(f"{load.ref('')}/spring", values),), says=text, then=then, cost=3.0 + share)
            )
    return _once(out)


def _borne(case: Case, name: str) -> Any:
    """Return (m,) what holding a function still takes over its travel: gravity with the head level, and its skins."""
    load = case.results.mechs.loads[name]
    force = -(np.array([0.0, -9.80665, 0.0]) @ load.gravity) - load.spring
    for skin in case.results.mechs.skins:
        if name in skin.holds:
            stretch = skin.holds[name] * (load.grid - skin.sculpted[name])
            for other in sorted(set(skin.holds) - {name}):
                stretch = stretch + skin.holds[other] * (case.creature.functions[other].neutral - skin.sculpted[other])
            force = force + skin.holds[name] * np.interp(stretch, skin.curve[0], skin.curve[1])
    return force


def tight_joints(case: Case) -> tuple[Proposal, ...]:
    """Better ball joints at the ends of the rods."""
    out = []
    for name in case.mechs if case.finding.requirement == "slop" else ():
        record = case.creature.mechs[name].record
        block = record.ref("")
        stock = 2.0 * case.creature.stock_tables.joints["ball_link"].slop
        now = record.slop if record.slop is not None else stock
        if not hasattr(record, "rod") or not block.startswith("/"):
            continue
        for share in TIGHTER:
            to = now * share
            text = (
                f"fit tighter ball joints on the {named(_plain(name))}, {show(now, 'm', 2)} -> {show(to, 'm', 2)} a rod"
            )
            then = "pick and pair them by hand, and change them when they wear"
            edits = (case.edit(f"{block}/slop", f"{number_text(1e3 * to, 3)} mm"),)
            out.append(Proposal(edits=edits, says=text, then=then, cost=1.5 + 1.0 - share))
    return _once(out)


def sculpt_open(case: Case) -> tuple[Proposal, ...]:
    """A skin cast in another pose than neutral, where the file names no pose (where it does, the pose is a knob)."""
    out = []
    moved = {name for mech in case.mechs for name in case.creature.mechs[mech].outputs}
    for name, card in case.creature.skins.items() if case.finding.requirement in AT_SERVO else ():
        block = card.ref("")
        if card.sculpted_at or not moved & set(card.holds) or not block.startswith("/"):
            continue
        held = min(card.holds, key=lambda other: (-abs(card.holds[other]) * case.creature.functions[other].span, other))
        function = case.creature.functions[held]
        turns = PARTS[function.part].kind == "turn"
        for share in SCULPTED:
            at = function.travel[0] + share * function.span
            text = f"{math.degrees(at):.0f} deg" if turns else f"{1e3 * at:.1f} mm"
            plain = _plain(held) if card.side is not None else held
            out.append(
                Proposal(
                    edits=(case.edit(f"{block}/sculpted_at", {plain: text}),),
                    cost=5.0 + share,
                    says=f"sculpt the {spaced(name)} skin with the {named(held)} at {text}",
                    then="expect a slight fold at the other end",
                )
            )
    return _once(out)


def slower_pace(case: Case) -> tuple[Proposal, ...]:
    """Fewer syllables a second, where no recording fixes them."""
    brief = case.creature.brief
    if not _speaks(case) or case.creature.recordings or not brief.ref("").startswith("/"):
        return ()
    out = []
    for share in SLOWER:
        pace = round(brief.pace.syllables * share, 1)
        written = brief.pace.ref("").startswith("/")
        path, to = (
            ("/brief/pace/syllables", f"{pace:g} /s") if written else ("/brief/pace", {"syllables": f"{pace:g} /s"})
        )
        text = f"speak slower, {brief.pace.syllables:g} -> {pace:g} syllables a second"
        then = "the part lasts longer, and its performer must be able to hold it"
        out.append(Proposal(edits=(case.edit(path, to),), says=text, then=then, cost=3.0 + 1.0 - share, asks=True))
    return tuple(out)


def fewer_hits(case: Case) -> tuple[Proposal, ...]:
    """A plainer way of speaking."""
    speech = case.creature.brief.speech
    if not _speaks(case) or speech not in NEXT_SPEECH or not case.creature.brief.ref("").startswith("/"):
        return ()
    plainer = NEXT_SPEECH[speech]
    text = f"play the mouth as {plainer} instead of {speech}: fewer openings, the stressed ones kept"
    then = "lip closures are no longer claimed" if speech == "lips" else "stress is no longer seen"
    return (Proposal(edits=(case.edit("/brief/speech", plainer),), says=text, then=then, cost=3.5, asks=True),)


def _speaks(case: Case) -> bool:
    if case.finding.requirement not in AT_MOUTH:
        return False
    parts = {
        PARTS[case.creature.functions[name].part].group
        for mech in case.mechs
        for name in case.creature.mechs[mech].outputs
    }
    return "mouth" in parts


def milder_moods(case: Case) -> tuple[Proposal, ...]:
    """A function that goes less far in every mood."""
    if case.finding.requirement not in AT_SERVO:
        return ()
    out = []
    for name in sorted({name for mech in case.mechs for name in case.creature.mechs[mech].outputs}):
        plain = _plain(name)
        for share in SMALLER:
            edits = []
            for mood, pose in case.creature.poses.moods.items():
                for written in (name, plain):
                    path = f"/poses/moods/{mood}/{written}"
                    if name in pose and isinstance(value_at(case.tree, path), (str, int, float)):
                        edits.append(case.edit(path, f"{number_text(100 * share * pose[name], 3)} %"))
                        break
            if edits:
                text = f"let the {named(plain)} go {100 * share:.0f} % as far in its moods"
                then = "a smaller move is read later: ask the director"
                out.append(Proposal(edits=tuple(edits), says=text, then=then, cost=3.0 + 1.0 - share, asks=True))
    return _once(out)


def larger_pack(case: Case) -> tuple[Proposal, ...]:
    """More charge, where the pack does not last."""
    supply = case.creature.supply
    item = case.finding
    if (
        item.id != "power.minutes"
        or supply is None
        or not isinstance(supply.battery, Cells)
        or not isinstance(item.has, Quantity)
    ):
        return ()
    pack = supply.battery
    grow = max(item.needed.value * (1.0 + case.performs) / item.has.value, 1.0)
    to = math.ceil(pack.capacity * grow / 360.0) * 360.0  # whole 100 mAh
    edits = [case.edit("/supply/battery/capacity", f"{to / 3.6:.0f} mAh")]
    if pack.mass is not None:
        edits.append(case.edit("/supply/battery/mass", f"{1e3 * pack.mass * to / pack.capacity:.0f} g"))
    text = f"take a pack of {to / 3.6:.0f} mAh in place of {pack.capacity / 3.6:.0f} mAh"
    return (Proposal(edits=tuple(edits), says=text, then="it is heavier in proportion", cost=2.0),)


def stronger_supply(case: Case) -> tuple[Proposal, ...]:
    """A supply or regulator that gives more current."""
    item = case.finding
    paths = sorted(ref for ref in item.rests_on if ref.startswith("/supply/") and ref.endswith("/limit"))
    if item.id not in ("power.current", "power.startup") or len(paths) != 1 or not isinstance(item.has, Quantity):
        return ()
    to = math.ceil(item.has.value / (1.0 - case.performs))
    what = "regulator" if "/regulator/" in paths[0] else "supply"
    text = f"take a {what} that gives {to} A in place of {show(item.needed.value, 'A')}"
    then = "fuse and wire must bear it too"
    return (Proposal(edits=(case.edit(paths[0], f"{to} A"),), says=text, then=then, cost=2.0),)


def staggered_start(case: Case) -> tuple[Proposal, ...]:
    """Servos that come on one after another, where all at once is too much."""
    supply = case.creature.supply
    if case.finding.id != "power.startup" or supply is None or supply.link.start == "staggered":
        return ()
    path, to = (
        ("/supply/link/start", "staggered")
        if supply.link.ref("").startswith("/")
        else ("/supply/link", {"start": "staggered"})
    )
    text = "let the servos come on one after another, not all at once"
    then = "the receiver or the board must be able to do it: try it with the current meter in"
    return (Proposal(edits=(case.edit(path, to),), says=text, then=then, cost=1.0),)


def thicker_wire(case: Case) -> tuple[Proposal, ...]:
    """A thicker wire where a lead carries too much, loses too much, or would burn before its fuse."""
    supply, item = case.creature.supply, case.finding
    if item.id not in ("power.wire", "power.fuse", "power.brownout") or supply is None:
        return ()
    names = sorted({ref.split("/")[3] for ref in item.rests_on if ref.startswith("/supply/leads/")} & set(supply.leads))
    table = case.creature.stock_tables.ampacity
    out = []
    for name in names:
        lead = supply.leads[name]
        thicker = sorted((gauge for gauge in table if gauge < lead.awg), reverse=True)
        if item.id == "power.wire" and isinstance(item.has, Quantity):
            wanted = item.has.value / (1.0 - case.performs)
            thicker = [gauge for gauge in thicker if table[gauge].bundled >= wanted]
        elif item.id == "power.fuse":
            thicker = [gauge for gauge in thicker if table[gauge].chassis >= (lead.fuse or 0.0)]
        else:
            thicker = [gauge for gauge in thicker if gauge <= lead.awg - HALVES]
        if thicker:
            text = f"wire the lead {spaced(name)} with AWG {thicker[0]} in place of AWG {lead.awg}"
            then = "it is stiffer: leave it a loop wherever it crosses a joint"
            out.append(
                Proposal(edits=(case.edit(f"/supply/leads/{name}/awg", thicker[0]),), says=text, then=then, cost=2.0)
            )
    return tuple(out)


def off_the_head(case: Case) -> tuple[Proposal, ...]:
    """Boards, radio and battery carried elsewhere, and the heaviest entries made lighter."""
    item = case.finding
    if not item.id.startswith("mass.") or not isinstance(item.has, Quantity):
        return ()
    carrier = item.id.removeprefix("mass.")
    masses = {name: entry for name, entry in case.creature.masses.items() if entry.carried_by == carrier}
    else_where = next((name for name in ("post", "shoulders") if name != carrier and _bears(case.creature, name)), None)
    out = []
    for name, entry in masses.items():
        if else_where is not None and any(word in name for word in ("board", "loom", "radio", "receiver", "battery")):
            written = value_at(case.tree, f"/masses/{name}")
            block = written if isinstance(written, dict) and "mass" in written else {"mass": written}
            to = {**block, "carried_by": else_where}
            text = f"carry {spaced(name)} ({show(entry.mass, 'kg', 2)}) at the {else_where} instead of the {carrier}"
            edits = (case.edit(f"/masses/{name}", to),)
            out.append(
                Proposal(edits=edits, says=text, then="the loom gets longer and needs slack at the neck", cost=2.0)
            )
    over = item.has.value - item.needed.value * (1.0 - case.performs)
    for name, entry in sorted(masses.items(), key=lambda pair: (-pair[1].mass, pair[0]))[:3]:
        lighter = max(math.floor((entry.mass - over) / GRAMS) * GRAMS, LIGHTEST * entry.mass)
        written = value_at(case.tree, f"/masses/{name}")
        path = f"/masses/{name}/mass" if isinstance(written, dict) and "mass" in written else f"/masses/{name}"
        if over <= 0.0 or lighter >= entry.mass or value_at(case.tree, path) is ABSENT:
            continue
        text = f"build {spaced(name)} lighter, {show(entry.mass, 'kg')} -> {show(lighter, 'kg')}"
        out.append(
            Proposal(
                edits=(case.edit(path, f"{_grams(lighter)} ± {number_text(100 * BUILT_TO)} %"),),
                says=text,
                then="weigh it when it is done",
                cost=3.0,
            )
        )
    return tuple(out)


def cheaper_servos(case: Case) -> tuple[Proposal, ...]:
    """A cheaper class in place of one that costs most of the parts, wherever it is used."""
    creature = case.creature
    if case.finding.id != "limits.cost":
        return ()
    stock, prices = creature.stock_tables.servos, creature.shop.prices
    price = {name: prices.get(name, servo.price) for name, servo in {**stock, **creature.servos}.items()}
    used: dict[str, list[Servo]] = {}
    for means in creature.means.values():
        if isinstance(means, Servo) and means.ref("").startswith("/"):
            used.setdefault(means.model, []).append(means)
    out: list[tuple[float, Proposal]] = []
    for model, places in used.items():
        now, body = price[model], creature.servos[model].body
        for other, servo in stock.items():
            then = price[other]
            same = all(abs(a - b) <= 2e-3 for a, b in zip(servo.body[:2], body[:2], strict=True))
            if now is None or then is None or then >= now or not same or servo.measured:
                continue
            paths = sorted({f"{means.ref('')}/model" for means in places})
            count = sum(means.count for means in places)
            saved = count * (now - then)
            text = f"take {servo_said(other)}s in place of {count} x {spaced(model)}, {number_text(saved, 3)} EUR less"
            edits = tuple(case.edit(path, other) for path in paths)
            out.append((saved, Proposal(edits=edits, says=text, then="", cost=4.0)))
    out.sort(key=lambda pair: (-pair[0], pair[1].says))
    return tuple(proposal for _, proposal in out)


def remote_drive(case: Case) -> tuple[Proposal, ...]:
    """The heaviest servos in the head put where the head rests, each pulling through a cable."""
    creature = case.creature
    if case.finding.id not in ("mass.skull", "fit.skull", "fit.access", "skull.heat", "noise"):
        return ()
    base = next((name for name in ("post", "shoulders") if _bears(creature, name)), None)
    able = [name for name, mech in creature.mechs.items() if _may_leave(creature, mech)]
    heavy = sorted(able, key=lambda name: (-_servo_mass(creature, creature.mechs[name]), name))
    out: list[Proposal] = []
    for name in heavy if base is not None else ():
        mech = creature.mechs[name]
        function, means = creature.functions[mech.outputs[0]], creature.means[mech.inputs[0]]
        assert isinstance(means, Servo)  # _may_leave asked
        arm = getattr(mech.record, "arm", None) or REMOTE_ARM
        turns = PARTS[function.part].kind == "turn"
        ratio = function.span / (TURN_USED * creature.servos[means.model].travel)
        horn = math.ceil((ratio * arm if turns else ratio) / 0.5e-3) * 0.5e-3
        cable = {
            "kind": "cable", "pulls": "both_ways", "horn": _mm(horn), **({"arm": _mm(arm)} if turns else {}),
            "bends": list(REMOTE_BENDS), "length": REMOTE_LENGTH,
        }  # fmt: skip
        block = means.ref("")
        edits = [
            case.edit(
                mech.record.ref("") if mech.record.ref("").startswith("/") else f"{block.rpartition('/')[0]}/mech",
                cable,
            )
        ]
        edits.append(case.edit(f"{block}/carried_by", base))
        if value_at(case.tree, f"{block}/box") is not ABSENT:
            edits.append(case.edit(f"{block}/box", ABSENT))
        text = f"drive the {named(_plain(name))} from the {base} through a cable ({_mm(horn)} horn, {REMOTE_LENGTH} of housing)"
        then = "measure its lost motion with the head turned, and leave the loom slack at the neck"
        out.append(Proposal(edits=tuple(edits), says=text, then=then, cost=6.0))
    return _once(out)[:REMOTE_MOST]


def _may_leave(creature: Creature, mech: Mechanism) -> bool:
    """Return whether one servo moves one function of the head, and a cable could stand in for what carries the force."""
    means, function = creature.means[mech.inputs[0]], creature.functions[mech.outputs[0]]
    plain = len(mech.inputs) == len(mech.outputs) == 1 and mech.record.kind in (
        "direct",
        "four_bar",
        "ball_rod",
        "crank_slider",
    )
    return (
        plain and isinstance(means, Servo) and means.ref("").startswith("/") and means.carried_by is None
        and (function.carried_by == "skull")
    )  # fmt: skip


def _servo_mass(creature: Creature, mech: Mechanism) -> float:
    means = creature.means[mech.inputs[0]]
    return creature.servos[means.model].mass * means.count if isinstance(means, Servo) else 0.0


def _mm(length: float) -> str:
    return f"{number_text(1e3 * length, 3)} mm"


def _bears(creature: Creature, carrier: str) -> bool:
    borne = [function.carried_by for function in creature.functions.values()]
    return carrier in borne + [entry.carried_by for entry in creature.masses.values()]


def _grams(mass: float) -> str:
    return f"{number_text(1e3 * mass, 4)} g"


def _plain(name: str) -> str:
    """Return the name of a pair: what is written once is for both sides."""
    return name.removesuffix("_left").removesuffix("_right")


def _once(found: list[Proposal]) -> tuple[Proposal, ...]:
    """Return proposals without those that write the same: both sides of a pair are written once."""
    seen: dict[tuple[tuple[Ref, str], ...], Proposal] = {}
    for one in found:
        seen.setdefault(tuple((edit.path, repr(edit.to)) for edit in one.edits), one)
    return tuple(seen.values())


GENERATORS: Final[tuple[Generator, ...]] = (
    second_servo, balance_spring, tight_joints, sculpt_open, slower_pace, fewer_hits, milder_moods, larger_pack, staggered_start,
    thicker_wire, stronger_supply,
    off_the_head, cheaper_servos, remote_drive,
)  # fmt: skip
