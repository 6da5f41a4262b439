"""What a further observation would tell of a cause: their mutual information [bit]."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

LEVELS = 160
"""Values of the observation that are told apart."""
CAUSES = range(3)
"""List, loll, both."""


def information(value: Floats, noise: Floats, weight: Floats, cause: NDArray[np.int64]) -> float:
    """Mutual information [bit] of the cause and a value that is seen with noise."""
    # What hardly ever comes out would stretch the values apart.
    order = np.argsort(value)
    total = np.cumsum(weight[order])
    first, last = np.searchsorted(total, np.array([0.002, 0.998]) * total[-1])
    low, high = (value[order[min(i, value.size - 1)]] for i in (first, last))
    edge = 3.0 * float(np.average(noise, weights=weight))
    spots = np.linspace(float(low) - edge, float(high) + edge, LEVELS)
    value = np.clip(value, low, high)
    joint = np.zeros((len(CAUSES), LEVELS))
    for each in CAUSES:
        own = cause == each
        if own.any():
            spread = np.exp(-0.5 * ((spots - value[own][:, None]) / noise[own][:, None]) ** 2)
            spread /= np.maximum(spread.sum(axis=1, keepdims=True), 1e-300)
            joint[each] = weight[own] @ spread
    return _mutual(joint)


def of_shares(shares: Floats, weight: Floats, cause: NDArray[np.int64]) -> float:
    """The same where each state gives each value of the observation a share, (states, values)."""
    joint = np.array([weight[cause == each] @ shares[cause == each] for each in CAUSES])
    return _mutual(joint)


def _mutual(joint: Floats) -> float:
    joint = joint / joint.sum()
    apart = joint.sum(axis=1, keepdims=True) * joint.sum(axis=0, keepdims=True)
    some = joint > 0.0
    return max(0.0, float(np.sum(joint[some] * np.log2(joint[some] / apart[some]))))
