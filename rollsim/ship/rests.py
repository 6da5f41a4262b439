"""Where ships of many loadings rest: all equilibria at once, and what follows from them.

What `statics` finds for one loading: the roots of the residual lever are bracketed on the levers'
grid and found together. A loading in doubt is left to `statics.equilibria`.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from rollsim.ship.statics import SAME_ANGLE, equilibria
from rollsim.ship.wells import AT_ONCE, Loadings, _brackets, _doubtful, _roots

Floats = NDArray[np.float64]

STABLE, NEUTRAL, UNSTABLE = 1, 0, -1
CODES = {"stable": STABLE, "neutral": NEUTRAL, "unstable": UNSTABLE}


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


def _rests(loadings: Loadings, first: int) -> tuple[NDArray[np.intp], Floats, NDArray[np.int8]]:
    heel = loadings.levers.grid.heel
    by_row = loadings.at((slice(None), None)).curves
    value, slope = by_row.value(heel), by_row.slope(heel)
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
    heels = np.concatenate((_roots(loadings.at(row), heel, cell), [h for _, h, _ in single]))
    kinds = np.concatenate((kind, np.array([k for _, _, k in single], dtype=np.intp)))
    order = np.lexsort((heels, rows))
    return rows[order] + first, heels[order], kinds[order].astype(np.int8)


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

    `row` (m,) says of which loading each start is; NaN where there is none, or no start.
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
    heel[np.isnan(start)] = math.nan
    return heel


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
