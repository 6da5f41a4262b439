"""Severity factors: how much stronger a run's own weather must be until she fails, and what a
sample of such factors says.

A search is an incremental dynamic analysis (D. Vamvatsikos and C. A. Cornell, "Incremental dynamic
analysis", Earthquake Engng Struct. Dyn. 31, 2002, 491-514): one record, here one storm, scaled up
until the first failure. Survival again above it is known there as structural resurrection; here
such groups of factors are counted as islands.

A factor that lies above or below the range of a search is censored, never left out: all order
statistics hold for it, with +inf above and -inf below the range.
"""

from __future__ import annotations

import math
from itertools import pairwise
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import bdtr

from rollsim.measures.outcome import Event, happened, solved
from rollsim.names import SeverityFound

Floats = NDArray[np.float64]

COARSEST = 1.049
"""Greatest ratio of neighbouring factors of the grid: below 5 %, and PARTS² of it below 0.3 %."""
PARTS = 4
"""Into how many parts a step of the grid is cut by each of the REFINEMENTS."""
REFINEMENTS = 2
LOW_QUANTILE = 0.05
"""The quantile that stands beside the median: the weather's worst twentieth."""


def factors_tried(first: float, last: float) -> Floats:
    """The factors of a search, geometric from `first` to `last`, 1 among them where it lies there.

    So what a run came to in the weather as it is belongs to its own search.
    """
    corners = [first, 1.0, last] if first < 1.0 < last else [first, last]
    steps = []
    for low, high in pairwise(corners):
        count = max(1, math.ceil(math.log(high / low) / math.log(COARSEST) - 1e-9))
        steps.append(low * (high / low) ** (np.arange(count) / count))
    return np.append(np.concatenate(steps), last)


class Bracket(NamedTuple):
    """Where the first failure of each run lies, arrays (n,).

    `found` a SeverityFound, FOUND where the first failing factor is number `first` of those tried;
    `islands` how often she survives again above it.
    """

    found: NDArray[np.int8]
    first: NDArray[np.intp]
    islands: NDArray[np.int32]


def bracket(outcome: ArrayLike, event: Event) -> Bracket:
    """The first failure among rising factors; `outcome` (factors, n) codes of names.Outcome.

    A run that is not solved is no outcome: at or below the first failure it leaves the search
    without an answer, above it it is passed over.
    """
    codes = np.asarray(outcome)
    fails, known = happened(codes, event), solved(codes)
    first = np.where(fails.any(axis=0), np.argmax(fails, axis=0), codes.shape[0])
    number = np.arange(codes.shape[0])[:, None]
    doubtful = (~known & (number < first)).any(axis=0)
    found = np.full(codes.shape[1], SeverityFound.FOUND, dtype=np.int8)
    found[first == codes.shape[0]] = SeverityFound.NONE_UP_TO
    found[first == 0] = SeverityFound.ALREADY_AT_FROM
    found[doubtful] = SeverityFound.NOT_SOLVED
    islands = np.zeros(codes.shape[1], dtype=np.int32)
    failing = np.zeros(codes.shape[1], dtype=np.bool_)
    for row in range(codes.shape[0]):
        survives = known[row] & ~fails[row]
        islands += survives & failing & (row > first)
        failing = np.where(known[row], fails[row], failing)
    return Bracket(found, first, islands)


def extended(factor: ArrayLike, found: ArrayLike) -> Floats:
    """The factors that have an answer as extended numbers: +inf above the range, -inf below it."""
    code = np.asarray(found)
    value = np.asarray(factor, dtype=np.float64).copy()
    value[code == SeverityFound.NONE_UP_TO] = math.inf
    value[code == SeverityFound.ALREADY_AT_FROM] = -math.inf
    return value[answered(code)]


def answered(found: ArrayLike) -> NDArray[np.bool_]:
    """Which searches have an answer: a factor, or that it lies above or below the range."""
    code = np.asarray(found)
    return np.asarray((code >= SeverityFound.FOUND) & (code <= SeverityFound.ALREADY_AT_FROM))


class Quantile(NamedTuple):
    """A quantile with distribution-free limits, ±inf beyond the range of the search, NaN where
    there is none: of an empty sample, and limits that its order statistics cannot give."""

    value: float
    lower: float
    upper: float


def ranks(size: int, share: float, level: float = 0.95) -> tuple[int, int]:
    """Which order statistics, counted from 1, are the limits of a quantile; 0 and size + 1: none.

    The greatest l with P(B < l) ≤ (1 − level)/2 and the least u with P(B ≥ u) no greater, B
    binomial of `size` and `share` (H. A. David and H. N. Nagaraja, Order Statistics, 3rd ed., 2003,
    section 7.1): they hold whatever the distribution is.
    """
    if size == 0:
        return 0, 1
    tail = 0.5 * (1.0 - level)
    below = bdtr(np.arange(size), size, share)  # P(B ≤ i)
    lower = int(np.count_nonzero(below <= tail))
    upper = int(np.count_nonzero(below < 1.0 - tail)) + 1
    return lower, upper


def quantile(sample: ArrayLike, share: float, level: float = 0.95) -> Quantile:
    """A quantile of extended numbers with its limits.

    The value is the order statistic number ⌈share · n⌉, or the mean of it and the next where
    share · n is whole, as the median of an even sample is.
    """
    ordered = np.sort(np.asarray(sample, dtype=np.float64))
    size = ordered.size
    if size == 0:
        return Quantile(math.nan, math.nan, math.nan)
    place = share * size
    at = min(max(math.ceil(place - 1e-9), 1), size)
    value = float(ordered[at - 1])
    if abs(place - round(place)) < 1e-9 and at < size:
        value = _between(value, float(ordered[at]))
    lower, upper = ranks(size, share, level)
    return Quantile(
        value,
        float(ordered[lower - 1]) if lower >= 1 else math.nan,
        float(ordered[upper - 1]) if upper <= size else math.nan,
    )


def _between(one: float, other: float) -> float:
    """The mean of two extended numbers; of both infinities the lesser, which is the safe side."""
    return one if math.isinf(one) and math.isinf(other) else 0.5 * (one + other)


class Ratio(NamedTuple):
    """The median ratio of two conditions' factors in common storms, with distribution-free limits.

    `lower` and `upper` are NaN where there is none; `value` is NaN where the censored factors leave
    it open, and then lies from `least` to `most`. `pairs` are the storms with an answer in both.
    """

    value: float
    lower: float
    upper: float
    least: float
    most: float
    pairs: int

    @property
    def shown(self) -> bool:
        """Whether the limits tell the two apart."""
        return self.lower > 1.0 or self.upper < 1.0


def ratio(
    first: tuple[ArrayLike, ArrayLike],
    second: tuple[ArrayLike, ArrayLike],
    tried: tuple[float, float],
    level: float = 0.95,
) -> Ratio:
    """The factors of the first condition over those of the second, storm by storm.

    Each is `severity_factor` and `severity_found` of the same realisations in the same order;
    `tried` are the least and the greatest factor of the search. Of a censored factor only the end
    of its range is known, so a pair gives an interval: the lower limit is an order statistic of the
    least ratios, the upper one of the greatest, and neither claims more than all storms carry.
    """
    both = answered(first[1]) & answered(second[1])
    low_a, high_a = _ends(*first, tried)
    low_b, high_b = _ends(*second, tried)
    with np.errstate(divide="ignore", invalid="ignore"):
        least, most = (low_a / high_b)[both], (high_a / low_b)[both]
    size = int(np.count_nonzero(both))
    middle = quantile(least, 0.5, level), quantile(most, 0.5, level)
    known = middle[0].value == middle[1].value
    lower, upper = middle[0].lower, middle[1].upper
    return Ratio(
        middle[0].value if known else math.nan,
        lower if lower > 0.0 else math.nan,
        upper if math.isfinite(upper) else math.nan,
        middle[0].value,
        middle[1].value,
        size,
    )


def _ends(factor: ArrayLike, found: ArrayLike, tried: tuple[float, float]) -> tuple[Floats, Floats]:
    """The least and the greatest that each factor can be: 0 to `from`, or from `to` on."""
    code, value = np.asarray(found), np.asarray(factor, dtype=np.float64)
    below, above = code == SeverityFound.ALREADY_AT_FROM, code == SeverityFound.NONE_UP_TO
    low = np.where(below, 0.0, np.where(above, tried[1], value))
    high = np.where(below, tried[0], np.where(above, math.inf, value))
    return low, high
