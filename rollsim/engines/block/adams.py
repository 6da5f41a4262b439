"""Coefficients of the block engine's multistep scheme, made from the polynomials behind them.

For φ″ = a(t, φ, φ′) with step h, from the accelerations at the last steps:
    rate:  p(t + h) = p + h Σ β_j a_j           (Adams)
    roll:  φ(t + h) = φ + h p + h² Σ γ_j a_j    (Störmer's sum beside it)
The predictor uses a at t, t − h, ..; the corrector puts a(t + h) first. Order 6 both (the names
and the method: Hairer, Nørsett, Wanner, Solving Ordinary Differential Equations I, III.1, from
memory; the coefficients are derived here).
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
from numpy.polynomial import Polynomial
from numpy.typing import NDArray

if TYPE_CHECKING:
    from rollsim.motion.coefficients import Coefficients

Floats = NDArray[np.float64]

STEPS = 6
"""Accelerations in a sum."""


def coefficients(newest: int) -> Floats:
    """β and γ, shape (2, STEPS), of accelerations at newest, newest − 1, .. in units of h.

    `newest` is 0 for the predictor, 1 for the corrector. Each is the integral over the step of a
    Lagrange polynomial, for γ weighted with the time that is left.
    """
    places = newest - np.arange(STEPS)
    result = np.empty((2, STEPS))
    for j, place in enumerate(places):
        basis = Polynomial([1.0])
        for other in np.delete(places, j):
            basis = basis * Polynomial([-float(other), 1.0]) / float(place - other)
        for row, weight in enumerate((Polynomial([1.0]), Polynomial([1.0, -1.0]))):
            result[row, j] = (basis * weight).integ()(1.0)
    return result


def extrapolation() -> Floats:
    """Weights (STEPS,) of the last accelerations in the one extrapolated to t + h."""
    return np.array([(-1.0) ** j * math.comb(STEPS, j + 1) for j in range(STEPS)])


ROLL_STEPS, WAVE_STEPS = 32.0, 10.0
"""Steps in the shortest roll and the shortest wave period for DEFAULT_ACCURACY: where the
work-precision diagram of tests/bench leaves room in a storm of Hs 9 m and in undamped roll."""
DEFAULT_ACCURACY = math.radians(0.01)
ORDER, ORDER_AT_KINKS = 6, 3
"""How the error goes with the step, and how it does below DEFAULT_ACCURACY, where the kink of |p| p
at p = 0 is what is left of it."""
DAMPING_PHASE = 0.5
"""Greatest step times slope of the damping at 1 rad/s: beyond it the scheme would not be stable."""


def longest_step(
    stiffness: float, wave_frequency: float, c: Coefficients, accuracy: float
) -> float:
    """Longest step [s] for a roll that is off by no more than `accuracy` [rad].

    `stiffness` is the greatest slope of the righting lever over the inertia [1/s²],
    `wave_frequency` the greatest one at which the sea is met [rad/s], 0 in a calm.
    """
    asked = accuracy / DEFAULT_ACCURACY
    finer = asked ** (1.0 / (ORDER if asked > 1.0 else ORDER_AT_KINKS))
    roll = math.sqrt(max(stiffness, 0.0))
    phases = (roll * ROLL_STEPS, wave_frequency * WAVE_STEPS)
    bounds = [finer * math.tau / phase for phase in phases if phase > 0.0]
    # The slope of the damping at 1 rad/s, as in `motion.moments`, without a call of compiled code.
    slope = c.linear + 2.0 * c.quadratic + 3.0 * c.cubic
    if slope > 0.0:
        bounds.append(DAMPING_PHASE / slope)
    return min(bounds, default=math.inf)
