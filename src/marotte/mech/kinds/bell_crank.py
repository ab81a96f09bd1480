"""A bell-crank before an arm or a tab: docs/methods/bell_crank.md.

Two planar links one after the other; the crank turns by the same angle in both planes.
"""

from __future__ import annotations

from typing import cast

from marotte.basis.contracts.common import Unknown
from marotte.basis.contracts.mech import Transmission
from marotte.creature.schema.mechs import BellCrank
from marotte.mech.case import Case, jammed
from marotte.mech.chain import Chain, Link
from marotte.mech.joints import EX, EY, turn
from marotte.mech.kinds.crank_slider import LONG, slide_link
from marotte.mech.kinds.four_bar import ORIGIN, arm_from_horn, closing_sentence, horn_from_arm
from marotte.mech.span import Extra, transmit


def links_of(case: Case) -> tuple[tuple[Link, Link], float] | Unknown:
    """Return both links of a bell-crank as they stand at neutral, horn to crank and crank to arm or tab, and the horn's angle there."""
    record = cast(BellCrank, case.mechanism.record)
    lengths = (record.horn, record.rod, record.in_arm, record.ground)
    horn = horn_from_arm(*lengths, record.in_arm_at_neutral, record.branch)
    if horn is None:
        sentence = closing_sentence(case.said, lengths, record.in_arm_at_neutral, "arm")
        return jammed(case, "unclosed", sentence, ("rod", "in_arm_at_neutral"))
    first = Link(
        near=turn(ORIGIN, EX, EY, record.horn, horn),
        far=turn((record.ground, 0.0, 0.0), EX, EY, record.in_arm, record.in_arm_at_neutral),
        rod=record.rod,
        at=(0.0, 0.0),
        slop=case.slop()[0],
        names=("horn", "crank"),
    )
    second = _second(case, record)
    return second if isinstance(second, Unknown) else ((first, second), horn)


def solve(case: Case) -> Transmission | Unknown:
    """Return the transmission of a bell-crank and what it drives, over the function's travel."""
    record, found = cast(BellCrank, case.mechanism.record), links_of(case)
    if isinstance(found, Unknown):
        return found
    links, horn = found
    clocking = {"horn": horn, "in_arm": record.in_arm_at_neutral, "out_arm": record.out_arm_at_neutral}
    return transmit(case, Chain(links, case.functions[0].neutral), Extra(told=case.slop()[1], clocking=clocking))


def _second(case: Case, record: BellCrank) -> Link | Unknown:
    """Return the link from the crank's second arm to the output's arm, or to the tab."""
    neutral = case.functions[0].neutral
    rod = record.next_rod if record.next_rod is not None else LONG * record.out_arm
    if record.next_arm is None:
        return slide_link(
            case, record.out_arm, rod, record.next_offset, record.out_arm_at_neutral, record.next_branch,
            record.slides, neutral, ("second crank arm", "tab"),
        )  # fmt: skip
    if record.next_ground is None or record.next_rod is None:
        missing = "next_ground" if record.next_ground is None else "next_rod"
        return Unknown(why=f"{case.said}: a bell-crank that turns an arm needs {missing}", wants=(record.ref(missing),))
    lengths = (record.out_arm, record.next_rod, record.next_arm, record.next_ground)
    arm = arm_from_horn(*lengths, record.out_arm_at_neutral, record.next_branch)
    if arm is None:
        sentence = closing_sentence(case.said, lengths, record.out_arm_at_neutral, "horn")
        return jammed(case, "unclosed", sentence, ("next_rod", "out_arm_at_neutral"))
    sense = 1.0 if record.arm_turns == "with" else -1.0
    return Link(
        near=turn(ORIGIN, EX, EY, record.out_arm, record.out_arm_at_neutral),
        far=turn((record.next_ground, 0.0, 0.0), EX, EY, record.next_arm, arm - sense * neutral, sense),
        rod=record.next_rod,
        at=(0.0, neutral),
        slop=case.slop()[0],
        names=("second crank arm", "arm"),
    )
