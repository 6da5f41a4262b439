"""Random numbers by counter: each belongs to (seed, realisation, purpose, index), to nothing else.

Philox4x32-10 of Salmon, Moraes, Dror and Shaw, "Parallel random numbers: as easy as 1, 2, 3"
(2011). No state: any number can be had alone, in any order, on any worker.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from rollsim.compiled import compiled

WAVES = 1
"""Purpose of the draws for wave components."""
WIND = 2
"""Purpose of the draws for wind components."""

# All uint64: numba turns a sum of int64 and uint64 into a float.
_MASK = np.uint64(0xFFFFFFFF)
_HALF = np.uint64(32)
_MULTIPLIER_0 = np.uint64(0xD2511F53)
_MULTIPLIER_1 = np.uint64(0xCD9E8D57)
_WEYL_0 = np.uint64(0x9E3779B9)
_WEYL_1 = np.uint64(0xBB67AE85)
_SHIFT_HIGH = np.uint64(5)
_SHIFT_LOW = np.uint64(6)
_SCALE_HIGH = 2.0**26
_SCALE = 2.0**-53

Array = NDArray[np.float64]
Words = tuple[np.uint64, np.uint64, np.uint64, np.uint64]


@compiled
def philox(
    c0: np.uint64, c1: np.uint64, c2: np.uint64, c3: np.uint64, k0: np.uint64, k1: np.uint64
) -> Words:
    """Four random words of 32 bits for the counter words c0..c3 under the key words k0, k1."""
    for _ in range(10):
        product_0 = _MULTIPLIER_0 * c0
        product_1 = _MULTIPLIER_1 * c2
        c0 = (product_1 >> _HALF) ^ c1 ^ k0
        c1 = product_1 & _MASK
        c2 = (product_0 >> _HALF) ^ c3 ^ k1
        c3 = product_0 & _MASK
        k0 = (k0 + _WEYL_0) & _MASK
        k1 = (k1 + _WEYL_1) & _MASK
    return c0, c1, c2, c3


@compiled
def _whole(high: np.uint64, low: np.uint64) -> float:
    """A whole number of 53 bits from two random words."""
    return float(high >> _SHIFT_HIGH) * _SCALE_HIGH + float(low >> _SHIFT_LOW)


@compiled
def uniform_pair(
    seed: np.uint64, realisation: np.uint64, purpose: int, index: int
) -> tuple[float, float]:
    """The pair of uniform numbers of one index: the first in (0, 1], the second in [0, 1)."""
    w0, w1, w2, w3 = philox(
        np.uint64(index),
        realisation & _MASK,
        realisation >> _HALF,
        np.uint64(purpose),
        seed & _MASK,
        seed >> _HALF,
    )
    return (_whole(w0, w1) + 1.0) * _SCALE, _whole(w2, w3) * _SCALE


@compiled
def _fill(
    one: Array, two: Array, seed: np.uint64, realisation: np.uint64, purpose: int, first: int
) -> None:
    for i in range(one.size):
        one[i], two[i] = uniform_pair(seed, realisation, purpose, first + i)


def uniform_pairs(
    seed: int, realisation: int, purpose: int, first: int, count: int
) -> tuple[Array, Array]:
    """Pairs of uniform numbers for the indices first, first + 1, ...: in (0, 1] and in [0, 1).

    Seed and realisation are whole numbers from 0 to 2^64 - 1, indices from 0 to 2^32 - 1.
    """
    one, two = np.empty(count), np.empty(count)
    _fill(one, two, np.uint64(seed), np.uint64(realisation), purpose, first)
    return one, two
