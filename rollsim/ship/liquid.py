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

from rollsim.ship.tanks.base import Tank
from rollsim.ship.tanks.cells import Cells

Floats = NDArray[np.float64]
Numbers = tuple[Floats, Floats, Floats, Floats]
"""Value, slope, curvature and integral of a lever."""
KEPT = {"value": 0, "slope": 1, "integral": 3}


@dataclass(frozen=True, eq=False)
class LiquidLever:
    """Liquids in the cells of tanks; arrays (cells,), or (.., cells) that broadcast against heels.

    `share` is the liquid's mass over the ship's, `filling` goes from 0 to 1, `rises` [m] is what
    each cell raises G by.
    """

    cells: Cells
    share: Floats
    filling: Floats
    rises: Floats
    _kept: list[tuple[Floats, Numbers]] = field(default_factory=list, repr=False)

    @classmethod
    def of(
        cls, tanks: Sequence[Tank], fillings: Sequence[float], displacement: float
    ) -> LiquidLever:
        """The liquids of tanks on a ship of `displacement` [kg]."""
        cells = Cells(tuple(cell for tank in tanks for cell in tank.cells))
        return cls(cells, *liquids(tanks, fillings, displacement))

    @property
    def rise(self) -> float:
        """Virtual rise of G by these free surfaces [m]."""
        return float(np.sum(self.rises))

    @cached_property
    def kinks(self) -> Floats:
        """Heels [rad] at which a surface comes to a corner of a box: the curvature jumps there."""
        b, h = self.cells.box_sizes
        less = np.minimum(self.filling, 1.0 - self.filling)[self.cells.boxes]
        some = less > 0.0
        less, b, h = less[some], b[some], h[some]
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

    def numbers(self, heel: Floats) -> Numbers:
        """Value, slope, curvature and integral; kept for the heels requested last."""
        phi = np.asarray(heel, dtype=np.float64)
        for known, numbers in self._kept[:1]:
            if np.array_equal(known, phi):
                return numbers
        numbers = self._numbers(phi[..., None])
        self._kept[:] = [(phi.copy(), numbers)]
        return numbers

    def _numbers(self, phi: Floats) -> Numbers:
        sine, cosine = np.sin(phi), np.cos(phi)
        at = self.cells.moved(self.filling, phi)
        return (
            self._sum(-self.share * at.across + self.rises * sine),
            self._sum(-self.share * (at.up + at.moving) + self.rises * cosine),
            self._sum(-self.share * (at.widening - at.across) - self.rises * sine),
            self._sum(self.share * at.up + self.rises * (1.0 - cosine)),
        )

    @staticmethod
    def _sum(by_cell: Floats) -> Floats:
        return np.asarray(np.sum(by_cell, axis=-1))


def liquids(
    tanks: Sequence[Tank], fillings: Sequence[float], displacement: float
) -> tuple[Floats, Floats, Floats]:
    """Shares, fillings and rises (cells,) of tanks on a ship of `displacement` [kg]."""
    pairs = zip(tanks, fillings, strict=True)
    held = [tank.contents(filling) for tank, filling in pairs]
    mass, filling, moment = (np.concatenate(each) for each in zip(*held, strict=True))
    return mass / displacement, filling, moment / displacement


@dataclass(frozen=True, eq=False)
class FillingLevers:
    """What moving liquid adds to the levers while tanks fill, over a coordinate of their states.

    State j, a row of each array (states, cells), holds at the coordinate j; between two it goes
    straight. Counted from the liquid at t = 0, which the levers hold.
    """

    cells: Cells
    share: Floats
    filling: Floats
    rises: Floats
    start: LiquidLever | None
    _kept: list[tuple[Floats, dict[str, Floats]]] = field(default_factory=list, repr=False)

    @property
    def states(self) -> int:
        """How many states there are."""
        return int(self.share.shape[0])

    def state(self, which: NDArray[np.intp] | int) -> LiquidLever:
        """The liquids of the states."""
        share, filling, rises = (each[which] for each in (self.share, self.filling, self.rises))
        return LiquidLever(self.cells, share, filling, rises)

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
        for known, rows in self._kept[:1]:
            if known is heel:
                return rows[what]
        each = np.array([self.state(i).numbers(heel) for i in range(self.states)])
        each -= np.array(self.start.numbers(heel)) if self.start else 0.0
        made = {name: np.ascontiguousarray(each[:, i]) for name, i in KEPT.items()}
        self._kept[:] = [(heel, made)]
        return made[what]


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
