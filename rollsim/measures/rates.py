"""How often an event comes: the rate of runs that end at it or at their duration, the mean time.

The time to the event is taken as exponential: events come as a Poisson flow, which holds where
they are rare and the sea is steady.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import gammaincinv

from rollsim.measures.outcome import Event, failed, happened, solved

Floats = NDArray[np.float64]


HOUR = 3600.0


class Exposure(NamedTuple):
    """How many runs met the event, and for how long all of them stood the chance to [s]; (...,)."""

    events: NDArray[np.int_]
    time: Floats


class Rate(NamedTuple):
    """Events per unit of time with two-sided limits; NaN without any time."""

    rate: Floats
    lower: Floats
    upper: Floats


class MeanTime(NamedTuple):
    """The mean time to an event with two-sided limits; infinite where a rate may be zero."""

    mean: Floats
    lower: Floats
    upper: Floats


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
    event: Event,
    outcome: ArrayLike,
    failed_before_settle: ArrayLike,
    failure_time: ArrayLike,
    end_time: ArrayLike,
    settle: float,
) -> Exposure:
    """Events after `settle` [s] and the time at risk of the runs (..., n), summed over the last.

    From settle to the event or to the end of the run, over the solved runs that still go on at
    settle; for a failure over those of them that had passed no limit by then. Times [s].
    """
    end = np.asarray(end_time, dtype=np.float64)
    at_risk = solved(outcome) & (end > settle)
    until = end
    if event == "failure":
        at_risk &= np.asarray(failed_before_settle) != 1
        until = np.where(failed(outcome), failure_time, end)
    events = at_risk & happened(outcome, event)
    time = np.where(at_risk, np.maximum(until - settle, 0.0), 0.0)
    return Exposure(np.count_nonzero(events, axis=-1), np.asarray(time.sum(axis=-1)))


def censored_rate(
    events: ArrayLike, time: ArrayLike, level: float = 0.95, random: ArrayLike = True
) -> Rate:
    """The rate k / ΣT after `events` within `time` at risk, with Poisson limits.

    The estimator leaves out no run: those without an event count with the time they stood. Its
    limits are exact for a given ΣT; where the runs end at their events they are very nearly so.
    NaN without time, and where nothing is `random`.
    """
    total = np.asarray(time, dtype=np.float64)
    known = np.where((total > 0.0) & np.asarray(random), total, np.nan)
    lower, upper = poisson_limits(events, level)
    return Rate(*(np.asarray(count / known) for count in (np.asarray(events), lower, upper)))


def hourly(exposed: Exposure, random: ArrayLike = True) -> Rate:
    """The rate per hour of an exposure in seconds, with its 95 % limits."""
    return censored_rate(exposed.events, exposed.time / HOUR, random=random)


def mean_time(per_time: Rate) -> MeanTime:
    """The mean time to an event 1/r with its limits; infinite where the rate may be zero."""
    with np.errstate(divide="ignore"):
        mean, shortest, longest = (
            np.asarray(1.0 / np.asarray(r, dtype=np.float64))
            for r in (per_time.rate, per_time.upper, per_time.lower)
        )
    return MeanTime(mean, shortest, longest)
