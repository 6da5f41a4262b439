"""What holds a ship of one loading: loll, vanishing angles, static heel, greatest lever."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from rollsim.ship import rests as resting
from rollsim.ship.equilibria import nodes
from rollsim.ship.levers import Gravity, Levers
from rollsim.ship.rests import Loadings
from rollsim.ship.righting import RightingCurve

Floats = NDArray[np.float64]


def loll_angles(levers: Levers, gravity: Gravity) -> tuple[float, float]:
    """First stable heels (starboard, port) [rad] with G on the centreline, no wind.

    NaN where there is none, or where she stays upright by herself: loll needs an upright heel that
    is no rest. At GM = 0 the lever beside it decides.
    """
    centred = RightingCurve(levers, Gravity(gravity.kg, 0.0, gravity.free_surface))
    starboard, port = resting.loll_angles(resting.rests(Loadings.single(centred)))
    return float(starboard[0]), float(port[0])


def vanishing_angles(levers: Levers, gravity: Gravity) -> tuple[float, float]:
    """Heels (starboard, port) [rad] at which GZ last turns capsizing; NaN where it does not.

    Off-centre G included, no wind.
    """
    loading = Loadings.single(RightingCurve(levers, gravity))
    starboard, port = resting.vanishing_angles(resting.rests(loading))
    return float(starboard[0]), float(port[0])


def static_heel(curve: RightingCurve, start: float) -> float:
    """The stable heel [rad] downhill from `start`, to starboard from a crest; NaN if none.

    LeverRangeError where the levers do not reach to `start`.
    """
    loading, here = Loadings.single(curve), curve.levers.within([start])
    row = np.zeros(1, dtype=np.intp)
    return float(resting.static_heels(loading, resting.rests(loading), row, here)[0])


def greatest_lever(curve: RightingCurve) -> tuple[float, float]:
    """Greatest residual lever to starboard: (heel [rad], lever [m])."""
    heel, value = nodes(curve)
    best = int(np.argmax(np.where(heel >= 0.0, value, -math.inf)))
    return float(heel[best]), float(value[best])
