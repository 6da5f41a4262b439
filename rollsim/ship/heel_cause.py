"""List or loll: what a heel that is seen says of the ship, by Bayes' rule over her states.

A state is the height of G with free surfaces and G off the centreline, (v, y). For a given v every
heel φ is that of one y, the one that balances the lever there: y = (KN − v sin φ − h) / cos φ. So
the sum over the states goes over v and φ, with |dy/dφ| for the change of variable, and stays
exact however narrow the observation is. Each stable heel of a state is equally likely beforehand.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from rollsim.ship.heel_states import (
    AROUND,
    STEEPEST,
    Grid,
    Normal,
    Observation,
    Ship,
    balancing,
    heights_of,
    rises_of,
    states_of,
)
from rollsim.ship.righting import Heeling
from rollsim.ship.telling import information, of_shares

Floats = NDArray[np.float64]

NEAR_LOLL = 0.1
"""Share of the angle of loll within which a heel counts as loll alone."""
UNLIKELY = 25.0
"""Squared deviations of the likeliest state from which nothing is explained: five deviations."""
ONE_SIDE = 0.5
"""Likelihood of seeing a ship with two rests on one side only: that of a second look."""

LIST, LOLL, BOTH = 0, 1, 2
"""The causes."""


class Quantile(NamedTuple):
    """Median and the 95 % limits of the posterior."""

    median: float
    lower: float
    upper: float


@dataclass(frozen=True, eq=False)
class Cause:
    """The posterior: probabilities of list, loll and both, GM and off-centre G [m].

    `bits` is what each further observation would tell of the cause on average [bit]; `states`
    (n, 4) are GM [m], off-centre G [m], weight and cause of each state in the sum.
    """

    probability: tuple[float, float, float]
    gm: Quantile
    off_centre: Quantile
    bits: dict[str, float]
    states: Floats


class UnexplainedError(Exception):
    """No state of the ship explains what is seen; `nearest` is the one that comes nearest."""

    def __init__(self, nearest: dict[str, float]) -> None:
        super().__init__("no state of the ship explains the observations")
        self.nearest = nearest


def cause_of(ship: Ship, seen: Observation) -> Cause:
    """The likelihood of list, loll or both; UnexplainedError where no state explains it."""
    grid = states_of(ship, seen)
    log = _log_posterior(ship, seen, grid)
    if not np.isfinite(log).any() or _squares(ship, seen, grid).min() > UNLIKELY:
        raise UnexplainedError(_nearest(ship, seen))
    weight = np.exp(log - log.max())
    weight /= weight.sum()
    gm = float(ship.levers.slope(0.0)) - grid.height
    cause = _causes(ship, grid, gm)
    probability = tuple(float(weight[cause == each].sum()) for each in (LIST, LOLL, BOTH))
    states = np.column_stack([each.ravel() for each in (gm, grid.across, weight, cause)])
    return Cause(
        (probability[0], probability[1], probability[2]),
        _quantile(gm, weight),
        _quantile(grid.across, weight),
        _bits(ship, seen, grid, weight, cause),
        states[states[:, 2] > 1e-12],
    )


def _log_posterior(ship: Ship, seen: Observation, grid: Grid) -> Floats:
    """Logarithm of prior times likelihood over height and heel, −inf where she does not rest."""
    stable = grid.slope > 0.0
    slope = np.where(stable, grid.slope, 1.0)
    rests = np.maximum(grid.port + grid.starboard, 1)
    log = heights_of(seen)[1][:, None] + seen.off_centre.log(grid.across) + seen.heel.log(grid.heel)
    # dy/dφ = slope / cos φ; one rest of several.
    log = log + np.log(slope / np.cos(grid.heel)) - np.log(rests)
    if seen.period is not None:
        period, sd = _period(ship, seen.period, slope)
        log = log - 0.5 * ((seen.period.mean - period) / sd) ** 2 - np.log(sd)
    both = (grid.port > 0) & (grid.starboard > 0)
    if seen.sides is True:
        log = np.where(both, log, -math.inf)
    elif seen.sides is False:
        log = log + np.where(both, math.log(ONE_SIDE), 0.0)
    return np.asarray(np.where(stable, log, -math.inf))


def _period(ship: Ship, seen: Normal, slope: Floats) -> tuple[Floats, Floats]:
    """Period [s] of small rolls about the heel, and the deviation with that of the gyradius."""
    period = math.tau * np.sqrt(ship.inertia / slope)
    return period, np.hypot(seen.sd, ship.gyradius_share * period)


def _squares(ship: Ship, seen: Observation, grid: Grid) -> Floats:
    """Sum of the squared deviations of every state; inf where she does not rest."""
    sd = math.hypot(seen.kg.sd, seen.free_surface.sd)
    squares = ((grid.height - seen.kg.mean - seen.free_surface.mean) / sd) ** 2
    squares = squares + ((grid.across - seen.off_centre.mean) / seen.off_centre.sd) ** 2
    squares = squares + ((grid.heel - seen.heel.mean) / seen.heel.sd) ** 2
    stable = grid.slope > 0.0
    if seen.period is not None:
        period, sd_of = _period(ship, seen.period, np.where(stable, grid.slope, 1.0))
        squares = squares + ((seen.period.mean - period) / sd_of) ** 2
    if seen.sides is True:
        stable = stable & (grid.port > 0) & (grid.starboard > 0)
    return np.asarray(np.where(stable, squares, math.inf))


def _nearest(ship: Ship, seen: Observation) -> dict[str, float]:
    """The state that comes nearest, looked for far around; angles [rad]."""
    wide = Observation(
        Normal(seen.heel.mean, 20.0 * seen.heel.sd),
        Normal(seen.kg.mean, 4.0 * seen.kg.sd),
        *(seen.off_centre, seen.free_surface, seen.period, seen.sides),
    )
    grid = states_of(ship, wide)
    squares = _squares(ship, seen, grid)
    best = np.unravel_index(int(np.argmin(squares)), squares.shape)
    if not math.isfinite(float(squares[best])):
        return {}
    slope = float(grid.slope[best])
    return {
        "heel": float(grid.heel[best]),
        "gm": float(ship.levers.slope(0.0)) - float(grid.height[best]),
        "off_centre": float(grid.across[best]),
        "period": math.tau * math.sqrt(ship.inertia / slope),
    }


def _causes(ship: Ship, grid: Grid, gm: Floats) -> NDArray[np.int64]:
    """List where GM > 0; loll where she lies as the centred ship would, to NEAR_LOLL; else both."""
    centred = _loll_angles(ship, grid.height[:, 0])
    loll = np.where(grid.heel >= 0.0, centred[:, 1:], centred[:, :1])
    near = np.abs(grid.heel - loll) <= NEAR_LOLL * np.abs(loll)
    return np.where(gm > 0.0, LIST, np.where(near, LOLL, BOTH))


def _loll_angles(ship: Ship, height: Floats) -> Floats:
    """Angles of loll (n, 2) to port and starboard [rad] of the centred ship in no wind."""
    still = Ship(ship.levers, Heeling(), ship.inertia)
    low, high = max(ship.levers.heel_min, -STEEPEST), min(ship.levers.heel_max, STEEPEST)
    angles = np.full((height.size, 2), math.nan)
    for side, end in enumerate((low, high)):
        around = np.linspace(0.0, end, AROUND)[1:]
        level = math.copysign(1.0, end) * balancing(still, height[:, None], around)
        # Away from upright: the first heel at which the lever turns from − to +.
        rising = (level[:, :-1] < 0.0) & (level[:, 1:] >= 0.0)
        first = np.argmax(rising, axis=1)
        found = rising.any(axis=1)
        a, b = (np.take_along_axis(level, (first + k)[:, None], axis=1)[:, 0] for k in (0, 1))
        part = a / np.where(a != b, a - b, 1.0)
        heel = around[first] + part * (around[first + 1] - around[first])
        angles[found, side] = heel[found]
    return angles


def _quantile(values: Floats, weight: Floats) -> Quantile:
    order = np.argsort(values, axis=None)
    sorted_values, total = values.ravel()[order], np.cumsum(weight.ravel()[order])
    at = np.searchsorted(total, np.array([0.5, 0.025, 0.975]) * total[-1])
    return Quantile(*(float(sorted_values[min(i, total.size - 1)]) for i in at))


def _bits(
    ship: Ship, seen: Observation, grid: Grid, weight: Floats, cause: NDArray[np.int64]
) -> dict[str, float]:
    """Mean information of the cause [bit] in each observation that is still to be made."""
    known = weight > 0.0
    of, weights = cause[known], weight[known]
    slope, heel = grid.slope[known], grid.heel[known]
    told: dict[str, float] = {}
    if seen.period is None:
        period = math.tau * np.sqrt(ship.inertia / slope)
        noise = np.hypot(0.02 * period, ship.gyradius_share * period)
        told["roll period by stop-watch"] = information(period, noise, weights, of)
    # A moment that heels the likeliest state by about a degree more, small angles.
    turn = np.cos(heel) / slope
    median = float(_quantile(turn, weights).median)
    moved = np.degrees(turn) / math.degrees(median)
    noise = np.full_like(moved, math.sqrt(2.0) * math.degrees(seen.heel.sd))
    told["a small known weight moved to the low side"] = information(moved, noise, weights, of)
    if seen.free_surface.sd > 0.0:
        told["tanks sounded"] = of_shares(_soundings(seen, grid.height[known]), weights, of)
    if seen.sides is None:
        both = ((grid.port > 0) & (grid.starboard > 0))[known].astype(np.float64)
        told["whether she has lain on the other side"] = information(
            both, np.full_like(both, 0.1), weights, of
        )
    return dict(sorted(told.items(), key=lambda item: -item[1]))


def _soundings(seen: Observation, height: Floats) -> Floats:
    """How likely each virtual rise is for each height of G with free surfaces."""
    rises = rises_of(seen.free_surface)
    shares = np.exp(seen.kg.log(height[:, None] - rises)) * np.exp(seen.free_surface.log(rises))
    return np.asarray(shares / np.maximum(shares.sum(axis=1, keepdims=True), 1e-300))
