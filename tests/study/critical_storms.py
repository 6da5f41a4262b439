"""Storms that each have a value of their own at which the event begins: answers are known."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

from rollsim.measures.probability import clopper_pearson
from rollsim.study.critical.trials import Answer, Counter, Question

MIDDLE, SPREAD = 5.6, 0.1
"""Mean and standard deviation of the storms' own values."""


def question(
    probability: float | None = 0.05,
    tolerance: float = 0.01,
    most: int = 60_000,
    first: float = 5.0,
    last: float = 6.2,
) -> Question:
    """The search over a height of G."""
    return Question(first, last, probability, tolerance, most)


def storms(seed: int, count: int = 60_000) -> NDArray[np.float64]:
    """The own values of some storms."""
    return MIDDLE + SPREAD * np.random.default_rng(seed).standard_normal(count)


def counter(own: NDArray[np.float64], *, rising: bool = True) -> Counter:
    """Counts the storms whose own value is reached, or is not."""

    def count(value: float, first: int, last: int) -> tuple[int, int]:
        here = own[first:last]
        return int(np.count_nonzero((here <= value) == rising)), last - first

    return count


def by_curve(share: Callable[[float], float], seed: int = 1, count: int = 60_000) -> Counter:
    """Counts storms by a probability over the value, the same luck for a storm at every value."""
    luck = np.random.default_rng(seed).random(count)

    def counted(value: float, first: int, last: int) -> tuple[int, int]:
        return int(np.count_nonzero(luck[first:last] < share(value))), last - first

    return counted


def truth(probability: float, *, rising: bool = True) -> float:
    """The value at which the event has the probability."""
    return MIDDLE + SPREAD * float(ndtri(probability if rising else 1.0 - probability))


def spent(answer: Answer) -> int:
    """The runs that a search took."""
    return sum(trial.runs for trial in answer.trials)


def order_limits(own: NDArray[np.float64], p: float, runs: int) -> tuple[float, float]:
    """Distribution-free 95 % limits of the p quantile of the first storms' own values."""
    first = np.sort(own[:runs])
    lower, upper = clopper_pearson(np.arange(runs + 1), runs)
    outside_below = int(np.count_nonzero(upper < p))  # counts 0 to this less 1 exclude p
    outside_above = int(np.argmax(lower > p))
    return float(first[outside_below - 1]), float(first[outside_above - 1])
