"""How often the greatest roll of a run passes an angle."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from rollsim.measures.probability import clopper_pearson

Floats = NDArray[np.float64]


class Exceedance(NamedTuple):
    """At every angle, the probability that one run rolls further, with its limits; all (n,).

    The limits hold for each angle by itself, not for the curve as a whole.
    """

    angle: Floats
    probability: Floats
    lower: Floats
    upper: Floats


def greatest_roll(roll_max: ArrayLike, roll_min: ArrayLike, capsized: ArrayLike) -> Floats:
    """The greatest |roll| of every run; infinite where it capsized: beyond every angle."""
    most = np.fmax(np.abs(roll_max), np.abs(roll_min))
    return np.where(capsized, np.inf, most)


def exceedance(greatest: ArrayLike, angle: ArrayLike, level: float = 0.95) -> Exceedance:
    """The share of runs whose `greatest` roll lies beyond each `angle`, with exact limits.

    Both in the same unit; without runs everything is NaN. Limits: Clopper and Pearson's.
    """
    ordered = np.sort(np.asarray(greatest, dtype=np.float64))
    if np.any(np.isnan(ordered)):
        raise ValueError("every run needs its greatest roll")
    at = np.asarray(angle, dtype=np.float64)
    beyond = ordered.size - np.searchsorted(ordered, at, side="right")
    lower, upper = clopper_pearson(beyond, ordered.size, level)
    share = beyond / ordered.size if ordered.size else np.full(at.shape, np.nan)
    return Exceedance(at, share, lower, upper)
