"""Arrays in which many cases share a row: each is kept once, and spread when it is asked for."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import DTypeLike, NDArray


class Shared:
    """An array (cases, ..) whose row for case i is `rows[which[i]]`; it reads like an array."""

    def __init__(self, rows: NDArray[Any], which: NDArray[np.intp]) -> None:
        self.rows, self.which = rows, which
        self.shape = (which.size, *rows.shape[1:])
        self.ndim, self.dtype = rows.ndim, rows.dtype

    def __len__(self) -> int:
        return self.which.size

    def __getitem__(self, key: Any) -> Any:
        """The rows of some cases, and of these what the rest of `key` says."""
        first, *rest = key if isinstance(key, tuple) else (key,)
        rows = self.rows[self.which[first]]
        within = tuple(rest) if np.ndim(self.which[first]) == 0 else (slice(None), *rest)
        return rows[within] if rest else rows

    def __array__(self, dtype: DTypeLike | None = None, copy: bool | None = None) -> NDArray[Any]:
        return np.asarray(self.rows[self.which], dtype=dtype)
