"""Levers that change with the wave, drawn for a row of elevations: what a hull gives in waves."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from rollsim.ship.levers import Levers, from_kn_table

Floats = NDArray[np.float64]

FINEST = 0.1
"""Distance of the levels [m]: between two of them levers are straight in the elevation."""
MOST = 64
"""Levels on the longer side of still water."""


COMPARED_TO = np.radians(40.0)
"""Heel [rad] up to which the simple form is compared with the hull."""


class SimpleForm(NamedTuple):
    """KN(φ, ζ) = KN(φ) + gm_per_m ζ sin φ, and how far it misses the hull.

    `gm_per_m` is the slope of GM over the elevation by least squares; `miss` [m] is the greatest
    difference of a lever up to 40° of heel, at the elevation `at` [m].
    """

    gm_per_m: float
    miss: float
    at: float


@dataclass(frozen=True, eq=False)
class WaveLevers:
    """Levers at even elevations amidships: `levels[j]` holds at first + j step [m].

    One of them is still water. Beyond the first and the last the lever stays what it is there:
    nothing is extrapolated.
    """

    first: float
    step: float
    levels: tuple[Levers, ...]

    @property
    def elevation(self) -> Floats:
        """Elevations of the levels [m]."""
        return np.asarray(self.first + self.step * np.arange(len(self.levels)))

    @cached_property
    def simple_form(self) -> SimpleForm:
        """One number in place of the levels, and what it misses."""
        heel = self.levels[0].grid.heel[::10]
        kn = np.array([levers.kn(heel) for levers in self.levels])
        km = np.array([float(levers.slope(0.0)) for levers in self.levels])
        return simple_form(self.elevation, km, heel, kn)

    @cached_property
    def slope(self) -> Floats:
        """Slopes of KN (levels, heels) [m/rad] on the heels of the first level's grid."""
        heel = self.levels[0].grid.heel
        return np.array([levers.slope(heel) for levers in self.levels])


def from_tables(elevation: Floats, heel: Floats, kn: Floats, km: Floats) -> WaveLevers:
    """Levels from KN (n, m) [m] over elevations (n) [m], 0 among them, and heels (m) [rad].

    `km` (n) [m] is the slope upright. Over the elevation the C² cubic spline goes through the
    tables; a level lies every 0.1 m, or 64 to the longer side.
    """
    from scipy.interpolate import CubicSpline

    low, high = -float(elevation[0]), float(elevation[-1])
    longer = max(low, high)
    step = longer / min(MOST, math.ceil(longer / FINEST - 1e-9))
    below, above = (math.floor(side / step + 1e-9) for side in (low, high))
    levels = step * np.arange(-below, above + 1)
    rows = CubicSpline(elevation, np.column_stack((kn, km)))(levels)
    made = [from_kn_table(heel, row[:-1], float(row[-1])) for row in rows]
    return WaveLevers(float(levels[0]), step, tuple(made))


def simple_form(elevation: Floats, km: Floats, heel: Floats, kn: Floats) -> SimpleForm:
    """The simple form nearest to a hull in waves.

    `elevation` (n) [m] evenly about 0, `km` (n) the slope of KN upright [m], `heel` (m) [rad],
    `kn` (n, m) [m].
    """
    gm_per_m = float(np.polyfit(elevation, km, 1)[0])
    still = np.array([np.interp(0.0, elevation, column) for column in kn.T])
    near = np.abs(heel) <= COMPARED_TO + 1e-9
    simple = still + gm_per_m * elevation[:, None] * np.sin(heel)
    missed = np.abs(kn - simple)[:, near].max(axis=1)
    worst = int(np.argmax(missed))
    return SimpleForm(gm_per_m, float(missed[worst]), float(elevation[worst]))
