"""A value and its slope side by side as one number, so that a step looks both up at once.

A look-up in a table by lane costs by the number of elements. Single precision has both in the
halves of a whole number of 64 bits, double precision in a complex number; which of the two it is,
numba sees from the type.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import types
from numba.extending import overload
from numpy.typing import NDArray

HALF = 32


def no_pairs(shape: tuple[int, ...], kind: type) -> NDArray[Any]:
    """Room for pairs of float type `kind`."""
    return np.zeros(shape, dtype=np.int64 if kind is np.float32 else np.complex128)


def pairs_of(values: NDArray[Any], slopes: NDArray[Any], kind: type) -> NDArray[Any]:
    """Arrays of values and slopes as pairs of float type `kind`."""
    sides: NDArray[Any] = np.stack((values, slopes), axis=-1).astype(kind)
    return sides.view(np.int64 if kind is np.float32 else np.complex128)[..., 0]


def both(pair: Any) -> tuple[Any, Any]:
    """Value and slope of a pair."""
    if isinstance(pair, np.int64):
        return np.int32(pair).view(np.float32), np.int32(pair >> np.int64(HALF)).view(np.float32)
    return pair.real, pair.imag


@overload(both, inline="always")
def _both(pair: Any) -> Any:
    if isinstance(pair, types.Integer):

        def halves(pair: Any) -> Any:
            high = np.int32(pair >> np.int64(HALF))
            return np.int32(pair).view(np.float32), high.view(np.float32)

        return halves

    def parts(pair: Any) -> Any:
        return pair.real, pair.imag

    return parts


def paired(like: Any, value: float, slope: float) -> Any:
    """Value and slope as a pair, of the type of another."""
    if isinstance(like, np.int64):
        return pairs_of(np.asarray(value), np.asarray(slope), np.float32)[()]
    return complex(value, slope)


@overload(paired, inline="always")
def _paired(like: Any, value: float, slope: float) -> Any:
    if isinstance(like, types.Integer):

        def halves(like: Any, value: float, slope: float) -> Any:
            low = np.int64(np.float32(value).view(np.int32)) & np.int64(0xFFFFFFFF)
            return low | (np.int64(np.float32(slope).view(np.int32)) << np.int64(HALF))

        return halves

    def parts(like: Any, value: float, slope: float) -> Any:
        return complex(value, slope)

    return parts
