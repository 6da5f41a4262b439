"""Where ships of many loadings rest: all equilibria at once, and what follows from them.

What `equilibria` finds for one loading, for all: the roots of the residual lever are bracketed on
the levers' grid and found together, bit for bit the same in whatever company. A loading in doubt (a
lever that is zero over more than a point, a pair of roots that may hide between two points) is left
to `equilibria`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import NamedTuple, cast

import numpy as np
from numpy.typing import NDArray

from rollsim.ship.equilibria import SAME_ANGLE, ZERO_LEVER, equilibria
from rollsim.ship.levers import RANGE_SLACK, Gravity, Levers
from rollsim.ship.liquid import Filled
from rollsim.ship.righting import Heeling, RightingCurve

Floats = NDArray[np.float64]

STABLE, NEUTRAL, UNSTABLE = 1, 0, -1
Index = NDArray[np.intp] | slice | tuple[slice, None]

AT_ONCE = 128
"""Loadings whose curves are held in memory together."""
POLISH = 4
"""Newton's steps from the nearer end of a bracket; three are enough at the grid's spacing."""
CODES = {"stable": STABLE, "neutral": NEUTRAL, "unstable": UNSTABLE}


@dataclass(frozen=True, eq=False)
class Loadings:
    """Loadings of one hull, an array of one shape for each.

    Height of G with free surfaces and G off the centreline [m], the mean wind's lever at heel 0
    and the lever constant with heel [m]; `filled` is what liquid adds since t = 0.
    """

    levers: Levers
    law: str
    kg: Floats
    off_centre: Floats
    wind: Floats
    lever: Floats
    filled: Filled | None = None

    def at(self, which: Index) -> Loadings:
        """Some of them, or all in another shape."""
        kg, off, wind, lever = (each[which] for each in self._numbers)
        filled = self.filled and Filled(self.filled.levers, self.filled.at[which])
        return Loadings(self.levers, self.law, kg, off, wind, lever, filled)

    @property
    def curves(self) -> RightingCurve:
        """All their curves as one, whose methods go element by element."""
        curve = self._curve(*(cast(float, each) for each in self._numbers))
        return replace(curve, filled=self.filled) if self.filled else curve

    @classmethod
    def single(cls, curve: RightingCurve) -> Loadings:
        """One loading."""
        g, heeling = curve.gravity, curve.heeling
        numbers = (g.virtual_kg, g.off_centre, heeling.wind, heeling.lever)
        kg, off, wind, lever = (np.array([number]) for number in numbers)
        filled = curve.filled and Filled(curve.filled.levers, np.reshape(curve.filled.at, 1))
        return cls(curve.levers, heeling.law, kg, off, wind, lever, filled)

    def curve(self, i: int) -> RightingCurve:
        """One curve."""
        curve = self._curve(*(float(each[i]) for each in self._numbers))
        if self.filled is None:
            return curve
        return replace(curve, filled=Filled(self.filled.levers, self.filled.at[i]))

    @property
    def _numbers(self) -> tuple[Floats, Floats, Floats, Floats]:
        return self.kg, self.off_centre, self.wind, self.lever

    def _curve(self, kg: float, off: float, wind: float, lever: float) -> RightingCurve:
        return RightingCurve(self.levers, Gravity(kg, off), Heeling(wind, self.law, lever))


class Rests(NamedTuple):
    """Equilibria of many loadings in order of loading and heel, arrays (n,).

    `row` is the number of the loading among `loadings`, `heel` [rad], `kind` STABLE, NEUTRAL or
    UNSTABLE.
    """

    loadings: int
    row: NDArray[np.intp]
    heel: Floats
    kind: NDArray[np.int8]

    def first(self, which: NDArray[np.bool_]) -> Floats:
        """The least heel [rad] of those that are chosen, by loading; NaN without any."""
        least = np.full(self.loadings, math.nan)
        np.fmin.at(least, self.row[which], self.heel[which])
        return least

    def last(self, which: NDArray[np.bool_]) -> Floats:
        """The greatest heel [rad] of those that are chosen, by loading; NaN without any."""
        greatest = np.full(self.loadings, math.nan)
        np.fmax.at(greatest, self.row[which], self.heel[which])
        return greatest


def rests(loadings: Loadings) -> Rests:
    """Every equilibrium of every loading (n,)."""
    count = loadings.kg.size
    cuts = range(0, count, AT_ONCE)
    parts = [_rests(loadings.at(slice(first, first + AT_ONCE)), first) for first in cuts]
    row, heel, kind = (np.concatenate(column) for column in zip(*parts, strict=True))
    return Rests(count, row, heel, kind)


def rests_of(curve: RightingCurve) -> Rests:
    """The equilibria of one loading, by `equilibria`: the same to within rounding."""
    equilibria_in_order = equilibria(curve)
    heel = np.array([e.heel for e in equilibria_in_order])
    kind = np.array([CODES[e.kind] for e in equilibria_in_order], dtype=np.int8)
    return Rests(1, np.zeros(heel.size, dtype=np.intp), heel, kind)


def _rests(loadings: Loadings, first: int) -> tuple[NDArray[np.intp], Floats, NDArray[np.int8]]:
    heel, value, slope = loadings.at((slice(None), None)).curves.on_grid()
    doubtful = _doubtful(heel, value, slope)
    row, cell = _brackets(value)
    sure = ~doubtful[row]
    row, cell = row[sure], cell[sure]
    kind = np.where(value[row, cell + 1] > 0.0, STABLE, UNSTABLE)
    single = [
        (int(i), e.heel, CODES[e.kind])
        for i in np.flatnonzero(doubtful)
        for e in equilibria(loadings.curve(int(i)))
    ]
    rows = np.concatenate((row, np.array([i for i, _, _ in single], dtype=np.intp)))
    ends = value[row, cell], value[row, cell + 1]
    roots = _roots(loadings.at(row), heel[cell], heel[cell + 1], ends)
    heels = np.concatenate((roots, [h for _, h, _ in single]))
    kinds = np.concatenate((kind, np.array([k for _, _, k in single], dtype=np.intp)))
    order = np.lexsort((heels, rows))
    return rows[order] + first, heels[order], kinds[order].astype(np.int8)


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


def _roots(loadings: Loadings, left: Floats, right: Floats, ends: tuple[Floats, Floats]) -> Floats:
    """The heel [rad] of every loading between `left` and `right` at which its lever is zero; `ends`
    are the levers there."""
    curves = loadings.curves
    root = np.where(np.abs(ends[0]) <= np.abs(ends[1]), left, right)
    for _ in range(POLISH):
        with np.errstate(divide="ignore", invalid="ignore"):
            step = curves.value(root) / curves.slope(root)
        root = np.clip(root - np.where(np.isfinite(step), step, 0.0), left, right)
    return root


def loll_angles(centred: Rests) -> tuple[Floats, Floats]:
    """First stable heels (starboard, port) [rad] of loadings with G centred and no lever.

    NaN where there is none, or where she stays upright by herself.
    """
    upright = np.zeros(centred.loadings, dtype=bool)
    upright[centred.row[(np.abs(centred.heel) <= SAME_ANGLE) & (centred.kind != UNSTABLE)]] = True
    stable = (centred.kind == STABLE) & ~upright[centred.row]
    starboard = centred.first(stable & (centred.heel > SAME_ANGLE))
    return starboard, centred.last(stable & (centred.heel < -SAME_ANGLE))


def vanishing_angles(windless: Rests) -> tuple[Floats, Floats]:
    """Heels (starboard, port) [rad] at which GZ last turns capsizing; NaN where it does not."""
    turns = windless.kind == UNSTABLE
    starboard = windless.last(turns & (windless.heel > SAME_ANGLE))
    return starboard, windless.first(turns & (windless.heel < -SAME_ANGLE))


def static_heels(loadings: Loadings, at: Rests, row: NDArray[np.intp], start: Floats) -> Floats:
    """The stable heel [rad] downhill from each `start` [rad], to starboard from a crest.

    `row` (m,) says of which loading each start is; NaN where there is none, and for a start that
    the levers do not reach to.
    """
    levers = loadings.levers
    known = np.clip(np.nan_to_num(start), levers.heel_min, levers.heel_max)
    lever = loadings.at(row).curves.value(known)
    borders = np.searchsorted(at.row, np.arange(at.loadings + 1))
    order = np.argsort(row, kind="stable")
    heel = np.full(start.size, math.nan)
    numbers = np.arange(at.loadings)
    first, last = (np.searchsorted(row[order], numbers, side=side) for side in ("left", "right"))
    for i in np.flatnonzero(last > first):
        which, here = order[first[i] : last[i]], slice(borders[i], borders[i + 1])
        heel[which] = _downhill(at.heel[here], at.kind[here], known[which], lever[which])
    return np.asarray(np.where(np.abs(start - known) <= RANGE_SLACK, heel, math.nan))


def _downhill(heels: Floats, kind: NDArray[np.int8], start: Floats, lever: Floats) -> Floats:
    near = np.abs(start[:, None] - heels) <= SAME_ANGLE
    crest = np.any(near & (kind == UNSTABLE), axis=1)
    # One entry beyond either end stands for "none".
    stable = np.concatenate(([-math.inf], heels[kind == STABLE], [math.inf]))
    ahead = stable[np.searchsorted(stable, start + SAME_ANGLE, side="right")]
    behind = stable[np.searchsorted(stable, start - SAME_ANGLE, side="left") - 1]
    heel = np.where(crest | (lever < 0.0), ahead, behind)
    rest = near & (kind != UNSTABLE)
    here = np.any(rest, axis=1)
    if here.any():
        heel = np.where(here, heels[np.argmax(rest, axis=1)], heel)
    return np.asarray(np.where(np.isfinite(heel), heel, math.nan))
