"""Fewer shop hours: servos that nothing needs, one servo for both of a pair, and functions that stand still.

What else takes hours (sculpture, frame, hair, trying out, a suit) is in every creature of its kind, and a function given to a hand
would be another creature; neither is proposed.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from marotte.basis.contracts.common import Quantity
from marotte.basis.contracts.finding import ABSENT, Edit
from marotte.basis.given import Ref
from marotte.basis.units import number_text
from marotte.creature.anatomy import PARTS
from marotte.creature.edit import value_at
from marotte.creature.naming import several
from marotte.creature.schema.means import Air, Lever, Servo
from marotte.creature.schema.mechs import CrankSlider
from marotte.mech.skin_pieces import pieces
from marotte.verdict.cells import Cell
from marotte.verdict.remedies.leave_out import blocks, leave_out, movers, slack
from marotte.verdict.remedies.proposal import Case, Proposal, once, plain
from marotte.verdict.remedies.words import both
from marotte.verdict.requirements.budget import Budget, budget_of

SPARE: Final = 2.0
"""Torque over what is wanted that a servo must have before it takes the load of another as well."""
ALONE_COST: Final = 2.0
BAR_COST: Final = 4.0
STILL_COST: Final = 3.0
"""Of a servo taken off, of a bar for two, of a function that no longer moves (rules of this project)."""
LOST_COST: Final = 10.0
"""What is added for a function that the part moves all the time, and as much for one in all moods, or in all mouth shapes (a rule
of this project)."""
APART: Final = 0.1
"""Share of the travel by which a pair may be asked apart and still go on one bar (a rule of this project)."""
MOVED: Final = 0.1
"""Share of the travel from neutral beyond which a function counts as moving: idle life stays below it."""
MOST: Final = {"alone": 6, "bar": 6, "still": 3}
"""Changes of each kind that one remedy makes: with more standing still it is another creature (a rule of this project)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Saving:
    """One change that saves hours."""

    kind: Literal["alone", "bar", "still"]
    """Fewer servos on one load, one servo for both of a pair, or nothing moves any more."""
    ref: Ref
    """Block of the functions that it changes."""
    what: str
    """These functions in words."""
    hours: float
    cost: float
    edits: tuple[Edit, ...] = ()
    """Its own; none of one that leaves functions out, since those are taken out together."""
    bar: tuple[str, dict[str, object]] | None = None
    """A mech that it adds, by name."""
    lost: str = ""
    """How much of it the part asked for."""


def fewer_hours(case: Case) -> tuple[Proposal, ...]:
    """The changes with which the hours come under the limit, least lost for an hour first; for the grade, and for the limit alone."""
    item = case.finding
    budget = budget_of(case.creature, "hours") if item.id == "limits.hours" else None
    if not isinstance(budget, Budget) or not isinstance(item.has, Quantity):
        return ()
    one = {line.key: budget.one(line) or 0.0 for line in budget.lines}
    built = sorted((*_alone(case, one), *_bars(case, one)), key=_worth)
    still = sorted(_still(case, one), key=_worth)
    out = []
    for limit in (item.needed.value * (1.0 - case.performs), item.needed.value):
        want = item.has.value - limit
        more = [_enough(case, rows, one, want) for rows in ((*built, *still), sorted((*built, *still), key=_worth))]
        chosen = _enough(case, built, one, want) or min(filter(None, more), key=_cost, default=())
        if chosen:
            out.append(_proposal(case, chosen, hopes_all=limit < item.needed.value))
    return once(out)


def _worth(saving: Saving) -> tuple[float, str]:
    return saving.cost / saving.hours, saving.ref


def _cost(chosen: Sequence[Saving]) -> float:
    return sum(row.cost for row in chosen)


def _enough(case: Case, rows: Sequence[Saving], one: dict[str, float], want: float) -> tuple[Saving, ...]:
    """Return the first rows that save enough, without those that are not needed, the dearest gone first; none where all do not."""
    chosen: list[Saving] = []
    for row in rows:
        if _hours(case, chosen, one) >= want:
            break
        alike = sum(other.kind == row.kind for other in chosen)
        if alike < MOST[row.kind] and all(other.ref != row.ref for other in chosen):
            chosen.append(row)
    if _hours(case, chosen, one) < want:
        return ()
    for row in sorted(chosen, key=lambda row: (-row.cost, row.ref)):
        fewer = [other for other in chosen if other is not row]
        if fewer and _hours(case, fewer, one) >= want:
            chosen = fewer
    return tuple(chosen)


def _hours(case: Case, chosen: Sequence[Saving], one: dict[str, float]) -> float:
    """Return what some changes save together [h]: a skin that only they stretch is saved by none alone."""
    own = sum(row.hours - _skinned(case, (row,)) * one.get("skin", 0.0) for row in chosen)
    return own + _skinned(case, chosen) * one.get("skin", 0.0)


def _skinned(case: Case, rows: Sequence[Saving]) -> int:
    made = blocks(case.creature)
    return _slack_pieces(case, [name for row in rows if row.kind == "still" for name in made[row.ref]])


def _slack_pieces(case: Case, names: Sequence[str]) -> int:
    """Return how many pieces of skin need no longer be cast where these functions stand still."""
    gone = set(slack(case.creature, names))
    return sum(gone >= set(piece.cards) for piece in pieces(case.creature.skins, case.creature.masses))


def _alone(case: Case, one: dict[str, float]) -> Iterator[Saving]:
    """Yield the servos that share a load which fewer of them would move."""
    seen: set[Ref] = set()
    for mech in case.creature.mechs.values():
        means = case.creature.means[mech.inputs[0]]
        ref = means.ref("")
        if not isinstance(means, Servo) or means.count < 2 or len(mech.inputs) > 1 or ref in seen:
            continue
        twins = [other for other in case.creature.mechs.values() if case.creature.means[other.inputs[0]].ref("") == ref]
        seen.add(ref)
        if ref.startswith("/") and all(_spare(case, other.name) >= means.count for other in twins):
            off = means.count - 1
            yield Saving(
                kind="alone", ref=ref.rpartition("/")[0], what=several([other.name for other in twins]),
                hours=len(twins) * off * _servo(one), cost=ALONE_COST, edits=(case.edit(f"{ref}/count", 1),),
            )  # fmt: skip


def _bars(case: Case, one: dict[str, float]) -> Iterator[Saving]:
    """Yield pairs of tabs that one servo can move on a bar, since the part never asks them apart."""
    for ref, names in blocks(case.creature).items():
        if len(names) != 2 or _apart(case, names) > APART or movers(case.creature, names) is None:
            continue
        mech = case.creature.mechs.get(names[0])
        record, means = (mech.record, case.creature.means[names[0]]) if mech is not None else (None, None)
        if not isinstance(record, CrankSlider) or not isinstance(means, Servo) or means.ref("") != f"{ref}/means":
            continue
        sided = any(value_at(case.tree, f"{ref}/{side}") is not ABSENT for side in ("left", "right"))
        if sided or PARTS[case.creature.functions[names[0]].part].kind == "turn":
            continue
        if min(_spare(case, name) for name in names) < SPARE:
            continue
        written = value_at(case.tree, f"{ref}/means")
        links = value_at(case.tree, f"{ref}/mech")
        if not isinstance(written, dict) or not isinstance(links, dict):
            continue
        kept = ("horn", "rod", "horn_at_neutral", "slop", "friction", "efficiency")
        bar = {
            "kind": "tee_bar", "moves": list(names), "shares": ["100 %", "100 %"],
            "means": {key: value for key, value in written.items() if key not in ("box", "count")},
            **{key: links[key] for key in kept if key in links},
        }  # fmt: skip
        yield Saving(
            kind="bar", ref=ref, what=several(names), hours=means.count * _servo(one), cost=BAR_COST,
            edits=(case.edit(f"{ref}/means", ABSENT), case.edit(f"{ref}/mech", ABSENT)), bar=(f"{plain(names[0])}_bar", bar),
        )  # fmt: skip


def _still(case: Case, one: dict[str, float]) -> Iterator[Saving]:
    """Yield functions that no hit needs, each with how much of the part moves it."""
    asked = case.results.asked
    if not isinstance(asked, Cell):
        return  # what would be lost is not known
    needed = {need.function for hit in asked.value.hits for need in hit.needs}
    for ref, names in blocks(case.creature).items():
        mechs = movers(case.creature, names)
        if not mechs or needed & set(names):
            continue
        means = [case.creature.means[given] for name in mechs for given in case.creature.mechs[name].inputs]
        if not all(isinstance(one, (Servo, Lever, Air)) for one in means):
            continue
        hours = sum(m.count * _servo(one) if isinstance(m, Servo) else one.get(m.kind, 0.0) for m in means)
        hours += _slack_pieces(case, names) * one.get("skin", 0.0)
        share, lost = _lost(case, names)
        yield Saving(
            kind="still", ref=ref, what=several(names), hours=hours, cost=STILL_COST + LOST_COST * share, lost=lost
        )


def _servo(one: dict[str, float]) -> float:
    """Return the hours of one servo with its wiring."""
    return one.get("servo", 0.0) + one.get("wiring", 0.0)


def _spare(case: Case, mech: str) -> float:
    """Return torque over what is wanted at the scarcest instant of one mechanism; 0 where that is not known."""
    points = case.results.worst.get(mech)
    ratios = [p.has / max(p.torque, 1e-12) for p in points] if isinstance(points, tuple) else []
    return min(ratios, default=0.0)


def _rows(case: Case, names: Sequence[str]) -> list[np.ndarray[tuple[int, ...], np.dtype[np.float64]]]:
    asked = case.results.asked
    if not isinstance(asked, Cell):
        return []
    motion = asked.value.motion
    return [motion.row(name).astype(np.float64) for name in names if name in motion.names]


def _apart(case: Case, names: Sequence[str]) -> float:
    """Return how far a pair is asked apart at most, as a share of the travel; all of it where that is not known."""
    rows = _rows(case, names)
    if len(rows) != 2:
        return 1.0
    return float(np.abs(rows[0] - rows[1]).max(initial=0.0)) / case.creature.functions[names[0]].span


def _lost(case: Case, names: Sequence[str]) -> tuple[float, str]:
    """Return what goes with functions that stand still, as a number and in words.

    The shares of the part's time in which they are away from where they sit, of the moods and of the mouth shapes that move them.
    """
    function = case.creature.functions[names[0]]
    rows = _rows(case, names)
    played = max((float(np.mean(np.abs(q - function.neutral) > MOVED * function.span)) for q in rows), default=0.0)
    share, words = played, [f"{number_text(100.0 * played, 2)} % of the part"] if played > 0.0 else []
    for poses, says in ((case.creature.poses.moods, "moods"), (case.creature.poses.mouth, "mouth shapes")):
        count = sum(any(abs(pose.get(name, 0.0)) > 0.0 for name in names) for pose in poses.values())
        if count:
            share += count / len(poses)
            words.append(f"{count} of {len(poses)} {says}")
    return share, ", ".join(words) or "nothing that the part asks for"


def _proposal(case: Case, chosen: Sequence[Saving], *, hopes_all: bool) -> Proposal:
    """Return the changes of a remedy together, those of a kind in one clause."""
    alone, bars, still = ([row for row in chosen if row.kind == kind] for kind in MOST)
    edits = [edit for row in chosen for edit in row.edits]
    made = dict(row.bar for row in bars if row.bar is not None)
    if made and value_at(case.tree, "/mechs") is ABSENT:
        edits.append(case.edit("/mechs", made))
    else:
        edits += [case.edit(f"/mechs/{name}", bar) for name, bar in made.items()]
    edits += leave_out(case, [row.ref for row in still]) if still else []
    says, then = [], []
    if alone:
        says.append(f"move {both([row.what for row in alone])} with a single servo")
    if bars:
        what = both([row.what for row in bars])
        says.append(f"work {what}{', each pair' if len(bars) > 1 else ''} from one servo by a bar")
        then.append(f"{what} then always go together, as they do all through this part")
    if still:
        says.append(f"let {both([row.what for row in still])} stand still")
        then.append(f"lost with {'; with '.join(f'{row.what}: {row.lost}' for row in still)}. Ask the director")
    return Proposal(
        edits=tuple(edits), says=", and ".join(says), then="; ".join(then), cost=_cost(chosen), asks=bool(still),
        hopes="performs" if hopes_all else "only_just",
    )  # fmt: skip
