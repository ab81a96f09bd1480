"""Whether a motion meets a hit: all needs true together for its hold somewhere in its window."""

from __future__ import annotations

import numpy as np

from marotte.basis.contracts.common import Motion
from marotte.basis.contracts.script import Hit


def met(hit: Hit, motion: Motion, slack: float = 1e-6) -> bool:
    """Return whether the motion meets the hit."""
    first = max(0, -(-hit.opens // motion.every))
    last = min(motion.samples - 1, hit.shuts // motion.every)
    if last < first:
        return False
    true = np.ones(last - first + 1, bool)
    for need in hit.needs:
        row = motion.row(need.function)[first : last + 1].astype(float)
        true &= row >= need.bound - slack if need.sense == ">=" else row <= need.bound + slack
    longest = run = 0
    for value in true:
        run = run + 1 if value else 0
        longest = max(longest, run)
    # a run of k samples covers (k - 1) steps for sure
    return longest > 0 and (longest - 1) * motion.every >= min(hit.hold, (last - first) * motion.every) - motion.every
