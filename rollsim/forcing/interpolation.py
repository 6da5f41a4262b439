"""Between the rows of a synthesised channel: weights for value and rate at any time.

The weights are the least-squares ones for all frequencies up to `band` / δ, so that few rows
suffice where Lagrange's would need many.
"""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
from numpy.polynomial import chebyshev
from numpy.typing import NDArray

from rollsim.forcing.synthesis import BAND, LEAD

Floats = NDArray[np.float64]

TAPS = 12
"""Rows that a time is interpolated from: 5 before, 6 after the row below it, and that row."""
FREQUENCIES = 48
DEGREE = 17
"""Degree of the weights as series in the place between two rows: exact to rounding."""
WIDEST = math.radians(0.01)
"""Accuracy of the roll [rad] down to which the widest band, BAND, is fine enough."""


def band_for(accuracy: float, weight: float = 1.0) -> float:
    """Band [rad] for a roll that is to be off by no more than `accuracy` [rad].

    What the weights miss goes with about the TAPS-th power of the band, and into the roll with the
    `weight` that the engine knows.
    """
    return float(BAND * (min(1.0, accuracy / WIDEST) / weight) ** (1.0 / TAPS))


def weights(times: Floats, step: float, band: float = BAND) -> tuple[NDArray[np.int64], Floats]:
    """First rows (n,) and weights (n, 2 × TAPS) at `times` [s]: value, then rate [1/s].

    `step` [s] and `band` [rad] are the channel's.
    """
    row = np.floor(times / step)
    place = times / step - row
    result = chebyshev.chebvander(2.0 * place - 1.0, DEGREE) @ _series(band)
    result[:, TAPS:] /= step
    return row.astype(np.int64) + LEAD - (TAPS // 2 - 1), result


@lru_cache(maxsize=16)
def _series(band: float) -> Floats:
    """Chebyshev series (DEGREE + 1, 2 × TAPS) of the weights over the place in [0, 1]."""
    nodes = np.cos(math.pi * (np.arange(DEGREE + 1) + 0.5) / (DEGREE + 1))
    to_series = np.linalg.inv(chebyshev.chebvander(nodes, DEGREE))
    return np.asarray(to_series @ _projected(0.5 * (nodes + 1.0), band))


def _projected(place: Floats, band: float) -> Floats:
    """Least-squares weights for value and rate at `place` in [0, 1] after the middle row."""
    omega = (np.arange(FREQUENCIES) + 0.5) / FREQUENCIES * band
    turns = np.outer(omega, np.arange(TAPS) - (TAPS // 2 - 1))
    inverse = np.linalg.pinv(np.concatenate((np.cos(turns), np.sin(turns))))
    a, b = inverse[:, :FREQUENCIES], inverse[:, FREQUENCIES:]
    cosine, sine = np.cos(np.outer(omega, place)), np.sin(np.outer(omega, place))
    value = a @ cosine + b @ sine
    rate = b @ (omega[:, None] * cosine) - a @ (omega[:, None] * sine)
    return np.concatenate((value, rate)).T
