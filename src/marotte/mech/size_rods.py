"""Sizing of what one servo moves through rods: four-bar, crank-slider, ball rod, bell-crank, tee bar. docs/methods/sizing.md."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from marotte.basis.contracts.common import F64, Unknown
from marotte.creature.schema.mechs import BallRod, BellCrank, FourBar, Linkage, TeeBar
from marotte.mech.ask import use_of
from marotte.mech.case import Case
from marotte.mech.chain import Chain
from marotte.mech.kinds import ball_rod, bell_crank, crank_slider, four_bar, tee_bar
from marotte.mech.size_candidate import GOOD_ANGLE, GOOD_USE, Candidate
from marotte.mech.size_judge import Trial, judged
from marotte.mech.size_search import ROOM, TURNED, Search, Ways
from marotte.mech.size_start import guess, square, syntheses


def candidates(trial: Trial) -> Iterator[Candidate]:
    """Yield proposals for one mechanism with one input, judged."""
    return Search(trial, guess(trial), Ways(misses, judged, _starts)).candidates()


def chain_of(case: Case) -> Chain | None:
    """Return the chain of a trial record, or None where it does not close at neutral. Of a tee bar, to its bar."""
    record, neutral = case.mechanism.record, case.functions[0].neutral
    if isinstance(record, BellCrank):
        both = bell_crank.links_of(case)
        return None if isinstance(both, Unknown) else Chain(both[0], neutral)
    if isinstance(record, BallRod):
        pair = ball_rod.link_of(case)
        return None if isinstance(pair, Unknown) else Chain((pair[0],), neutral)
    if isinstance(record, TeeBar):
        bar = tee_bar.link_of(case)
        return None if isinstance(bar, Unknown) else Chain((bar,), 0.0)
    link = four_bar.link_of(case) if isinstance(record, FourBar) else crank_slider.link_of(case)
    return None if isinstance(link, Unknown) else Chain((link,), neutral)


def misses(trial: Trial, record: Linkage) -> F64:
    """Return what the least squares makes small, (3 n + 1,): angles short, torque over, turns of the way, swing over."""
    ask = trial.ask
    grid = ask.first.grid
    n = grid.size
    chain = chain_of(trial.with_record(record))
    if chain is None:
        return np.full(3 * n + 1, 2.0)
    swept = chain.backward(grid)
    closed = swept.reach > 0.0
    sine = np.where(closed, swept.sine, swept.reach)
    rate = np.where(closed, 1.0 / np.where(closed & (swept.rate != 0.0), swept.rate, 1e-3), 1.0)
    flat = np.maximum(math.sin(ROOM * GOOD_ANGLE) - sine, 0.0)
    use = use_of(ask, rate, record.efficiency, record.friction)
    weak = np.maximum(np.log(np.maximum(use, 1e-6) / (0.9 * GOOD_USE)), 0.0)
    turned = np.where(np.sign(rate) != np.sign(rate[0]), 1.0, 0.0)
    swing = float(np.ptp(swept.position[closed])) if closed.any() else 0.0
    far = max(swing / (TURNED * ask.line.turn) - 1.0, 0.0)
    share = 1.0 / math.sqrt(n)
    return np.concatenate((3.0 * share * flat, share * weak, share * turned, [5.0 * far]))


def _starts(trial: Trial, record: Linkage, written: F64) -> Iterator[F64]:
    yield from square(trial, record, written)
    if isinstance(record, FourBar) and record.arm_at_neutral is not None:
        yield from syntheses(trial, record)
