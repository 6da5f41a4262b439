"""Arrays as a page carries them: base64 of little-endian numbers, each array once."""

from __future__ import annotations

import base64
from typing import Any

import numpy as np
from numpy.typing import NDArray

GAP = -32768
"""The code of a missing value among 16-bit codes; values use -32767 to 32767."""
PRECISION = (
    "Histories are rounded to 1/65534 of the span between plus and minus their greatest size, "
    "curves to 7 digits."
)

Blob = dict[str, Any]


class Blobs:
    """The arrays of a page; arrays that are packed alike are held once."""

    def __init__(self) -> None:
        self.packed: list[Blob] = []
        self._indices: dict[tuple[object, ...], int] = {}

    def curve(self, values: NDArray[np.float64]) -> int:
        """The position of an array kept as 32-bit numbers."""
        return self._index(same(values) or {"type": "f4", "data": encoded(values, "<f4")})

    def exact(self, values: NDArray[np.float64]) -> int:
        """The position of an array kept to the last bit."""
        return self._index({"type": "f8", "data": encoded(values, "<f8")})

    def history(self, values: NDArray[np.floating[Any]]) -> int:
        """The position of an array kept as 16-bit codes with one scale."""
        exact = values.astype(np.float64)
        return self._index(same(exact) or rounded(exact))

    def _index(self, blob: Blob) -> int:
        index = self._indices.setdefault(tuple(blob.values()), len(self.packed))
        if index == len(self.packed):
            self.packed.append(blob)
        return index


def same(values: NDArray[np.float64]) -> Blob | None:
    """The blob of an array that holds one value only, None where it holds several."""
    first = float(values[0])
    if np.array_equal(values, np.full_like(values, first), equal_nan=True):
        return {"same": first if np.isfinite(first) else None, "count": values.size}
    return None


def rounded(values: NDArray[np.float64]) -> Blob:
    """The blob of 16-bit codes: value = code · scale, GAP where missing."""
    known = np.isfinite(values)
    scale = float(np.max(np.abs(values[known]))) / 32767.0 or 1.0
    codes = np.full(values.shape, GAP)
    codes[known] = np.round(values[known] / scale)
    return {"type": "i2", "scale": scale, "data": encoded(codes, "<i2")}


def encoded(values: NDArray[Any], kind: str) -> str:
    """The numbers as base64, in numpy's type `kind`."""
    return base64.b64encode(np.asarray(values).astype(kind).tobytes()).decode("ascii")
