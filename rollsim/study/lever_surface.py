"""The residual lever of one case over a key and the heel, where every value has its own curve.

Polynomials in the key through curves at Chebyshev nodes, at every heel of a fine grid; between two
heels the cubic through values and slopes.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.polynomial import chebyshev
from numpy.typing import NDArray

from rollsim.ship.righting import RightingCurve

Floats = NDArray[np.float64]

STEP = math.radians(0.25)
ZERO = 1e-12
"""A lever [m] that is none."""


def nodes(count: int) -> Floats:
    """Chebyshev nodes of the first kind, from 1 down to −1."""
    return np.asarray(np.cos(math.pi * (np.arange(count) + 0.5) / count))


@dataclass(frozen=True, eq=False)
class LeverSurface:
    """A lever over values of a key from `low` to `high` and over heels (n) [rad].

    `series` and `rates` (terms, n, 2): Chebyshev series in the value of lever [m] and its slope
    [m/rad], and of their derivatives by the value.
    """

    low: float
    high: float
    heel: Floats
    series: Floats
    rates: Floats

    @classmethod
    def through(
        cls, ends: tuple[float, float], heels: tuple[float, float], curves: Sequence[RightingCurve]
    ) -> LeverSurface:
        """The surface through curves at the nodes of a range of the key, between two heels."""
        steps = max(8, math.ceil((heels[1] - heels[0]) / STEP))
        upright = [0.0] if heels[0] < 0.0 < heels[1] else []
        heel = np.unique(np.append(np.linspace(*heels, steps + 1), upright))
        rows = np.array([(each.value(heel), each.slope(heel)) for each in curves])
        flat = rows.reshape(len(curves), -1)
        series = chebyshev.chebfit(nodes(len(curves)), flat, len(curves) - 1)
        shape = (-1, 2, heel.size)
        rates = chebyshev.chebder(series) * 2.0 / (ends[1] - ends[0])
        each = (np.ascontiguousarray(np.moveaxis(a.reshape(shape), 1, 2)) for a in (series, rates))
        return cls(*ends, heel, *each)

    def __call__(self, value: float, heel: float) -> tuple[float, float, float]:
        """The lever [m], and its slopes along the value and the heel; past an end straight on."""
        inside = min(max(value, self.low), self.high)
        after = int(np.clip(np.searchsorted(self.heel, heel), 1, self.heel.size - 1))
        both = slice(after - 1, after + 1)
        step = float(self.heel[after] - self.heel[after - 1])
        part = (heel - float(self.heel[after - 1])) / step
        at, turn = _cubic(part, step)
        values, rates = (
            chebyshev.chebval(self._place(inside), each[:, both].reshape(each.shape[0], 4))
            for each in (self.series, self.rates)
        )
        by_value = float(at @ rates)
        return float(at @ values) + by_value * (value - inside), by_value, float(turn @ values)

    def row(self, value: float) -> Floats:
        """The lever at every heel [m]."""
        return np.asarray(chebyshev.chebval(self._place(value), self.series[:, :, 0]))

    def rests(self, values: Sequence[float]) -> list[tuple[float, float]]:
        """Values and the heels [rad] at which the lever is zero there."""
        return [(value, heel) for value in values for heel in self._rests(value)]

    def _rests(self, value: float) -> list[float]:
        from scipy.optimize import brentq

        lever = self.row(value)
        lever[np.abs(lever) < ZERO] = 0.0
        heels = [float(self.heel[i]) for i in np.flatnonzero(lever == 0.0)]
        for i, (one, other) in enumerate(pairwise(lever)):
            if one * other < 0.0:
                ends = self.heel[i], self.heel[i + 1]
                heels.append(float(brentq(lambda x: self(value, x)[0], *ends, xtol=1e-14)))
        return sorted(heels)

    def _place(self, value: float) -> float:
        return (2.0 * value - self.low - self.high) / (self.high - self.low)


def _cubic(part: float, step: float) -> tuple[Floats, Floats]:
    """Weights of value and slope at both ends of a step for the cubic and for its slope."""
    s = 1.0 - part
    at = [s * s * (1.0 + 2.0 * part), step * part * s * s,
          part * part * (1.0 + 2.0 * s), -step * part * part * s]  # fmt: skip
    turn = [-6.0 * part * s / step, s * (1.0 - 3.0 * part),
            6.0 * part * s / step, part * (3.0 * part - 2.0)]  # fmt: skip
    return np.array(at), np.array(turn)
