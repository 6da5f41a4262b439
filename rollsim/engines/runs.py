"""Finished runs as arrays by run, in the units of the result."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from rollsim.names import NOT_FILLED, RUN, VARIABLES

HISTORIES = ("roll_angle", "roll_rate", "wave_slope", "heeling_lever")
"""The histories of a run, in the order in which `Runs.histories` holds them."""

NUMBERS = tuple(
    name for name, variable in VARIABLES.items() if variable.dims == RUN and name not in NOT_FILLED
)
"""The variables that every run has one value of."""


@dataclass(frozen=True, eq=False)
class Runs:
    """Some runs of one case: `numbers` (n,) by the names in NUMBERS.

    `histories` (4, n, outputs) float32, NaN after a run's end; without outputs where not kept.
    """

    numbers: dict[str, NDArray[Any]]
    histories: NDArray[np.float32]

    def __len__(self) -> int:
        return int(self.numbers["outcome"].size)

    def repeated(self, count: int) -> Runs:
        """The one run of these, `count` times over."""
        numbers = {name: np.repeat(values, count) for name, values in self.numbers.items()}
        return Runs(numbers, np.repeat(self.histories, count, axis=1))


def joined(parts: Sequence[Runs]) -> Runs:
    """Several runs of one case, one behind the other."""
    numbers = {name: np.concatenate([part.numbers[name] for part in parts]) for name in NUMBERS}
    return Runs(numbers, np.concatenate([part.histories for part in parts], axis=1))
