"""The path of the metacentre M and of the centre of buoyancy B, from KN alone.

In ship axes, y to starboard and z up from the keel, with w(φ) = (cos φ, sin φ) along and
n(φ) = (−sin φ, cos φ) normal to the heeled waterline, at constant displacement:
M = KN w + KN′ n, and B = KN w + (KB − ∫₀^φ KN dφ) n.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from rollsim.ship.levers import Levers

Floats = NDArray[np.float64]


def metacentre(levers: Levers, heel: ArrayLike) -> tuple[Floats, Floats]:
    """(y, z) [m] of the metacentre in ship axes at `heel` [rad]."""
    return _in_ship_axes(heel, levers.kn(heel), levers.slope(heel))


def buoyancy(levers: Levers, heel: ArrayLike, kb: float) -> tuple[Floats, Floats]:
    """(y, z) [m] of the centre of buoyancy at `heel` [rad]; `kb` [m] is its upright height."""
    return _in_ship_axes(heel, levers.kn(heel), kb - levers.integral(heel))


def _in_ship_axes(heel: ArrayLike, along: Floats, normal: Floats) -> tuple[Floats, Floats]:
    c, s = np.cos(heel), np.sin(heel)
    return along * c - normal * s, along * s + normal * c
