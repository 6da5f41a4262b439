"""The middle of a sample with limits that ask nothing of its distribution."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import bdtr


class Median(NamedTuple):
    """A median with two-sided limits; infinite limits where the sample is too small for any."""

    value: float
    lower: float
    upper: float


def median(sample: ArrayLike, level: float = 0.95) -> Median:
    """The median of a sample and its exact limits; NaN of an empty sample.

    The limits are the r-th least and r-th greatest value, with the greatest r for which a binomial
    count of n and 1/2 stays below r with at most half of 1 - level (order statistics, common
    practice in statistics).
    """
    ordered = np.sort(np.asarray(sample, dtype=np.float64))
    n = ordered.size
    if n == 0:
        return Median(np.nan, np.nan, np.nan)
    # bdtr(i, n, p) is the chance of a count of at most i; six deviations below n/2 it is nothing.
    first = max(0, int(0.5 * n - 3.0 * np.sqrt(n)))
    below = bdtr(np.arange(first, n // 2), n, 0.5)
    r = first + int(np.count_nonzero(below <= 0.5 * (1.0 - level)))
    middle = float(np.median(ordered))
    if r == 0:
        return Median(middle, -np.inf, np.inf)
    return Median(middle, float(ordered[r - 1]), float(ordered[n - r]))
