"""The fragility: how likely she fails in weather so and so many times as strong.

The distribution of severity factors over storms (D. Vamvatsikos and C. A. Cornell, "Incremental
dynamic analysis", Earthquake Engng Struct. Dyn. 31, 2002, 491-514), which is that of the first
failure: where she survives again above it (structural resurrection) counting finds fewer.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from rollsim.measures.probability import clopper_pearson

Floats = NDArray[np.float64]


class Fragility(NamedTuple):
    """The share of storms in which she has failed at each `factor`, and its 95 % limits."""

    factor: Floats
    share: Floats
    lower: Floats
    upper: Floats


def fragility(sample: ArrayLike, factor: ArrayLike, level: float = 0.95) -> Fragility:
    """The empirical distribution of severity factors (extended numbers) at each `factor`.

    Distribution-free limits, each factor by itself (pointwise): Clopper and Pearson's of the storms
    whose factor is no greater. `factor` must lie within the range of the search.
    """
    ordered = np.sort(np.asarray(sample, dtype=np.float64))
    at = np.asarray(factor, dtype=np.float64)
    failed = np.searchsorted(ordered, at, side="right")
    lower, upper = clopper_pearson(failed, ordered.size, level)
    share = failed / ordered.size if ordered.size else np.full(at.shape, math.nan)
    return Fragility(at, share, lower, upper)


class Lognormal(NamedTuple):
    """A lognormal distribution: its `median` and the standard deviation of the logarithm."""

    median: float
    deviation: float

    def share(self, factor: ArrayLike) -> Floats:
        """The probability of a factor no greater."""
        from scipy.special import ndtr

        at = np.log(np.asarray(factor, dtype=np.float64))
        return np.asarray(ndtr((at - math.log(self.median)) / self.deviation))


LEAST_FOUND = 5
"""Factors within the range of a search below which no distribution is fitted."""


def lognormal(sample: ArrayLike, tried: tuple[float, float]) -> Lognormal | None:
    """The lognormal of greatest likelihood; what lies beyond the factors `tried` is censored there.

    None where fewer than LEAST_FOUND factors, or fewer than half of the storms, lie within the
    range: then the fit would say more than the storms do.
    """
    from scipy import stats

    value = np.asarray(sample, dtype=np.float64)
    inside = np.log(value[np.isfinite(value)])
    if inside.size < LEAST_FOUND or 2 * inside.size < value.size or np.ptp(inside) == 0.0:
        return None
    below, above = (np.count_nonzero(value == end) for end in (-math.inf, math.inf))
    first, last = np.log(tried)
    data = stats.CensoredData(inside, left=np.full(below, first), right=np.full(above, last))
    start = {"loc": float(np.median(inside)), "scale": float(np.std(inside))}
    mean, deviation = stats.norm.fit(data, **start)
    return Lognormal(math.exp(mean), float(deviation))
