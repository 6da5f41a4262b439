"""Seas that the tests of the weather room share, and histories by the contract's own sums."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from rollsim.constants import GRAVITY
from rollsim.weather.sea import Components, RegularWave, SeaState, realise
from rollsim.weather.spectra import bretschneider

Floats = NDArray[np.float64]

GALE = SeaState(
    bretschneider(6.0, peak_period=11.0),
    length=84.0,
    beam=14.0,
    draught=5.2,
    shortest_wave=14.0,
    duration=600.0,
)
SWELL = replace(GALE, waves=RegularWave(height=3.0, period=9.0, phase=0.4))


def themselves(sea: SeaState, seed: int, realisation: int) -> Components:
    """The waves of a storm as they are, unfiltered by any ship: from abeam, at no speed.

    With a slope coefficient of 1 the slope amplitude is a ω²/g, which gives a.
    """
    still = replace(sea, heading=0.5 * math.pi, speed=0.0, slope_coefficient=1.0)
    waves = realise(still, seed, realisation)
    return waves._replace(elevation=waves.slope * GRAVITY / waves.frequency**2)


def history(waves: Components, t: Floats) -> tuple[Floats, Floats]:
    """Elevation and effective slope by the contract's sums."""
    angle = np.outer(t, waves.frequency) + waves.phase
    return np.cos(angle) @ waves.elevation, -np.sin(angle) @ waves.slope


def long_record(waves: Components, minutes: int) -> Floats:
    """The same two sums at every second, by products of exponentials of minutes and seconds."""
    whole = np.exp(1j * np.outer(60.0 * np.arange(minutes), waves.frequency))
    within = np.exp(1j * (np.outer(waves.frequency, np.arange(60.0)) + waves.phase[:, None]))
    elevation = (whole * waves.elevation) @ within
    slope = (whole * waves.slope) @ within
    return np.array([elevation.real.ravel(), -slope.imag.ravel()])
