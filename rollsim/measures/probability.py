"""Probabilities from counted runs, and loadings compared storm by storm."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import betaincinv

from rollsim.measures.outcome import Event, happened, solved


def clopper_pearson(
    k: ArrayLike, n: ArrayLike, level: float = 0.95
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Exact two-sided limits of a probability after `k` events in `n` trials; NaN where n is 0.

    The limits are quantiles of beta distributions (C. J. Clopper and E. S. Pearson, "The use of
    confidence or fiducial limits illustrated in the case of the binomial", Biometrika 26, 1934).
    """
    events, trials = np.broadcast_arrays(np.asarray(k, float), np.asarray(n, float))
    if np.any((events < 0) | (events > trials)):
        raise ValueError("events must lie between 0 and the number of trials")
    tail = (1.0 - level) / 2.0
    # The maximum keeps both parameters positive where the limit is 0, 1 or missing by definition.
    low = betaincinv(np.maximum(events, 1.0), trials - events + 1.0, tail)
    high = betaincinv(events + 1.0, np.maximum(trials - events, 1.0), 1.0 - tail)
    lower = np.where(trials == 0, np.nan, np.where(events == 0, 0.0, low))
    upper = np.where(trials == 0, np.nan, np.where(events == trials, 1.0, high))
    return lower, upper


class Chance(NamedTuple):
    """A probability with its 95 % limits, arrays of one shape; NaN where nothing is random."""

    value: NDArray[np.float64]
    lower: NDArray[np.float64]
    upper: NDArray[np.float64]


def chance(outcome: ArrayLike, event: Event, random: ArrayLike = True) -> Chance:
    """The probability of an event in one run, over the runs (..., n): events ÷ solved runs.

    Runs that failed before settle_s count like all others. `random` (...,): whether anything
    differs between the runs; where not, nothing is a probability.
    """
    runs = np.where(random, solved(outcome).sum(axis=-1), 0)
    events = np.where(random, happened(outcome, event).sum(axis=-1), 0)
    lower, upper = clopper_pearson(events, runs)
    value = np.where(runs > 0, events / np.maximum(runs, 1), np.nan)
    return Chance(value, lower, upper)


class Pair(NamedTuple):
    """In how many common storms which of two loadings met the event; `left_out`: one unsolved."""

    only_a: int
    only_b: int
    both: int
    neither: int
    left_out: int


def pairs(outcome_a: ArrayLike, outcome_b: ArrayLike, event: Event = "failure") -> Pair:
    """Two loadings compared storm by storm; outcome codes of the same realisations, same order."""
    a, b = np.asarray(outcome_a), np.asarray(outcome_b)
    if a.shape != b.shape:
        raise ValueError("both loadings need the outcome of the same realisations")
    both_solved = solved(a) & solved(b)
    failed_a, failed_b = happened(a, event), happened(b, event)

    def count(which: NDArray[np.bool_]) -> int:
        return int(np.count_nonzero(which & both_solved))

    return Pair(
        only_a=count(failed_a & ~failed_b),
        only_b=count(failed_b & ~failed_a),
        both=count(failed_a & failed_b),
        neither=count(~failed_a & ~failed_b),
        left_out=int(np.count_nonzero(~both_solved)),
    )
