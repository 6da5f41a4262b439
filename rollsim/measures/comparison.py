"""Two loadings in the same storms: how far apart their probabilities are, and how surely."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import brentq
from scipy.special import bdtr, ndtri

from rollsim.measures.probability import Pair


class Comparison(NamedTuple):
    """P(A fails) − P(B fails) with two-sided limits, and the exact test on discordant storms.

    `p_value`: how likely a split of the discordant storms at least as uneven is if A and B are
    alike. Difference and limits are NaN without common storms.
    """

    difference: float
    lower: float
    upper: float
    p_value: float


def compare(pair: Pair, level: float = 0.95) -> Comparison:
    """A against B over the storms that both met, counted in `pair`."""
    storms = pair.only_a + pair.only_b + pair.both + pair.neither
    p_value = discordant_test(pair.only_a, pair.only_b)
    if storms == 0:
        return Comparison(math.nan, math.nan, math.nan, p_value)
    lower, upper = paired_interval(pair.only_a, pair.only_b, storms, level)
    return Comparison((pair.only_a - pair.only_b) / storms, lower, upper, p_value)


def discordant_test(only_a: int, only_b: int) -> float:
    """Two-sided exact test that discordant storms fall to A and to B alike: binomial, p = 1/2.

    McNemar's test in its exact form (Q. McNemar, Psychometrika 12, 1947; exact form common
    practice); 1 without discordant storms.
    """
    discordant = only_a + only_b
    if discordant == 0:
        return 1.0
    return min(1.0, 2.0 * float(bdtr(min(only_a, only_b), discordant, 0.5)))


def paired_interval(
    only_a: int, only_b: int, storms: int, level: float = 0.95
) -> tuple[float, float]:
    """Limits of a difference of paired probabilities by inverting its score test.

    T. Tango, "Equivalence test and confidence interval for the difference in proportions for the
    paired-sample design", Statistics in Medicine 17, 1998: from memory, so a test counts its exact
    coverage (95 % on average, never below 93 % there). It does not shrink to a point when no storm
    is discordant.
    """
    z = float(ndtri(0.5 + 0.5 * level))
    difference = (only_a - only_b) / storms

    def beyond(delta: float) -> float:
        return _score(only_a, only_b, storms, delta) ** 2 - z * z

    # The score grows without limit towards -1 and 1, where its variance vanishes.
    ends = (-1.0, 1.0)
    lower, upper = (
        end if difference == end else float(brentq(beyond, end, difference, xtol=1e-15))
        for end in ends
    )
    return lower, upper


def _score(only_a: int, only_b: int, storms: int, delta: float) -> float:
    """The score statistic of the hypothesis that the difference is `delta`.

    Its variance takes the likeliest P(only B) that a difference of `delta` allows.
    """
    a = 2.0 * storms
    b = (a - only_a + only_b) * delta - only_a - only_b
    c = -only_b * delta * (1.0 - delta)
    share = (math.sqrt(max(b * b - 4.0 * a * c, 0.0)) - b) / (2.0 * a)
    variance = storms * (2.0 * share + delta * (1.0 - delta))
    distance = only_a - only_b - storms * delta
    if distance == 0.0:
        return 0.0
    return distance / math.sqrt(variance) if variance > 0.0 else math.copysign(1e9, distance)


def holm(p_values: ArrayLike) -> NDArray[np.float64]:
    """P-values raised so that of all comparisons together one in twenty errs at the level 0.05.

    S. Holm, "A simple sequentially rejective multiple test procedure", Scandinavian Journal of
    Statistics 6, 1979.
    """
    given = np.asarray(p_values, dtype=np.float64)
    order = np.argsort(given, kind="stable")
    raised = given[order] * np.arange(given.size, 0, -1)
    adjusted = np.empty_like(given)
    adjusted[order] = np.minimum(np.maximum.accumulate(raised), 1.0)
    return adjusted
