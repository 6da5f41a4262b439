"""What every engine is asked to watch and by what rules, in SI units and radians."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


class Limits(NamedTuple):
    """Angles [rad] that count: |φ| for `roll`, |ψ| for `flooding`, either for `capsize`."""

    roll: float = math.inf
    flooding: float = math.inf
    capsize: float = math.inf

    @property
    def heel(self) -> float:
        """The least angle that counts on ψ."""
        return min(self.flooding, self.capsize)


class Tolerances(NamedTuple):
    """A scipy method by name with its relative and absolute [rad, rad/s] tolerance."""

    method: str = "DOP853"
    relative: float = 1e-8
    absolute: float = math.radians(1e-8)


ROUNDING = 1e-12
"""By how much of itself the last output time may stand past the end of a run: 3 · 0.1 > 0.3."""


def output_times(duration: float, step: float) -> Floats:
    """0, step, .. [s]; the last is the greatest within `duration`, but for rounding."""
    return np.float64(step) * np.arange(math.floor(duration / step * (1.0 + ROUNDING)) + 1)


AT_REST = 1e-6
"""How far below the level [rad] she must have been for an upward crossing: rounding is none."""
