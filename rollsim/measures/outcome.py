"""What became of runs: solved, failed, capsized, counted, and which of two is worse.

The one place that decides it, for probabilities, rates, rankings and pictures. `outcome` holds
codes of `names.Outcome`; every mask has its shape.
"""

from __future__ import annotations

from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from rollsim.names import Outcome

Mask = NDArray[np.bool_]
Floats = NDArray[np.float64]

Event = Literal["capsize", "failure"]
"""What is counted: a capsize, or the passing of any limit, which a capsize is as well."""
EVENTS: tuple[Event, ...] = ("capsize", "failure")
MOST_EARLY = 0.05
"""The share of runs that failed before settle_s above which a result is warned of."""


def solved(outcome: ArrayLike) -> Mask:
    """Which runs have a result at all."""
    code = np.asarray(outcome)
    return np.asarray((code >= Outcome.SURVIVED) & (code <= Outcome.CAPSIZED))


def failed(outcome: ArrayLike) -> Mask:
    """Which runs passed any limit."""
    code = np.asarray(outcome)
    return np.asarray((code >= Outcome.ROLL_LIMIT) & (code <= Outcome.CAPSIZED))


def capsized(outcome: ArrayLike) -> Mask:
    """Which runs capsized."""
    return np.asarray(np.asarray(outcome) == Outcome.CAPSIZED)


def happened(outcome: ArrayLike, event: Event) -> Mask:
    """Which runs met the event."""
    return capsized(outcome) if event == "capsize" else failed(outcome)


def default_event(roll_limit: ArrayLike, flooding_limit: ArrayLike) -> Event:
    """The event that a result is about: failure where any case has a roll or flooding limit.

    Limits [degree] of the cases, missing where there is none.
    """
    limits = np.concatenate([np.ravel(roll_limit), np.ravel(flooding_limit)])
    return "failure" if np.isfinite(limits.astype(np.float64)).any() else "capsize"


def early_share(outcome: ArrayLike, failed_before_settle: ArrayLike) -> Floats:
    """The share of the solved runs that passed a limit before settle_s, over the last axis.

    They stay in every count; 0 without solved runs.
    """
    runs = solved(outcome)
    early = runs & (np.asarray(failed_before_settle) == 1)
    return np.asarray(early.sum(axis=-1) / np.maximum(runs.sum(axis=-1), 1))


def severity(
    outcome: ArrayLike, failure_time: ArrayLike, end_time: ArrayLike, roll: ArrayLike
) -> NDArray[np.intp]:
    """The solved runs (n,) from the worst on, as positions.

    The gravest outcome first; of equal ones that in which it came first: a capsize by the end of
    the run [s], other failures by their first passing [s]; then the greatest |roll|.
    """
    code = np.asarray(outcome)
    time = np.where(capsized(code), end_time, np.where(failed(code), failure_time, np.inf))
    greatest = np.nan_to_num(np.abs(np.asarray(roll, dtype=np.float64)))
    order = np.lexsort((-greatest, np.nan_to_num(time, nan=np.inf), -code.astype(int)))
    return np.asarray(order[solved(code)[order]])


class Tally(NamedTuple):
    """How bad some runs were taken together: how many came so far, and the greatest |roll|.

    A run that capsized counts as flooded and as failed too, one that flooded as failed.
    """

    capsized: NDArray[np.int_]
    flooded: NDArray[np.int_]
    failed: NDArray[np.int_]
    roll: Floats


def tally(outcome: ArrayLike, roll: ArrayLike, axis: int) -> Tally:
    """The runs along an axis taken together; those without a result count for nothing."""
    runs = solved(outcome)
    greatest = np.where(runs, np.nan_to_num(np.abs(np.asarray(roll, dtype=np.float64))), 0.0)
    return Tally(
        capsized(outcome).sum(axis=axis),
        (failed(outcome) & (np.asarray(outcome) >= Outcome.FLOODED)).sum(axis=axis),
        failed(outcome).sum(axis=axis),
        greatest.max(axis=axis, initial=0.0),
    )


def worst_first(sums: Tally) -> NDArray[np.intp]:
    """Positions from the worst on: most capsizes, then floodings, failures, the greatest roll."""
    return np.lexsort((-sums.roll, -sums.failed, -sums.flooded, -sums.capsized))
