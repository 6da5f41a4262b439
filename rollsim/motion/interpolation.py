"""Between the rows of a synthesised sea: weights for value and rate at any time.

The weights are the least-squares ones for all frequencies up to `BAND` / δ, so that few rows
suffice where Lagrange's would need many.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from rollsim.compiled import compiled
from rollsim.motion.synthesis import BAND, LEAD

Floats = NDArray[np.float64]

TAPS = 12
"""Rows that a time is interpolated from: 5 before, 6 after the row below it, and that row."""
FREQUENCIES = 48


def weights(times: Floats, step: float) -> tuple[NDArray[np.int64], Floats]:
    """First rows (n,) and weights (n, 2 × TAPS) at `times` [s]: value, then rate [1/s]."""
    omega = (np.arange(FREQUENCIES) + 0.5) / FREQUENCIES * BAND
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
