"""Changes of what a creature weighs and costs: things carried elsewhere, lighter parts, cheaper servos."""

from __future__ import annotations

import math
from typing import Final

from marotte.basis.contracts.common import Quantity
from marotte.basis.contracts.finding import ABSENT
from marotte.basis.units import number_text, show
from marotte.creature.edit import value_at
from marotte.creature.schema.means import CHANGE_SERVO, Servo
from marotte.mech.masses import taken_whole
from marotte.verdict.remedies.proposal import Case, Proposal, bears
from marotte.verdict.remedies.turn import BUILT_TO
from marotte.verdict.remedies.words import servo_said, spaced

GRAMS: Final = 5e-3
"""Steps in which a part is made lighter."""
LIGHTEST: Final = 0.6
"""Share that may stay of a written mass, before it is another part altogether (a rule of this project)."""


def off_the_head(case: Case) -> tuple[Proposal, ...]:
    """Boards, radio and battery carried elsewhere, and the heaviest entries made lighter."""
    item = case.finding
    if not item.id.startswith("mass.") or not isinstance(item.has, Quantity):
        return ()
    carrier = item.id.removeprefix("mass.")
    masses = {name: entry for name, entry in case.creature.masses.items() if entry.carried_by == carrier}
    else_where = next((name for name in ("post", "shoulders") if name != carrier and bears(case.creature, name)), None)
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
    given = case.creature.given
    weighed = {
        ref for entry in masses.values() if (ref := entry.ref("mass")) in given and given[ref].source == "measured"
    }
    built = {name: entry for name, entry in masses.items() if not taken_whole(name, entry.ref("mass") in weighed)}
    for name, entry in sorted(built.items(), key=lambda pair: (-pair[1].mass, pair[0]))[:3]:
        # less than what it is built to is no saving
        saved = max(over, BUILT_TO * entry.mass)
        lighter = max(math.floor((entry.mass - saved) / GRAMS) * GRAMS, LIGHTEST * entry.mass)
        written = value_at(case.tree, f"/masses/{name}")
        path = f"/masses/{name}/mass" if isinstance(written, dict) and "mass" in written else f"/masses/{name}"
        if over <= 0.0 or lighter >= entry.mass or value_at(case.tree, path) is ABSENT:
            continue
        to_tolerance = f"± {number_text(100 * BUILT_TO)} %"
        text = f"build {spaced(name)} lighter, {show(entry.mass, 'kg')} -> {show(lighter, 'kg')} {to_tolerance}"
        out.append(
            Proposal(
                edits=(case.edit(path, f"{_grams(lighter)} {to_tolerance}"),),
                says=text,
                then="weigh it when it is done",
                cost=3.0,
            )
        )
    return tuple(out)


def _grams(mass: float) -> str:
    return f"{number_text(1e3 * mass, 4)} g"


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
        now, old = price[model], creature.servos[model]
        for other, servo in stock.items():
            then = price[other]
            if now is None or then is None or then >= now or not servo.same_body(old) or servo.measured:
                continue
            paths = sorted({f"{means.ref('')}/model" for means in places})
            count = sum(means.count for means in places)
            saved = count * (now - then)
            text = f"take {servo_said(other)}s in place of {count} x {spaced(model)}, {number_text(saved, 3)} EUR less"
            edits = tuple(case.edit(path, other) for path in paths)
            out.append((saved, Proposal(edits=edits, says=text, then="", cost=CHANGE_SERVO.cost)))
    out.sort(key=lambda pair: (-pair[0], pair[1].says))
    return tuple(proposal for _, proposal in out)
