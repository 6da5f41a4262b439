"""Coefficients of the block engine's multistep scheme, made from the polynomials behind them.

For φ″ = a(t, φ, φ′) with step h, from the accelerations at the last steps:
    rate:  p(t + h) = p + h Σ β_j a_j           (Adams)
    roll:  φ(t + h) = φ + h p + h² Σ γ_j a_j    (Störmer's sum beside it)
The predictor uses a at t, t − h, ..; the corrector puts a(t + h) first. Order 6 both (the names
and the method: Hairer, Nørsett, Wanner, Solving Ordinary Differential Equations I, III.1, from
memory; the coefficients are derived here).
"""

from __future__ import annotations

import numpy as np
from numpy.polynomial import Polynomial
from numpy.typing import NDArray

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
