"""Coefficients of the block engine's multistep scheme, made from the polynomials behind them.

For y″ = a(t, y, y′) with step h, from the accelerations at the last steps:
    rate:  p(t + h) = p + h Σ β_j a_j           (Adams)
    angle: y(t + h) = y + h p + h² Σ γ_j a_j    (Störmer's sum beside it)
The predictor uses a at t, t − h, ..; the corrector puts a(t + h) first. Order 6 both (the names
and the method: Hairer, Nørsett, Wanner, Solving Ordinary Differential Equations I, III.1, from
memory; the coefficients are derived here).
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Any, NamedTuple

import numpy as np
from numpy.polynomial import Polynomial
from numpy.typing import NDArray

Floats = NDArray[np.float64]

STEPS = 6
"""Accelerations in a sum."""


@lru_cache(maxsize=2)
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


class Scheme(NamedTuple):
    """The scheme for one step length h [s], every number a scalar of the block's float type.

    `p*` and `s*` predict rate and angle (h and h² in them), `e*` extrapolate the acceleration,
    `newest_rate` and `newest_angle` are the corrector's newest weights.
    """

    h: Any
    half: Any
    p0: Any
    p1: Any
    p2: Any
    p3: Any
    p4: Any
    p5: Any
    s0: Any
    s1: Any
    s2: Any
    s3: Any
    s4: Any
    s5: Any
    e0: Any
    e1: Any
    e2: Any
    e3: Any
    e4: Any
    e5: Any
    newest_rate: Any
    newest_angle: Any


def scheme(h: float, kind: type) -> Scheme:
    """The scheme of step `h` [s] in float type `kind`."""
    rate, angle = coefficients(0)
    newest_rate, newest_angle = coefficients(1)[:, 0]
    numbers = [
        h,
        0.5 * h,
        *(h * rate),
        *(h * h * angle),
        *extrapolation(),
        h * newest_rate,
        h * h * newest_angle,
    ]
    return Scheme(*(kind(number) for number in numbers))
