"""Which skin cards are one cast piece, by what the file weighs as one. docs/methods/masses.md and docs/methods/budget.md."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from marotte.creature.schema.skins import SkinCard


@dataclass(frozen=True, slots=True)
class Piece:
    """One piece of skin as it is cast."""

    cards: tuple[str, ...]
    """Its skin cards: each is a stretch of it that bears a pull."""
    material: str | None
    """Its skin of the stock; None where all that is known of it was measured."""
    entry: str | None
    """The entry under masses that is its weight; None where nothing but its strips is written."""


def weighed_as(card: str, masses: Iterable[str]) -> str | None:
    """Return the entry under masses that weighs a skin card's whole piece: the one of its name, else the first that is called a skin."""
    names = tuple(masses)
    return card if card in names else next((name for name in names if "skin" in name), None)


def pieces(skins: Mapping[str, SkinCard], masses: Iterable[str]) -> tuple[Piece, ...]:
    """Return the pieces that skins are cast in: one an entry and material; cards that no entry weighs are a piece each.

    A measured card, which has no material, is of its entry's first piece.
    """
    names = tuple(masses)
    found: dict[tuple[str, str | None], list[str]] = {}
    alone: list[Piece] = []
    for card in sorted(skins, key=lambda card: skins[card].strip is None):
        strip, entry = skins[card].strip, weighed_as(card, names)
        material = strip.material if strip is not None else None
        if entry is None:
            alone.append(Piece((card,), material, None))
        elif material is None:
            place = next((place for place in found if place[0] == entry), (entry, None))
            found.setdefault(place, []).append(card)
        else:
            found.setdefault((entry, material), []).append(card)
    made = [Piece(tuple(cards), material, entry) for (entry, material), cards in found.items()]
    order = {card: k for k, card in enumerate(skins)}
    return tuple(sorted((*made, *alone), key=lambda piece: min(order[card] for card in piece.cards)))
