"""Storms that one block of runs has drawn and the next may meet again."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray


@dataclass
class Drawn:
    """The channels' rows of the block before, for the `realisations` of its lanes.

    A list of runs that meets the same storms with many factors then makes them once.
    """

    realisations: NDArray[np.uint64] = field(default_factory=lambda: np.zeros(0, dtype=np.uint64))
    rows: tuple[Any, ...] = ()

    def of(self, realisations: NDArray[np.uint64]) -> tuple[Any, ...] | None:
        """The rows of these realisations, None where not all of them are there."""
        if np.array_equal(realisations, self.realisations):
            return self.rows
        if not self.realisations.size or realisations.min() > self.realisations.max():
            return None
        if not np.isin(realisations, self.realisations).all():
            return None
        order = np.argsort(self.realisations, kind="stable")
        lane = order[np.searchsorted(self.realisations, realisations, sorter=order)]
        return tuple(
            None if rows is None else np.ascontiguousarray(rows[:, lane]) for rows in self.rows
        )
