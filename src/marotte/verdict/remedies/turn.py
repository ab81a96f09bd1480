"""One knob of one creature: where it stands, where else it may, and how it is written."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, TypeAlias

from marotte.basis.given import Given, Place, Ref
from marotte.basis.units import MASS, Kind, number_text
from marotte.creature.schema.quantities import DECISIONS

Chain: TypeAlias = tuple[str | int, ...]
"""The way from a creature to a value: names of fields, keys of tables, places of lists."""
Value: TypeAlias = float | str
BUILT_TO: Final = 0.1
"""Half-width, as a share, to which a part can be built to a weight (common practice, no source)."""
NOWHERE: Final = Place(file="", line=1, column=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Turn:
    """One knob of one creature: where it stands, where else it may."""

    ref: Ref
    """In the written file; one that is not written yet is written there."""
    written: bool
    says: str
    chains: tuple[Chain, ...]
    """Every place in the model that this one written value fills; both sides of a pair."""
    now: Value
    choices: tuple[Value, ...]
    """Nearest to ``now`` first."""
    kind: Kind | None
    """None where it is a choice of names."""
    cost: float
    re_clocks: bool = False
    near: int = 0
    """Of a choice: how many of the first fit where it stands now."""
    stands: Ref = ""
    """Where it stands now, if not at ``ref``: a default, or the plain name of a pair of which one side is turned."""

    def text(self, value: Value) -> str:
        """Return a value as it is written into the file."""
        if isinstance(value, str) or self.kind is None:
            return str(value)
        factor = self.kind.spellings[self.kind.shown]
        return f"{number_text(value / factor, 6)} {self.kind.shown}".strip()

    def to_write(self, value: Value) -> str:
        """Return a value as a remedy writes it: a mass with the tolerance that it is built to, for nobody has weighed it yet."""
        return self.text(value) + (f" ± {number_text(100 * BUILT_TO)} %" if self.kind is MASS else "")

    def given(self, value: Value) -> Given | None:
        """Return how sure a value is once it is written; None of a choice."""
        if isinstance(value, str) or self.kind is None:
            return None
        return Given(
            value=value, unit=self.kind.si, written=self.to_write(value),
            source="measured" if self.kind in DECISIONS else "guess",
            spread=BUILT_TO * value if self.kind is MASS else None, place=NOWHERE, ref=self.stands or self.ref,
        )  # fmt: skip
