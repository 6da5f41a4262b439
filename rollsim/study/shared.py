"""Arrays along cases that are never whole in memory: rows are made as they are asked for."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import DTypeLike, NDArray

Rows = Callable[[NDArray[np.intp]], NDArray[Any]]
"""Makes some rows from their numbers."""


class Shared:
    """An array (cases, n) whose row for case i is row `which[i]` of `make`; reads like an array."""

    def __init__(self, make: Rows, which: NDArray[np.intp], width: int) -> None:
        self._make, self._which = make, which
        self.shape = (which.size, width)
        self.ndim, self.dtype = 2, np.dtype(np.float64)

    def __len__(self) -> int:
        return self.shape[0]

    def __getitem__(self, key: Any) -> Any:
        """The rows of some cases, and of these what the rest of `key` says."""
        first, *rest = key if isinstance(key, tuple) else (key,)
        chosen = self._which[first]
        needed, spread = np.unique(chosen, return_inverse=True)
        rows = self._make(needed)[np.reshape(spread, np.shape(chosen))]
        within = tuple(rest) if np.ndim(chosen) == 0 else (slice(None), *rest)
        return rows[within] if rest else rows

    def __array__(self, dtype: DTypeLike | None = None, copy: bool | None = None) -> NDArray[Any]:
        return np.asarray(self[:], dtype=dtype)
