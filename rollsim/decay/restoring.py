"""What rights her in a decay: a line through the mean angle, or the lever of a scenario."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from rollsim.errors import RollsimError
from rollsim.motion.coefficients import Coefficients, calm_coefficients
from rollsim.motion.timeline import Base, timeline
from rollsim.ship.damping import Damping
from rollsim.ship.levers import Gravity, Levers, polynomial
from rollsim.ship.righting import Heeling, RightingCurve
from rollsim.ship.statics import static_heel

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Restoring:
    """A righting curve and the heel [rad] at which she rests on it; the equation's coefficients.

    The inertia of the coefficients, k²/g [m s²], is what the record tells. Where the lever is
    `straight` the mean of a roll is its rest.
    """

    curve: RightingCurve
    rest: float
    coefficients: Coefficients
    segment: Floats
    straight: bool = False

    @property
    def slope(self) -> float:
        """Slope of the lever at rest [m/rad]."""
        return float(self.curve.slope(self.rest))

    @property
    def reach(self) -> tuple[float, float]:
        """How far from rest the lever is known [rad], to port (negative) and to starboard."""
        levers = self.curve.levers
        return levers.heel_min - self.rest, levers.heel_max - self.rest

    def lever(self, heel: Floats) -> Floats:
        """The lever [m] at a heel from rest [rad]."""
        return self.curve.value(self.rest + heel)

    def work(self, heel: Floats) -> Floats:
        """Its work from rest to such a heel [m rad]."""
        return np.asarray(self.curve.potential(self.rest + heel) - self.curve.potential(self.rest))


def linear() -> Restoring:
    """A lever of 1 m/rad on a line: its inertia is the inverse square of the frequency."""
    return replace(restoring(polynomial([1.0], 0.0, math.pi), Gravity(0.0)), straight=True)


def restoring(levers: Levers, gravity: Gravity, side: float = 0.0) -> Restoring:
    """The lever of a loading, no wind; of two rests that on the side of the heel `side` [rad]."""
    curve = RightingCurve(levers, gravity, Heeling())
    return of_curve(curve, calm_coefficients(levers, 1.0, Damping()), side)


def of_curve(curve: RightingCurve, coefficients: Coefficients, side: float = 0.0) -> Restoring:
    """The lever of a case as its curve and its coefficients have it, without wind."""
    calm = replace(curve, heeling=Heeling())
    rest = static_heel(calm, side)
    if math.isnan(rest):
        raise RollsimError("the scenario's ship has no heel at which she rests\n  lower G")
    still = coefficients._replace(
        wind=0.0, relative=True, absolute_gm=0.0, added_share=0.0, ramp=0.0
    )
    segments = timeline(1.0, Base(curve.gravity, 0.0), [], [], (), ())
    return Restoring(calm, rest, still, np.ascontiguousarray(segments[0]))
