"""Between the rows of a synthesised sea: weights for value and rate at any time.

The weights are the least-squares ones for all frequencies up to `band` / δ, so that few rows
suffice where Lagrange's would need many.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from rollsim.compiled import compiled
from rollsim.forcing.synthesis import BAND, LEAD

Floats = NDArray[np.float64]

TAPS = 12
"""Rows that a time is interpolated from: 5 before, 6 after the row below it, and that row."""
FREQUENCIES = 48
WIDEST = math.radians(0.01)
"""Accuracy of the roll [rad] down to which the widest band, BAND, is fine enough."""


def band_for(accuracy: float) -> float:
    """Band [rad] for a roll that is to be off by no more than `accuracy` [rad].

    What the weights miss goes with about the TAPS-th power of the band.
    """
    return float(BAND * min(1.0, accuracy / WIDEST) ** (1.0 / TAPS))


def weights(times: Floats, step: float, band: float = BAND) -> tuple[NDArray[np.int64], Floats]:
    """First rows (n,) and weights (n, 2 × TAPS) at `times` [s]: value, then rate [1/s].

    `step` [s] and `band` [rad] are the sea's.
    """
    omega = (np.arange(FREQUENCIES) + 0.5) / FREQUENCIES * band
    places = np.arange(TAPS) - (TAPS // 2 - 1)
    turns = np.outer(omega, places)
    inverse = np.linalg.pinv(np.concatenate((np.cos(turns), np.sin(turns))))
    row = np.floor(times / step)
    found = _project(np.ascontiguousarray(inverse), omega, times / step - row)
    found[:, TAPS:] /= step
    return row.astype(np.int64) + LEAD - (TAPS // 2 - 1), found


@compiled
def _project(inverse: Floats, omega: Floats, place: Floats) -> Floats:
    """Least-squares weights for value and rate at `place` in [0, 1) after the middle row."""
    result = np.zeros((place.size, 2 * TAPS))
    n = omega.size
    for i in range(place.size):
        for k in range(n):
            c, s = math.cos(omega[k] * place[i]), math.sin(omega[k] * place[i])
            for tap in range(TAPS):
                a, b = inverse[tap, k], inverse[tap, n + k]
                result[i, tap] += a * c + b * s
                result[i, TAPS + tap] += omega[k] * (b * c - a * s)
    return result
