"""How near a run came to its limits; the energy of a roll, and the rate that leads over a barrier.

Energies per unit weight [m rad].
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from rollsim.constants import GRAVITY

Floats = NDArray[np.float64]


def limit_margin(reached: ArrayLike, limits: ArrayLike) -> Floats:
    """1 − the greatest of |angle| ÷ its limit over the limits set; ≤ 0 once one is passed.

    `reached` the greatest angle to either side and `limits` its limit, in the same unit, one limit
    after the other along the last axis; a limit that is missing (NaN) is not set. NaN without any.
    """
    shares = np.abs(np.asarray(reached, dtype=np.float64)) / np.asarray(limits, dtype=np.float64)
    return np.asarray(1.0 - np.fmax.reduce(shares, axis=-1))


def roll_energy(rate: ArrayLike, gyradius: float, potential: ArrayLike) -> Floats:
    """E = k²ψ′²/2g + V [m rad] at a rate [rad/s] and a potential [m rad]; `gyradius` k [m]."""
    swing = (gyradius * np.asarray(rate, dtype=np.float64)) ** 2 / (2.0 * GRAVITY)
    return np.asarray(swing + np.asarray(potential, dtype=np.float64))


def escape_rate(spare: ArrayLike, gyradius: float) -> Floats:
    """The rate [rad/s] whose energy is what is missing to the barrier: `spare` [m rad], k [m]."""
    return np.asarray(np.sqrt(2.0 * GRAVITY * np.asarray(spare)) / gyradius)
