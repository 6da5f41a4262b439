"""Roll damping per unit inertia, D(p) = b1 p + b2 |p| p + b3 p³ with the roll rate p [rad/s]."""

from __future__ import annotations

import math
from typing import NamedTuple


class Damping(NamedTuple):
    """Coefficients b1 [1/s], b2 [1/rad] and b3 [s/rad²], per unit inertia."""

    linear: float = 0.0
    quadratic: float = 0.0
    cubic: float = 0.0


def from_critical_fraction(fraction: float, frequency: float) -> float:
    """Linear damping b1 = 2 ζ ω₀ [1/s] of the fraction ζ at the upright natural ω₀ [rad/s]."""
    return 2.0 * fraction * frequency


def from_extinction(a: float, b_per_deg: float, frequency: float) -> Damping:
    """Damping from the extinction curve δφ = a φm + b φm² (degrees, one half swing).

    First order in the damping (Froude): b1 = 2 a ω₀/π, b2 = ¾ (180/π) b.
    """
    return Damping(2.0 * a * frequency / math.pi, 0.75 * math.degrees(b_per_deg))
