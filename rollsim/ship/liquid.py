"""The lever of liquid that moves with the heel, beyond what its free-surface moment makes of it.

By moments, per unit weight of the ship: −Σ m [(y − y₀) cos ψ + (z − z₀) sin ψ] / Δ, with (y₀, z₀)
the liquid's centroid upright. Its slope at 0 is minus the rise of G by free surfaces, Σ ρ i / Δ.
That rise stays with G and in GM, so the term that joins the hull's KN is the lever plus that rise
times sin ψ: of slope 0 upright, and nothing counts twice.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from rollsim.ship.tanks import Tank, settled

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class LiquidLever:
    """Liquids in tanks that are alike from end to end; arrays (tanks,).

    `share` is the liquid's mass over the ship's, `breadth` and `height` [m] those of a compartment,
    `filling` from 0 to 1, `rises` [m] what each raises G by. Arrays (.., tanks) broadcast against
    the heels.
    """

    share: Floats
    breadth: Floats
    height: Floats
    filling: Floats
    rises: Floats

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
            np.array([tank.free_surface_moment(filling) / displacement for tank, filling in pairs]),
        )

    @property
    def rise(self) -> float:
        """Virtual rise of G by these free surfaces [m]."""
        return float(np.sum(self.rises))

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
        return self.numbers(heel)[0]

    def slope(self, heel: Floats) -> Floats:
        """Its slope [m/rad]; d centroid/dψ = s³ / 12 A along the surface of breadth s."""
        return self.numbers(heel)[1]

    def curvature(self, heel: Floats) -> Floats:
        """Its curvature [m/rad²]."""
        return self.numbers(heel)[2]

    def integral(self, heel: Floats) -> Floats:
        """Its integral from upright [m rad]: the liquid's centroid sinks by ∫ lever."""
        return self.numbers(heel)[3]

    def numbers(self, heel: Floats) -> tuple[Floats, Floats, Floats, Floats]:
        """Value, slope, curvature and integral."""
        phi = np.asarray(heel, dtype=np.float64)[..., None]
        sine, cosine = np.sin(phi), np.cos(phi)
        at = settled(self.breadth, self.height, self.filling, phi)
        moved, area = at.z - self._upright, self._area
        along = at.y * cosine + moved * sine
        turning = -at.y * sine + moved * cosine
        moving = at.surface**3 / (12.0 * area)
        widening = at.surface**2 * at.widening / (4.0 * area)
        return (
            self._sum(-self.share * along + self.rises * sine),
            self._sum(-self.share * (turning + moving) + self.rises * cosine),
            self._sum(-self.share * (widening - along) - self.rises * sine),
            self._sum(self.share * turning + self.rises * (1.0 - cosine)),
        )

    @property
    def _area(self) -> Floats:
        """Area of the liquid's section in a compartment [m²]; that of an empty one stands for 1."""
        area = self.filling * self.breadth * self.height
        return np.where(area > 0.0, area, 1.0)

    @staticmethod
    def _sum(by_tank: Floats) -> Floats:
        return np.asarray(np.sum(by_tank, axis=-1))


@dataclass(frozen=True, eq=False)
class FillingLevers:
    """What moving liquid adds to the levers while tanks fill, over a coordinate of their states.

    State j, a row of each array (states, tanks), holds at the coordinate j; between two it goes
    straight. Counted from the liquid at t = 0, which the levers hold.
    """

    share: Floats
    breadth: Floats
    height: Floats
    filling: Floats
    rises: Floats
    start: LiquidLever | None
    _kept: dict[str, tuple[Floats, Floats]] = field(default_factory=dict, repr=False)

    @property
    def states(self) -> int:
        """How many states there are."""
        return int(self.share.shape[0])

    def state(self, which: NDArray[np.intp] | int) -> LiquidLever:
        """The liquids of the states."""
        share, filling, rises = (each[which] for each in (self.share, self.filling, self.rises))
        return LiquidLever(share, self.breadth, self.height, filling, rises)

    def between(self, what: str, at: Floats, heel: Floats) -> Floats:
        """A number of the liquid ("value", "slope", "integral") at coordinates `at` and heels."""
        first = np.clip(np.floor(at).astype(np.intp), 0, self.states - 2)
        part = at - first
        if at.ndim == 2 and heel.ndim == 1:  # many loadings on one grid of heels
            rows = self._on(what, heel)
            low, high = rows[first[:, 0]], rows[first[:, 0] + 1]
            return np.asarray((1.0 - part) * low + part * high)
        low, high = (getattr(self.state(first + i), what)(heel) for i in (0, 1))
        from_start = getattr(self.start, what)(heel) if self.start else 0.0
        return np.asarray((1.0 - part) * low + part * high - from_start)

    def _on(self, what: str, heel: Floats) -> Floats:
        """A number of every state at heels that come again: made once, (states, heels)."""
        kept = self._kept.get(what)
        if kept is None or kept[0] is not heel:
            rows = np.array([getattr(self.state(i), what)(heel) for i in range(self.states)])
            rows -= getattr(self.start, what)(heel) if self.start else 0.0
            kept = self._kept[what] = heel, rows
        return kept[1]


class Between(Protocol):
    """Levers of liquid over a coordinate and heel."""

    def between(self, what: str, at: Floats, heel: Floats) -> Floats:
        """A number of the liquid ("value", "slope", "integral") at coordinates and heels."""


@dataclass(frozen=True, eq=False)
class Filled:
    """A term of the righting lever: liquid in tanks as full as they are at coordinates `at`."""

    levers: Between
    at: Floats

    def value(self, heel: Floats) -> Floats:
        """The lever."""
        return self.levers.between("value", self.at, heel)

    def slope(self, heel: Floats) -> Floats:
        """Its slope."""
        return self.levers.between("slope", self.at, heel)

    def integral(self, heel: Floats) -> Floats:
        """Its integral."""
        return self.levers.between("integral", self.at, heel)
