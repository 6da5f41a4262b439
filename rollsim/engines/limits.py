"""What every engine is asked to watch and by what rules, in SI units and radians."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from rollsim.compiled import compiled

Floats = NDArray[np.float64]


class Limits(NamedTuple):
    """Angles [rad] that count: |φ| for `roll`, |ψ| for `flooding`, either for `capsize`.

    `flooding` is to starboard, `flooding` / `port` to port: openings may lie on one side alone.
    """

    roll: float = math.inf
    flooding: float = math.inf
    capsize: float = math.inf
    port: float = 1.0

    @property
    def heel(self) -> float:
        """The least angle that counts on ψ to starboard."""
        return min(self.flooding, self.capsize)

    @property
    def weight(self) -> float:
        """What a heel to port counts for, as a heel to starboard: 1 where the limits are alike."""
        if self.port == 1.0:
            return 1.0
        return self.heel / min(self.flooding / self.port, self.capsize)


NEVER = math.tau
"""A heel [rad] that no ship comes to: the flooding limit of a side without openings."""


def flooding_limits(starboard: float, port: float) -> tuple[float, float]:
    """`flooding` and `port` of `Limits` for the flooding heels of both sides [rad]."""
    if starboard == port:
        return starboard, 1.0
    starboard, port = min(starboard, NEVER), min(port, NEVER)
    return starboard, starboard / port


@compiled
def flooding_span(flooding: float, port: float) -> tuple[float, float]:
    """Middle and half-width [rad] of the heels that do not flood: |ψ − middle| below the half."""
    if port == 1.0:
        return 0.0, flooding
    return 0.5 * (flooding - flooding / port), 0.5 * (flooding + flooding / port)


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
