"""Ships and seas that the tests of the motion room share."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from rollsim.ship.damping import Damping
from rollsim.ship.levers import Levers, from_kn_table, polynomial, wall_sided
from rollsim.weather.sea import Components

Floats = NDArray[np.float64]

KINDS: dict[str, Levers] = {
    "table": from_kn_table(
        np.radians([0, 10, 20, 30, 40, 60, 75, 90]), [0, 0.98, 1.97, 2.9, 3.6, 4.4, 4.5, 4.3], 5.66
    ),
    "table of both sides": from_kn_table(
        np.radians([-70, -50, -30, -15, -5, 0, 10, 20, 35, 60, 90]),
        [-4.1, -3.9, -2.8, -1.42, -0.45, 0.03, 0.97, 1.95, 3.2, 4.4, 4.2],
    ),
    "wall-sided": wall_sided(5.0, 3.0, math.radians(40.0)),
    "polynomial": polynomial([0.5, 0.1, -0.4, 0.02], 5.0, math.radians(70.0)),
}
DAMPING = Damping(0.02, 0.35, 0.1)
INERTIA = 2.9


def sea(count: int, seed: int = 5, top: float = 2.0, sign: float = 1.0) -> Components:
    """Waves of random frequency to `top` [rad/s], some degrees steep all together.

    With `sign` -1 the ship overtakes every other one.
    """
    random = np.random.default_rng(seed)
    frequency = np.sort(random.uniform(0.2, top, count))
    frequency[::2] *= sign
    slope = random.normal(0.0, math.radians(5.0) / math.sqrt(count), count)
    return Components(frequency, slope * 9.0, slope, random.uniform(0.0, math.tau, count))


def direct(waves: Components, times: Floats) -> tuple[Floats, Floats]:
    """Slope and its rate by the contract's own sum."""
    angle = np.outer(times, waves.frequency) + waves.phase
    return -np.sin(angle) @ waves.slope, -np.cos(angle) @ (waves.slope * waves.frequency)


def raised(waves: Components, times: Floats) -> Floats:
    """Effective elevation by the contract's own sum."""
    return np.asarray(np.cos(np.outer(times, waves.frequency) + waves.phase) @ waves.elevation)
