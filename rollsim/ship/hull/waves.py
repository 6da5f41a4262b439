"""Levers of a hull in a wave of her own length, and the simple form that comes nearest to them.

The wave is still: the pressure under it is that of the water column above, and the ship floats in
it at constant displacement. The elevation ζ is amidships, + on a crest.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

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
