"""Functions left out of the file whole: their entries, and every place that names them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Final

from marotte.basis.contracts.finding import ABSENT, Edit
from marotte.basis.given import Ref
from marotte.creature.creature import Creature
from marotte.creature.edit import value_at
from marotte.verdict.remedies.proposal import Case, plain

HELD: Final = ("holds", "sculpted_at")
"""Tables of a skin that name functions."""


def blocks(creature: Creature) -> dict[Ref, tuple[str, ...]]:
    """Return the written blocks of functions with the functions that each makes: one, or both of a pair."""
    out: dict[Ref, tuple[str, ...]] = {}
    for name, function in creature.functions.items():
        ref = function.ref("")
        out[ref] = (*out.get(ref, ()), name)
    return {ref: names for ref, names in out.items() if ref.startswith("/functions/")}


def movers(creature: Creature, names: Sequence[str]) -> tuple[str, ...] | None:
    """Return the mechs that move some functions; None where one moves another function too."""
    found = [name for name, mech in creature.mechs.items() if set(mech.outputs) & set(names)]
    return tuple(found) if all(set(creature.mechs[name].outputs) <= set(names) for name in found) else None


def slack(creature: Creature, names: Sequence[str]) -> tuple[str, ...]:
    """Return the skins that nothing but these functions stretches."""
    return tuple(name for name, card in creature.skins.items() if set(card.holds) <= set(names))


def leave_out(case: Case, refs: Sequence[Ref]) -> tuple[Edit, ...]:
    """Return the edits that take written blocks of functions out, with their mechs, skins, poses and controls."""
    made = blocks(case.creature)
    gone = {name for ref in refs for name in made[ref]}
    said = gone | {plain(name) for name in gone}
    paths = [*refs, *_mechs(case.creature, gone), *_skins(case, gone, said)]
    paths += [
        f"/poses/{group}/{pose}/{name}"
        for group in ("mouth", "moods")
        for pose, table in _block(case, f"/poses/{group}").items()
        for name in _named(table, said)
    ]
    for control, entry in _block(case, "/hand_plan").items():
        mix = entry.get("mix") if isinstance(entry, Mapping) else None
        names = list(_named(mix, said))
        whole = isinstance(mix, Mapping) and len(names) == len(mix)
        paths += [f"/hand_plan/{control}"] if whole else [f"/hand_plan/{control}/mix/{name}" for name in names]
    return tuple(case.edit(path, ABSENT) for path in paths)


def _mechs(creature: Creature, gone: set[str]) -> list[Ref]:
    """Return the joined mechs that move nothing else; those that a function writes itself go with it."""
    found = {
        "/".join(creature.mechs[name].record.ref("").split("/")[:3])
        for name in movers(creature, sorted(gone)) or ()
        if creature.mechs[name].record.ref("").startswith("/mechs/")
    }
    return sorted(found)


def _skins(case: Case, gone: set[str], said: set[str]) -> Iterator[Ref]:
    """Yield the skins that go whole, and the entries of those that stay."""
    whole = set(slack(case.creature, sorted(gone)))
    seen: set[Ref] = set()
    for name, card in case.creature.skins.items():
        ref = card.ref("")
        if not gone & set(card.holds) or ref in seen:
            continue
        seen.add(ref)
        if name in whole:
            yield ref
            continue
        for table in HELD:
            yield from (f"{ref}/{table}/{held}" for held in _named(_block(case, f"{ref}/{table}"), said))


def _block(case: Case, path: Ref) -> dict[str, Any]:
    value = value_at(case.tree, path)
    return value if isinstance(value, dict) else {}


def _named(table: object, said: set[str]) -> Iterator[str]:
    return (name for name in table if name in said) if isinstance(table, Mapping) else iter(())
