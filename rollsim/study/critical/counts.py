"""What a count of events in storms says: of the probability, and of what is worth counting."""

from __future__ import annotations

import math

from rollsim.measures.probability import clopper_pearson
from rollsim.study.critical.trials import Trial

BLOCK = 64
"""Storms are taken by whole blocks of the engine."""
SCAN = 16
"""Even parts of the range whose ends are tried first, to see where the answer lies."""
PILOT_EVENTS = 10.0
"""Events, or runs without one where these are rarer, that the scan expects at the root."""
LEVEL = 0.95
"""Confidence of the limits."""


def side(trial: Trial, p: float, level: float = LEVEL) -> int:
    """-1 where the count excludes `p` from below, 1 from above, 0 where it leaves it open."""
    lower, upper = clopper_pearson(trial.events, trial.solved, level)
    return int(lower > p) - int(upper < p)


def blocks(storms: float) -> int:
    """Whole blocks that hold so many storms."""
    return BLOCK * max(1, math.ceil(storms / BLOCK - 1e-9))


def pilot(p: float, most: int) -> int:
    """Storms of the scan where a value lies near the root; less where that would take it all."""
    wanted = PILOT_EVENTS / min(p, 1.0 - p)
    return blocks(min(wanted, most / (2.0 * SCAN)))


def excluded(p: float, storms: int) -> tuple[float, float]:
    """The shares of events in so many storms below and above which a count excludes `p`.

    Its exact 95 % limits leave `p` out there. Half an event from a count; outside 0 to 1 where
    none excludes it.
    """
    from scipy.stats import binom

    tail = 0.5 * (1.0 - LEVEL)
    below, above = binom.ppf(tail, storms, p) - 0.5, binom.isf(tail, storms, p) + 0.5
    return float(below) / storms, float(above) / storms
