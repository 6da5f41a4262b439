"""The energy margin: how near the energy of the roll came to the barrier against capsize.

Energies per unit weight [m rad]; E = k²ψ′²/2g + V(ψ) − V_low, margin = 1 − max E/E_b.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


def energy_margin(energy: Floats, height: Floats) -> float:
    """1 − max E/E_b over the times of a run; not clipped, NaN where at some time nothing is stable.

    `energy` above the well and `height` of the barrier, both (n,) [m rad].
    """
    if energy.size == 0 or not np.all(np.isfinite(height)):
        return math.nan
    return float(1.0 - np.max(energy / height))
