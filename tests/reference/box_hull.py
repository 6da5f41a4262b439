"""A box-shaped hull by plain geometry: the submerged polygon at any heel, by clipping.

Independent of all that the program does with levers: M comes from the width of the waterline.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

Floats = NDArray[np.float64]


class Floating(NamedTuple):
    """At one heel: KN [m], and centre of buoyancy and metacentre (y, z) [m] in ship axes."""

    kn: float
    buoyancy: Floats
    metacentre: Floats


class Box(NamedTuple):
    """Beam, depth and draught [m]."""

    beam: float
    depth: float
    draught: float

    def at(self, heel: float) -> Floating:
        """How she floats at `heel` [rad], starboard down, at constant displacement."""
        up = np.array([-math.sin(heel), math.cos(heel)])
        along = np.array([math.cos(heel), math.sin(heel)])
        half = 0.5 * self.beam
        hull = np.array([[-half, 0.0], [half, 0.0], [half, self.depth], [-half, self.depth]])
        area = self.beam * self.draught
        low, high = float(np.min(hull @ up)), float(np.max(hull @ up))
        level = brentq(lambda z: _area(_below(hull, up, z)) - area, low, high, xtol=1e-14)
        wet = _below(hull, up, level)
        surface = wet[np.abs(wet @ up - level) < 1e-9]
        width = float(np.ptp(surface @ along))
        centre = _centroid(wet)
        return Floating(float(centre @ along), centre, centre + width**3 / (12.0 * area) * up)


def _below(hull: Floats, up: Floats, level: float) -> Floats:
    """The part of the polygon `hull` (n, 2) with p·up ≤ level."""
    kept = []
    for p, q in zip(hull, np.roll(hull, -1, axis=0), strict=True):
        a, b = float(p @ up) - level, float(q @ up) - level
        if a <= 0.0:
            kept.append(p)
        if a * b < 0.0:
            kept.append(p + a / (a - b) * (q - p))
    return np.array(kept)


def _crosses(polygon: Floats) -> Floats:
    after = np.roll(polygon, -1, axis=0)
    return np.asarray(polygon[:, 0] * after[:, 1] - after[:, 0] * polygon[:, 1])


def _area(polygon: Floats) -> float:
    return 0.5 * float(np.sum(_crosses(polygon))) if len(polygon) > 2 else 0.0


def _centroid(polygon: Floats) -> Floats:
    weights = _crosses(polygon)[:, None]
    sums = np.sum(weights * (polygon + np.roll(polygon, -1, axis=0)), axis=0)
    return np.asarray(sums / (6.0 * _area(polygon)))
