"""The lowest well of a loading and the barriers beside it, for many loadings of one hull at once.

A gradual event has one at every output.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from rollsim.ship.rests import STABLE, Loadings, Rests, rests
from rollsim.ship.righting import RightingCurve

Floats = NDArray[np.float64]


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


def lowest_wells(loadings: Loadings, limit: float, at: Rests | None = None) -> Floats:
    """A `Well` a row, (n, 4), within the capsize angle `limit` [rad].

    `at` are the loadings' equilibria, where known.
    """
    at = rests(loadings) if at is None else at
    inside = np.abs(at.heel) < limit
    row, heel, stable = at.row[inside], at.heel[inside], at.kind[inside] == STABLE
    v = loadings.at(row).curves.potential(heel)
    port, starboard = (loadings.curves.potential(end) for end in (-limit, limit))
    wells = np.full((at.loadings, 4), math.nan)
    borders = np.searchsorted(row, np.arange(at.loadings + 1))
    for i in range(at.loadings):
        here = slice(borders[i], borders[i + 1])
        ends = Ends(limit, float(port[i]), float(starboard[i]))
        wells[i] = lowest_well(heel[here], v[here], stable[here], ends)
    return wells


def one_well(curve: RightingCurve, limit: float) -> Well:
    """The lowest well of one loading."""
    return Well(*(float(number) for number in lowest_wells(Loadings.single(curve), limit)[0]))
