"""``sides: both`` -> a left and a right one, each with its own differences laid over what they share."""

from __future__ import annotations

from functools import partial
from typing import Any, Final

from marotte.basis.faults import Fault, short
from marotte.creature.kept import Kept
from marotte.creature.origin import Block, Text, merged, origin_of, own_copy

SIDES: Final = ("left", "right")


def make_pairs(root: Block, section: str, faults: list[Fault], kept: Kept) -> None:
    """Put both sides of everything in a section that says ``sides`` in its place. Faults are added."""
    block = root.get(section)
    if not isinstance(block, Block):
        return
    made = Block(block.origin, keys_at={})
    for name, item in block.items():
        at = block.keys_at.get(name)
        for new_name, new_item in kept.of(("sided", section, name), (item,), partial(_sided, name, item, faults)):
            if new_name in made:
                faults.append(
                    Fault(
                        code="twice", what=f"{new_name} is made twice: by itself and by sides: both of its plain name",
                        place=at.place if at else None, path=at.ref if at else "",
                    )
                )  # fmt: skip
                continue
            made[new_name] = new_item
            if at is not None:
                made.keys_at[new_name] = at
    root[section] = made


def _sided(name: str, item: Any, faults: list[Fault]) -> list[tuple[str, Any]]:
    if not isinstance(item, Block) or "sides" not in item:
        return [(name, item)]
    written = item["sides"]
    if written not in ("both", *SIDES):
        origin = origin_of(written) or item.origin
        faults.append(
            Fault(
                code="choice",
                what=f"sides: {short(written)}",
                place=origin.place,
                path=origin.ref,
                allowed="both, left, right",
            )
        )
        written = "both"  # so that what names the pair elsewhere is not told as well
    plain = own_copy(item)
    differences = {side: plain.pop(side, None) for side in SIDES}
    del plain["sides"]
    pairs: list[tuple[str, Any]] = []
    for side in SIDES if written == "both" else (str(written),):
        own = differences[side]
        one = merged(plain, own) if isinstance(own, Block) else own_copy(plain)
        if own is not None and not isinstance(own, Block):
            origin = origin_of(own) or item.keys_at[side]
            faults.append(
                Fault(
                    code="wrong_kind", what=f"{side} holds a block of differences", place=origin.place, path=origin.ref
                )
            )
        one["side"] = Text(side, origin_of(written) or item.origin)
        pairs.append((f"{name}_{side}", one))
    return pairs
