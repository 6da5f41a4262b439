"""The lowest well of many loadings of one hull at once: a gradual event has one at every output.

What `equilibria` and `lowest_well` find for one loading, for all: the roots of the residual lever
are bracketed on the levers' grid and found together. A loading in doubt (a lever that is zero
over more than a point, a pair of roots that may hide between two points) is left to them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple, cast

import numpy as np
from numpy.typing import NDArray

from rollsim.ship.levers import Gravity, Levers
from rollsim.ship.righting import Heeling, RightingCurve
from rollsim.ship.statics import ZERO_LEVER, Equilibrium, equilibria

Floats = NDArray[np.float64]

Index = NDArray[np.intp] | slice | tuple[slice, None]

AT_ONCE = 128
"""Loadings whose curves are held in memory together."""
POLISH = 3
"""Newton's steps from the nearer end of a bracket; two are enough at the grid's spacing."""


class Well(NamedTuple):
    """The lowest well, NaN if none: potential `low`, `height` of its lesser barrier [m rad].

    `port` and `starboard` [rad] are the heels of the barriers of both sides.
    """

    low: float
    height: float
    port: float
    starboard: float


NO_WELL = Well(math.nan, math.nan, math.nan, math.nan)


def lowest_well(heel: Floats, potential: Floats, stable: NDArray[np.bool_], ends: Ends) -> Well:
    """The well of the lowest stable equilibrium between the capsize angles.

    `heel`, `potential` and `stable` list the equilibria between them in order of heel. The barrier
    of a side is the greatest potential out to its capsize angle: no saddle between two wells.
    """
    if not np.any(stable):
        return NO_WELL
    low = int(np.argmin(np.where(stable, potential, np.inf)))
    heels = np.concatenate(([-ends.limit], heel, [ends.limit]))
    v = np.concatenate(([ends.port], potential, [ends.starboard]))
    # Of equal potentials the one nearer to the well is the barrier.
    port = low + 1 - int(np.argmax(v[low + 1 :: -1]))
    starboard = low + 1 + int(np.argmax(v[low + 1 :]))
    height = float(min(v[port], v[starboard]) - potential[low])
    return Well(float(potential[low]), height, float(heels[port]), float(heels[starboard]))


class Ends(NamedTuple):
    """The capsize angle [rad] and the potential [m rad] there to port and to starboard."""

    limit: float
    port: float
    starboard: float


@dataclass(frozen=True, eq=False)
class Loadings:
    """Loadings of one hull, an array of one shape for each.

    Height of G with free surfaces and G off the centreline [m], the mean wind's lever at heel 0
    and the lever constant with heel [m].
    """

    levers: Levers
    law: str
    kg: Floats
    off_centre: Floats
    wind: Floats
    lever: Floats

    def at(self, which: Index) -> Loadings:
        """Some of them, or all in another shape."""
        kg, off, wind, lever = self.kg, self.off_centre, self.wind, self.lever
        return Loadings(self.levers, self.law, kg[which], off[which], wind[which], lever[which])

    @property
    def curves(self) -> RightingCurve:
        """All their curves as one, whose methods go element by element."""
        return self._curve(*(cast(float, each) for each in self._numbers))

    def curve(self, i: int) -> RightingCurve:
        """One curve."""
        return self._curve(*(float(each[i]) for each in self._numbers))

    @property
    def _numbers(self) -> tuple[Floats, Floats, Floats, Floats]:
        return self.kg, self.off_centre, self.wind, self.lever

    def _curve(self, kg: float, off: float, wind: float, lever: float) -> RightingCurve:
        return RightingCurve(self.levers, Gravity(kg, off), Heeling(wind, self.law, lever))


def lowest_wells(loadings: Loadings, limit: float) -> Floats:
    """A `Well` a row, (n, 4), within the capsize angle `limit` [rad]."""
    cuts = range(0, loadings.kg.size, AT_ONCE)
    parts = [_wells(loadings.at(slice(first, first + AT_ONCE)), limit) for first in cuts]
    return np.concatenate(parts)


def _wells(loadings: Loadings, limit: float) -> Floats:
    heel = loadings.levers.grid.heel
    by_row = loadings.at((slice(None), None)).curves
    value, slope = by_row.value(heel), by_row.slope(heel)
    doubtful = _doubtful(heel, value, slope)
    row, cell = _brackets(value)
    stable, root = value[row, cell + 1] > 0.0, _roots(loadings.at(row), heel, cell)
    inside = np.abs(root) < limit
    row, root, stable = row[inside], root[inside], stable[inside]
    v = loadings.at(row).curves.potential(root)
    ends = [loadings.curves.potential(end) for end in (-limit, limit)]
    result = np.full((value.shape[0], 4), math.nan)
    borders = np.searchsorted(row, np.arange(value.shape[0] + 1))
    for i in range(value.shape[0]):
        here = slice(borders[i], borders[i + 1])
        if doubtful[i]:
            result[i] = one_well(loadings.curve(i), limit)
        elif root[here].size:
            sides = Ends(limit, float(ends[0][i]), float(ends[1][i]))
            result[i] = lowest_well(root[here], v[here], stable[here], sides)
    return result


def _brackets(value: Floats) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Rows and cells in which the lever changes its sign; a point of no lever is a cell's left."""
    sign = np.where(np.abs(value) <= ZERO_LEVER, 0.0, np.sign(value))
    before = sign.copy()
    before[:, 1:] = np.where(sign[:, 1:] == 0.0, sign[:, :-1], sign[:, 1:])
    row, cell = np.nonzero(before[:, :-1] * sign[:, 1:] < 0.0)
    return row, cell


def _doubtful(heel: Floats, value: Floats, slope: Floats) -> NDArray[np.bool_]:
    """Rows with no lever over more than a point, at an end, or perhaps twice within a cell."""
    none = np.abs(value) <= ZERO_LEVER
    flat = np.any(none[:, :-1] & none[:, 1:], axis=1) | none[:, 0] | none[:, -1]
    turns = slope[:, :-1] * slope[:, 1:] <= 0.0
    nearest = np.minimum(np.abs(value[:, :-1]), np.abs(value[:, 1:]))
    reach = np.maximum(np.abs(slope[:, :-1]), np.abs(slope[:, 1:])) * np.diff(heel)
    return np.asarray(flat | np.any(turns & (nearest <= reach), axis=1))


def _roots(loadings: Loadings, heel: Floats, cell: NDArray[np.intp]) -> Floats:
    """The heel [rad] in a cell of every loading at which its lever is zero."""
    curves, left, right = loadings.curves, heel[cell], heel[cell + 1]
    nearer = np.abs(curves.value(left)) <= np.abs(curves.value(right))
    root = np.where(nearer, left, right)
    for _ in range(POLISH):
        with np.errstate(divide="ignore", invalid="ignore"):
            step = curves.value(root) / curves.slope(root)
        root = np.clip(root - np.where(np.isfinite(step), step, 0.0), left, right)
    return root


def one_well(
    curve: RightingCurve, limit: float, rests: tuple[Equilibrium, ...] | None = None
) -> Well:
    """The lowest well of one loading, by its equilibria `rests`, worked out where not known."""
    inside = [e for e in (equilibria(curve) if rests is None else rests) if abs(e.heel) < limit]
    if not inside:
        return NO_WELL
    heels = np.array([e.heel for e in inside])
    ends = Ends(limit, float(curve.potential(-limit)), float(curve.potential(limit)))
    stable = np.array([e.kind == "stable" for e in inside])
    return lowest_well(heels, curve.potential(heels), stable, ends)
