"""What of a wave's slope and elevation a ship of her size feels."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from rollsim.compiled import compiled
from rollsim.constants import GRAVITY

Array = NDArray[np.float64]

ALIGNED = math.radians(1e-9)
"""A heading so near 0 or 180 degrees [rad] has no slope at all."""


@compiled
def section_coefficient(
    omega: float, length: float, beam: float, draught: float, heading: float
) -> float:
    """Effective over wave slope for the equivalent rectangle as gravity feels it.

    (sin u / u) (sin v / v) (1 - e^(-κd)) / (κd), u = κ |sin χ| B/2, v = κ |cos χ| L/2, κ = ω²/g:
    the pressure of the undisturbed wave on a box of length L, beam B and draught d, the part that
    needs no GM (formula for the effective wave slope in MSC.1/Circ.1627, from memory; the factor
    along the length is the same integral over x).
    """
    number = omega * omega / GRAVITY
    u = 0.5 * number * abs(math.sin(heading)) * beam
    v = 0.5 * number * abs(math.cos(heading)) * length
    depth = number * draught
    sides = _sine_over(u) * _sine_over(v)
    return sides * (-math.expm1(-depth) / depth if depth > 0.0 else 1.0)


@compiled
def _sine_over(x: float) -> float:
    return math.sin(x) / x if x > 0.0 else 1.0


@compiled
def effective_elevation(omega: float, length: float, heading: float) -> float:
    """Effective over wave elevation amidships, + on a crest: Grim's effective wave.

    2 v sin v / (π² − v²), v = κ |cos χ| L / 2: the amplitude of the wave of the ship's length that
    fits the wave along her best by least squares (Grim 1961, from memory; checked by the fit
    itself). Its sign is kept; 1 at v = π.
    """
    along = abs(math.cos(heading))
    v = 0.5 * omega * omega / GRAVITY * (along if along > ALIGNED else 0.0) * length
    rest = math.pi - v
    if abs(rest) < 1e-4:
        # sin v = sin(π − v), so both vanish together; to second order beside v = π.
        return 2.0 * v / (math.pi + v) * (1.0 - rest * rest / 6.0)
    return 2.0 * v * math.sin(v) / (rest * (math.pi + v))


@compiled
def section_coefficients(
    omega: Array, length: float, beam: float, draught: float, heading: float
) -> Array:
    """`section_coefficient` of waves of the frequencies omega [rad/s]."""
    result = np.empty(omega.size)
    for i in range(omega.size):
        result[i] = section_coefficient(omega[i], length, beam, draught, heading)
    return result


@compiled
def effective_elevations(omega: Array, length: float, heading: float) -> Array:
    """`effective_elevation` of waves of the frequencies omega [rad/s]."""
    result = np.empty(omega.size)
    for i in range(omega.size):
        result[i] = effective_elevation(omega[i], length, heading)
    return result
