"""Random numbers by counter: each belongs to (seed, realisation, purpose, index), to nothing else.

Philox4x32-10 of Salmon, Moraes, Dror and Shaw, "Parallel random numbers: as easy as 1, 2, 3"
(2011). No state: any number can be had alone, in any order, on any worker.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from rollsim.compiled import compiled, inlined

WAVES = 1
"""Purpose of the draws for wave components."""
WIND = 2
"""Purpose of the draws for wind components."""
WAVE_PARTS = 3
"""Purpose of the draws for the parts of a wave component."""
WHITE = 4
"""Purpose of the draws for a white slope."""

# All uint64: numba turns a sum of int64 and uint64 into a float.
_MASK = np.uint64(0xFFFFFFFF)
_HALF = np.uint64(32)
_MULTIPLIER_0 = np.uint64(0xD2511F53)
_MULTIPLIER_1 = np.uint64(0xCD9E8D57)
_WEYL_0 = np.uint64(0x9E3779B9)
_WEYL_1 = np.uint64(0xBB67AE85)
_SCALE = 2.0**-32

Array = NDArray[np.float64]
Words = tuple[np.uint64, np.uint64, np.uint64, np.uint64]


@inlined
def _round(
    c0: np.uint64, c1: np.uint64, c2: np.uint64, c3: np.uint64, k0: np.uint64, k1: np.uint64
) -> Words:
    product_0 = _MULTIPLIER_0 * c0
    product_1 = _MULTIPLIER_1 * c2
    return (
        (product_1 >> _HALF) ^ c1 ^ k0,
        product_1 & _MASK,
        (product_0 >> _HALF) ^ c3 ^ k1,
        product_0 & _MASK,
    )


@inlined
def philox(
    c0: np.uint64, c1: np.uint64, c2: np.uint64, c3: np.uint64, k0: np.uint64, k1: np.uint64
) -> Words:
    """Four random words of 32 bits for the counter words c0..c3 under the key words k0, k1.

    The ten rounds are written out: a loop here would keep loops over lanes from vectorising.
    """
    c0, c1, c2, c3 = _round(c0, c1, c2, c3, k0, k1)
    k0, k1 = (k0 + _WEYL_0) & _MASK, (k1 + _WEYL_1) & _MASK
    c0, c1, c2, c3 = _round(c0, c1, c2, c3, k0, k1)
    k0, k1 = (k0 + _WEYL_0) & _MASK, (k1 + _WEYL_1) & _MASK
    c0, c1, c2, c3 = _round(c0, c1, c2, c3, k0, k1)
    k0, k1 = (k0 + _WEYL_0) & _MASK, (k1 + _WEYL_1) & _MASK
    c0, c1, c2, c3 = _round(c0, c1, c2, c3, k0, k1)
    k0, k1 = (k0 + _WEYL_0) & _MASK, (k1 + _WEYL_1) & _MASK
    c0, c1, c2, c3 = _round(c0, c1, c2, c3, k0, k1)
    k0, k1 = (k0 + _WEYL_0) & _MASK, (k1 + _WEYL_1) & _MASK
    c0, c1, c2, c3 = _round(c0, c1, c2, c3, k0, k1)
    k0, k1 = (k0 + _WEYL_0) & _MASK, (k1 + _WEYL_1) & _MASK
    c0, c1, c2, c3 = _round(c0, c1, c2, c3, k0, k1)
    k0, k1 = (k0 + _WEYL_0) & _MASK, (k1 + _WEYL_1) & _MASK
    c0, c1, c2, c3 = _round(c0, c1, c2, c3, k0, k1)
    k0, k1 = (k0 + _WEYL_0) & _MASK, (k1 + _WEYL_1) & _MASK
    c0, c1, c2, c3 = _round(c0, c1, c2, c3, k0, k1)
    k0, k1 = (k0 + _WEYL_0) & _MASK, (k1 + _WEYL_1) & _MASK
    return _round(c0, c1, c2, c3, k0, k1)


@inlined
def pair_of_pairs(
    seed: np.uint64, realisation: np.uint64, purpose: int, index: int
) -> tuple[float, float, float, float]:
    """The pairs of two neighbouring indices, `index` even: firsts in (0, 1], seconds in [0, 1)."""
    w0, w1, w2, w3 = philox(
        np.uint64(index) >> np.uint64(1),
        realisation & _MASK,
        realisation >> _HALF,
        np.uint64(purpose),
        seed & _MASK,
        seed >> _HALF,
    )
    one, two = (float(w0) + 1.0) * _SCALE, float(w1) * _SCALE
    return one, two, (float(w2) + 1.0) * _SCALE, float(w3) * _SCALE


@compiled
def uniform_pair(
    seed: np.uint64, realisation: np.uint64, purpose: int, index: int
) -> tuple[float, float]:
    """The pair of uniform numbers of one index: the first in (0, 1], the second in [0, 1).

    32 bits each: a Rayleigh amplitude from the first goes up to 6.7 standard deviations.
    """
    a, b, c, d = pair_of_pairs(seed, realisation, purpose, index - index % 2)
    return (c, d) if index % 2 else (a, b)


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

    Seed and realisation are whole numbers from 0 to 2^64 - 1, indices from 0 to 2^33 - 1.
    """
    one, two = np.empty(count), np.empty(count)
    _fill(one, two, np.uint64(seed), np.uint64(realisation), purpose, first)
    return one, two


def repeat_time(duration: float) -> int:
    """Time [s] after which a sea or a wind for a run of `duration` repeats at a fixed place.

    Longer than the run and the same whatever the case, so that all cases share the storm.
    """
    from scipy.fft import next_fast_len

    return int(next_fast_len(math.ceil(duration + 300.0)))
