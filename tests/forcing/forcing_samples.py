"""Waves, seas and a ship that the tests of the forcing room share, and the contract's own sums."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from rollsim.motion.coefficients import Coefficients, calm_coefficients
from rollsim.motion.moments import wave_state
from rollsim.ship.damping import Damping
from rollsim.ship.levers import polynomial
from rollsim.weather.sea import Components, SeaState
from rollsim.weather.spectra import bretschneider

Floats = NDArray[np.float64]

CALM = calm_coefficients(polynomial([0.5, 0.1, -0.4], 5.0, 1.2), 2.9, Damping(0.02, 0.35))
GALE = SeaState(
    bretschneider(6.0, peak_period=11.0),
    length=84.0,
    beam=14.0,
    draught=5.2,
    shortest_wave=14.0,
    duration=900.0,
)


def sea(count: int, seed: int = 5, top: float = 2.0, sign: float = 1.0) -> Components:
    """Waves of random frequency to `top` [rad/s], some degrees steep all together.

    With `sign` -1 the ship overtakes every other one.
    """
    random = np.random.default_rng(seed)
    frequency = np.sort(random.uniform(0.2, top, count))
    frequency[::2] *= sign
    slope = random.normal(0.0, math.radians(5.0) / math.sqrt(count), count)
    return Components(frequency, slope * 9.0, slope, random.uniform(0.0, math.tau, count))


def direct(waves: Components, times: Floats) -> tuple[Floats, Floats, Floats]:
    """Slope, its rate and the elevation by the contract's own sums."""
    angle = np.outer(times, waves.frequency) + waves.phase
    slope = -np.sin(angle) @ waves.slope
    rate = -np.cos(angle) @ (waves.slope * waves.frequency)
    return slope, rate, np.asarray(np.cos(angle) @ waves.elevation)


def states(c: Coefficients, times: Floats) -> tuple[Floats, Floats, Floats]:
    """Slope, its rate and the elevation as the equation reads them."""
    found = np.array([wave_state(time, 1.0, 0.0, c) for time in times])
    return found[:, 0], found[:, 1], found[:, 2]
