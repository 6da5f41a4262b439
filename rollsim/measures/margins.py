"""The energy margin: how near the energy of the roll came to the barrier against capsize.

Energies per unit weight [m rad]; E = k²ψ′²/2g + V(ψ) − V_low, margin = 1 − max E/E_b.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]


class Well(NamedTuple):
    """The lowest well: its potential `low` and the `height` of its lesser barrier, NaN if none."""

    low: float
    height: float


NO_WELL = Well(math.nan, math.nan)


def lowest_well(
    heel: ArrayLike, potential: ArrayLike, stable: ArrayLike, ends: tuple[float, float]
) -> Well:
    """The well of the lowest stable equilibrium between the capsize angles.

    `heel`, `potential` and `stable` (bool) list the equilibria between them in order of heel;
    `ends` is the potential at the port and the starboard capsize angle. The barrier of a side is
    the greatest potential out to its capsize angle; a saddle between two wells is no barrier.
    """
    heels, v, wells = np.asarray(heel), np.asarray(potential), np.asarray(stable, dtype=bool)
    if not wells.any():
        return NO_WELL
    low = int(np.argmin(np.where(wells, v, np.inf)))
    port = max(float(np.max(v[heels <= heels[low]])), ends[0])
    starboard = max(float(np.max(v[heels >= heels[low]])), ends[1])
    return Well(float(v[low]), min(port, starboard) - float(v[low]))


def energy_margin(energy: Floats, height: Floats) -> float:
    """1 − max E/E_b over the times of a run; not clipped, NaN where at some time nothing is stable.

    `energy` above the well and `height` of the barrier, both (n,) [m rad].
    """
    if energy.size == 0 or not np.all(np.isfinite(height)):
        return math.nan
    return float(1.0 - np.max(energy / height))
