"""The failure rate of runs that end at their failure or at their duration, and the time between.

The time to failure is taken as exponential: failures come as a Poisson flow, which holds where
they are rare and the sea is steady.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import gammaincinv

from rollsim.names import Outcome

Floats = NDArray[np.float64]


class Exposure(NamedTuple):
    """How many runs failed, and for how long all of them stood the chance to [s]."""

    events: int
    time: float


class Rate(NamedTuple):
    """Events per unit of time with two-sided limits; NaN without any time."""

    rate: float
    lower: float
    upper: float


class MeanTime(NamedTuple):
    """The mean time to an event with two-sided limits; infinite where a rate may be zero."""

    mean: float
    lower: float
    upper: float


def poisson_limits(k: ArrayLike, level: float = 0.95) -> tuple[Floats, Floats]:
    """Exact two-sided limits of the mean of a Poisson count after `k` events were seen.

    Half the quantiles of chi-square distributions of 2k and 2k + 2 degrees of freedom (F. Garwood,
    "Fiducial limits for the Poisson distribution", Biometrika 28, 1936), here as gamma quantiles.
    """
    events = np.asarray(k, dtype=np.float64)
    if np.any(events < 0):
        raise ValueError("a count cannot be negative")
    tail = (1.0 - level) / 2.0
    low = gammaincinv(np.maximum(events, 1.0), tail)
    return np.where(events == 0, 0.0, low), np.asarray(gammaincinv(events + 1.0, 1.0 - tail))


def exposure(
    outcome: ArrayLike,
    early: ArrayLike,
    failure_time: ArrayLike,
    end_time: ArrayLike,
    settle: float,
) -> Exposure:
    """Failures and time at risk of runs: from `settle` [s] to the first passing, or to the end.

    `outcome` codes, `early` = failed before settle, times [s], all of one shape. Runs that are not
    solved or failed early count for nothing, as in the probabilities.
    """
    code = np.asarray(outcome)
    solved = (code >= Outcome.SURVIVED) & (code <= Outcome.CAPSIZED) & (np.asarray(early) == 0)
    failed = solved & (code >= Outcome.ROLL_LIMIT)
    until = np.where(failed, failure_time, end_time)
    # A run may end, solved, before it has settled where its duration is as short as that.
    time = np.maximum(until - settle, 0.0)
    return Exposure(int(np.count_nonzero(failed)), float(np.sum(time[solved])))


def censored_rate(events: int, time: float, level: float = 0.95) -> Rate:
    """The rate k / ΣT after `events` within `time` at risk, with Poisson limits.

    The estimator leaves out no run: those without a failure count with the time they stood. Its
    limits are exact for a given ΣT; where the runs end at their failures they are very nearly so.
    """
    if time <= 0.0:
        return Rate(np.nan, np.nan, np.nan)
    lower, upper = poisson_limits(events, level)
    return Rate(events / time, float(lower) / time, float(upper) / time)


def mean_time(rate: Rate) -> MeanTime:
    """The mean time to failure 1/r with its limits; the mean is infinite where nothing failed."""
    if np.isnan(rate.rate):
        return MeanTime(np.nan, np.nan, np.nan)
    longest, mean, shortest = (
        1.0 / r if r > 0.0 else np.inf for r in (rate.lower, rate.rate, rate.upper)
    )
    return MeanTime(mean, shortest, longest)
