"""The lever of liquid that moves with the heel, beyond what its free-surface moment makes of it.

By moments, per unit weight of the ship: −Σ m [(y − y₀) cos ψ + (z − z₀) sin ψ] / Δ, with (y₀, z₀)
the liquid's centroid upright. Its slope at 0 is minus the rise of G by free surfaces, Σ ρ i / Δ.
That rise stays with G and in GM, so the term that joins the hull's KN is the lever plus that rise
times sin ψ: of slope 0 upright, and nothing counts twice.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from rollsim.ship.tanks import Settled, Tank, settled

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class LiquidLever:
    """Liquids in tanks that are alike from end to end; arrays (tanks,).

    `share` is the liquid's mass over the ship's, `breadth` and `height` [m] those of a compartment,
    `filling` from 0 to 1.
    """

    share: Floats
    breadth: Floats
    height: Floats
    filling: Floats

    @classmethod
    def of(
        cls, tanks: Sequence[Tank], fillings: Sequence[float], displacement: float
    ) -> LiquidLever:
        """The liquids of tanks on a ship of `displacement` [kg]."""
        pairs = list(zip(tanks, fillings, strict=True))
        return cls(
            np.array([tank.capacity * filling / displacement for tank, filling in pairs]),
            np.array([tank.breadth for tank, _ in pairs]),
            np.array([tank.height for tank, _ in pairs]),
            np.array([filling for _, filling in pairs]),
        )

    @property
    def rise(self) -> float:
        """Virtual rise of G by these free surfaces [m]."""
        return float(np.sum(self._rises))

    @cached_property
    def _rises(self) -> Floats:
        slack = (self.filling > 0.0) & (self.filling < 1.0)
        depth = np.where(slack, self.filling * self.height, 1.0)
        return np.where(slack, self.share * self.breadth**2 / (12.0 * depth), 0.0)

    @cached_property
    def _upright(self) -> Floats:
        """Centroids upright above the middles of the tanks [m]."""
        return 0.5 * self.height * (self.filling - 1.0)

    @cached_property
    def kinks(self) -> Floats:
        """Heels [rad] at which a surface comes to a corner: the curvature jumps there."""
        less = np.minimum(self.filling, 1.0 - self.filling)
        some = less > 0.0
        less, b, h = less[some], self.breadth[some], self.height[some]
        first = np.concatenate((np.arctan2(2.0 * less * h, b), np.arctan2(h, 2.0 * less * b)))
        each = np.concatenate((first, np.pi - first))
        return np.unique(np.concatenate((-each, each)))

    def value(self, heel: Floats) -> Floats:
        """The term [m] at `heel` [rad]."""
        at, sine, cosine = self._settled(heel)
        along = at.y * cosine + (at.z - self._upright) * sine
        return self._sum(-self.share * along + self._rises * sine)

    def slope(self, heel: Floats) -> Floats:
        """Its slope [m/rad]; d centroid/dψ = s³ / 12 A along the surface of breadth s."""
        at, sine, cosine = self._settled(heel)
        turning = -at.y * sine + (at.z - self._upright) * cosine
        moving = at.surface**3 / (12.0 * self._area)
        return self._sum(-self.share * (turning + moving) + self._rises * cosine)

    def curvature(self, heel: Floats) -> Floats:
        """Its curvature [m/rad²]."""
        at, sine, cosine = self._settled(heel)
        along = at.y * cosine + (at.z - self._upright) * sine
        widening = at.surface**2 * at.widening / (4.0 * self._area)
        return self._sum(-self.share * (widening - along) - self._rises * sine)

    def integral(self, heel: Floats) -> Floats:
        """Its integral from upright [m rad]: the liquid's centroid sinks by ∫ lever."""
        at, sine, cosine = self._settled(heel)
        sunk = self._upright - (-at.y * sine + at.z * cosine)
        rigid = self._upright * (1.0 - cosine)
        return self._sum(-self.share * (sunk - rigid) + self._rises * (1.0 - cosine))

    @property
    def _area(self) -> Floats:
        """Area of the liquid's section in a compartment [m²]; that of an empty one stands for 1."""
        area = self.filling * self.breadth * self.height
        return np.where(area > 0.0, area, 1.0)

    def _settled(self, heel: Floats) -> tuple[Settled, Floats, Floats]:
        phi = np.asarray(heel, dtype=np.float64)[..., None]
        return settled(self.breadth, self.height, self.filling, phi), np.sin(phi), np.cos(phi)

    @staticmethod
    def _sum(by_tank: Floats) -> Floats:
        return np.asarray(np.sum(by_tank, axis=-1))
