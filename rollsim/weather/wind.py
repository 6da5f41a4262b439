"""Wind: the heeling moment of a speed on a windage, and gusts as factors on the speed."""

from __future__ import annotations

import math
from typing import NamedTuple

from rollsim.constants import AIR_DENSITY


class Windage(NamedTuple):
    """Lateral area above water [m²] and its lever above the centre of lateral resistance [m]."""

    area: float
    lever: float


class Gust(NamedTuple):
    """A gust: the speed goes linearly to `factor` times in `rise` [s], holds, and returns."""

    at: float
    rise: float
    hold: float
    factor: float

    @property
    def corners(self) -> tuple[float, float, float, float]:
        """Times [s] at which the slope of the speed changes."""
        top = self.at + self.rise
        return self.at, top, top + self.hold, top + self.hold + self.rise

    def speed_factor(self, time: float) -> float:
        """Factor on the mean speed at `time` [s], away from a sudden corner."""
        start, top, release, end = self.corners
        if not start <= time < end:
            return 1.0
        if top <= time < release:
            return self.factor
        passed = time - start if time < top else end - time
        return 1.0 + (self.factor - 1.0) * passed / self.rise


def moment_per_speed_squared(windage: Windage, drag_coefficient: float) -> float:
    """½ ρ C_D A z [N m per (m/s)²]: times V² the heeling moment of a wind on the beam."""
    return 0.5 * AIR_DENSITY * drag_coefficient * windage.area * windage.lever


def speed_factor(gusts: tuple[Gust, ...], time: float) -> float:
    """Factor of all `gusts` (which do not overlap) on the mean speed at `time` [s]."""
    return math.prod(gust.speed_factor(time) for gust in gusts)
