"""Roll inertia as a radius of gyration k [m], the water's added inertia included."""

from __future__ import annotations

import math

from rollsim.constants import GRAVITY


def gyradius_from_period(period: float, gm: float) -> float:
    """k = T √(g GM) / 2π [m] of the natural period T [s] at GM > 0 [m]."""
    return period * math.sqrt(GRAVITY * gm) / (2.0 * math.pi)


def natural_frequency(gyradius: float, gm: float) -> float:
    """Small-angle natural frequency ω₀ = √(g GM) / k [rad/s] at GM > 0 [m]."""
    return math.sqrt(GRAVITY * gm) / gyradius
