"""Changes that are more than a knob: a second servo, a balance spring, a slower pace... Each a function of creature and finding.

Every generator returns proposals, the smallest first. None touches ``limits``: what was asked for is not a remedy.
"""

from __future__ import annotations

from typing import Final

from marotte.verdict.remedies.acting import fewer_hits, milder_moods, slower_pace
from marotte.verdict.remedies.budget import cheaper_servos, off_the_head
from marotte.verdict.remedies.hatch import another_hatch
from marotte.verdict.remedies.hours import fewer_hours
from marotte.verdict.remedies.noise import played_back, quieter_servos
from marotte.verdict.remedies.part import balance_spring, sculpt_open, second_servo, tight_joints
from marotte.verdict.remedies.proposal import Case, Generator, Proposal
from marotte.verdict.remedies.remote import remote_drive
from marotte.verdict.remedies.supply import larger_pack, smaller_fuse, staggered_start, stronger_supply, thicker_wire

GENERATORS: Final[tuple[Generator, ...]] = (
    second_servo, balance_spring, tight_joints, sculpt_open, slower_pace, fewer_hits, milder_moods, larger_pack, staggered_start,
    thicker_wire, smaller_fuse, stronger_supply,
    off_the_head, cheaper_servos, remote_drive, another_hatch, quieter_servos, played_back, fewer_hours,
)  # fmt: skip


def proposals(case: Case) -> tuple[Proposal, ...]:
    """Return every proposal for a finding, cheapest first, then in the order of the generators."""
    return tuple(sorted((found for one in GENERATORS for found in one(case)), key=lambda found: found.cost))
