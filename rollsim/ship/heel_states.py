"""The states of a ship that a heel which is seen may come of: heights of G, and heels of rest."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from rollsim.ship.levers import Gravity, Levers
from rollsim.ship.righting import Heeling, RightingCurve

Floats = NDArray[np.float64]

HEIGHTS, HEELS = 241, 121
"""Heights of G and heels of the sum."""
REACH = 5.0
"""Standard deviations that it goes over."""
AROUND = 721
"""Heels at which the other rests of a state are looked for."""
STEEPEST = math.radians(89.0)


class Normal(NamedTuple):
    """A number that is known as a normal distribution: mean and standard deviation."""

    mean: float
    sd: float

    def log(self, x: Floats) -> Floats:
        """Logarithm of the density, up to a constant."""
        return np.asarray(-0.5 * ((x - self.mean) / self.sd) ** 2)


@dataclass(frozen=True)
class Observation:
    """What is seen and what was known before; angles [rad], lengths [m], times [s].

    `period` None where the roll was not timed; `sides` whether she was seen to lie on the other
    side too, None where that is not known; `free_surface` of standard deviation 0 where it is sure.
    """

    heel: Normal
    kg: Normal
    off_centre: Normal
    free_surface: Normal
    period: Normal | None = None
    sides: bool | None = None


@dataclass(frozen=True)
class Ship:
    """The ship at rest: levers, steady heeling lever, k²/g [m s²], deviation of k over k."""

    levers: Levers
    heeling: Heeling
    inertia: float
    gyradius_share: float = 0.0


@dataclass(frozen=True, eq=False)
class Grid:
    """The states of the sum, arrays (heights, heels)."""

    height: Floats
    heel: Floats
    across: Floats
    slope: Floats
    port: NDArray[np.int64]
    starboard: NDArray[np.int64]


def _residual(ship: Ship, height: Floats, heel: Floats, across: Floats) -> RightingCurve:
    """The curves of many states at once."""
    gravity = Gravity(height, across)  # type: ignore[arg-type]
    return RightingCurve(ship.levers, gravity, ship.heeling)


def balancing(ship: Ship, height: Floats, heel: Floats) -> Floats:
    """The off-centre G [m] with which she rests at a heel."""
    lever = _residual(ship, height, heel, np.zeros_like(height)).value(heel)
    return np.asarray(lever / np.cos(heel))


def heights_of(seen: Observation) -> tuple[Floats, Floats]:
    """Heights of G with free surfaces [m], and the logarithm of their density."""
    rise = seen.free_surface
    mean, sd = seen.kg.mean + rise.mean, math.hypot(seen.kg.sd, rise.sd)
    height = np.linspace(mean - REACH * sd, mean + REACH * sd, HEIGHTS)
    if rise.sd == 0.0:
        return height, Normal(mean, sd).log(height)
    # A virtual rise is never negative: the sum of a normal number and one that is cut at 0.
    rises = rises_of(rise)
    density = np.exp(seen.kg.log(height[:, None] - rises)) @ np.exp(rise.log(rises))
    return height, np.log(np.maximum(density, 1e-300))


def rises_of(rise: Normal) -> Floats:
    """Virtual rises of G [m] that a normal number cut at 0 stands for."""
    low = max(0.0, rise.mean - REACH * rise.sd)
    return np.linspace(low, max(low, rise.mean) + REACH * rise.sd, 81)


def states_of(ship: Ship, seen: Observation) -> Grid:
    """The states within REACH of what is seen and known."""
    low, high = max(ship.levers.heel_min, -STEEPEST), min(ship.levers.heel_max, STEEPEST)
    first, last = (
        float(np.clip(seen.heel.mean + way * REACH * seen.heel.sd, low, high)) for way in (-1, 1)
    )
    heights, heels = heights_of(seen)[0], np.linspace(first, last, HEELS)
    height, heel = np.broadcast_arrays(heights[:, None], heels)
    across = balancing(ship, height, heel)
    slope = _residual(ship, height, heel, across).slope(heel)
    around = np.linspace(low, high, AROUND)
    port, starboard = (np.empty(height.shape, dtype=np.int64) for _ in range(2))
    levels = balancing(ship, heights[:, None], around)
    for i, level in enumerate(levels):
        # Stable rests of off-centre G y: where the level of y is passed upwards.
        above = level[None, :] >= across[i][:, None]
        rising = ~above[:, :-1] & above[:, 1:]
        port[i] = rising[:, around[1:] <= 0.0].sum(axis=1)
        starboard[i] = rising[:, around[1:] > 0.0].sum(axis=1)
    return Grid(height, heel, across, slope, port, starboard)
