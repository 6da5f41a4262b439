"""Where the ship rests and what holds her: equilibria, loll, vanishing angle, areas.

One code for GM > 0, = 0 and < 0 and for G off the centreline: nothing divides by GM.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from rollsim.ship.levers import RANGE_SLACK, Gravity, Levers
from rollsim.ship.righting import RightingCurve

Floats = NDArray[np.float64]
Kind = Literal["stable", "unstable", "neutral"]

ZERO_LEVER = 1e-12
"""A lever below this [m] is none: rounding of metre-sized levers."""
SAME_ANGLE = 1e-9
"""Angles nearer than this [rad] are one."""


@dataclass(frozen=True)
class Equilibrium:
    """A heel [rad] at which nothing turns the ship, and what she does beside it."""

    heel: float
    kind: Kind


def nodes(curve: RightingCurve) -> tuple[Floats, Floats]:
    """Heels [rad] over the whole range that hold every extreme of `curve`, and the lever [m] there.

    The extremes are roots of the slope between grid points, so that no pair of roots hides.
    """
    heel, value, slope = curve.on_grid()
    turns = np.flatnonzero(slope[:-1] * slope[1:] < 0.0)
    extremes = np.array([_root(curve.slope, heel[i], heel[i + 1]) for i in turns])
    heel = np.insert(heel, turns + 1, extremes)
    return heel, np.insert(value, turns + 1, curve.value(extremes))


def equilibria(curve: RightingCurve) -> tuple[Equilibrium, ...]:
    """Every equilibrium of `curve` in order of heel, with its kind.

    Stable where the lever turns from − to + with growing heel, unstable where from + to −,
    neutral where it only touches zero or stays there. A zero at the end of the range counts by
    its inner side.
    """
    heel, value = nodes(curve)
    sign = np.where(np.abs(value) <= ZERO_LEVER, 0, np.sign(value)).astype(int)
    found: list[Equilibrium] = []
    i = 0
    while i < heel.size:
        if sign[i] == 0:
            last = i
            while last + 1 < heel.size and sign[last + 1] == 0:
                last += 1
            before = sign[i - 1] if i > 0 else 0
            after = sign[last + 1] if last + 1 < heel.size else 0
            found.append(Equilibrium(0.5 * float(heel[i] + heel[last]), _kind(before, after)))
            i = last
        elif i + 1 < heel.size and sign[i] * sign[i + 1] < 0:
            root = _root(curve.value, float(heel[i]), float(heel[i + 1]))
            found.append(Equilibrium(root, _kind(sign[i], sign[i + 1])))
        i += 1
    return tuple(found)


def _kind(before: int, after: int) -> Kind:
    before, after = before or -after, after or -before
    if before < 0 < after:
        return "stable"
    return "unstable" if after < 0 < before else "neutral"


def _root(function: Callable[[float], Floats], low: float, high: float) -> float:
    from scipy.optimize import brentq

    return float(brentq(lambda phi: float(function(phi)), low, high, xtol=1e-14))


def loll_angles(levers: Levers, gravity: Gravity) -> tuple[float, float]:
    """First stable heels (starboard, port) [rad] with G on the centreline, no wind.

    NaN where there is none, or where she stays upright by herself: loll needs an upright heel that
    is no rest. At GM = 0 the lever beside it decides.
    """
    rests = equilibria(RightingCurve(levers, Gravity(gravity.kg, 0.0, gravity.free_surface)))
    if any(abs(e.heel) <= SAME_ANGLE and e.kind != "unstable" for e in rests):
        return math.nan, math.nan
    stable = [e.heel for e in rests if e.kind == "stable"]
    starboard = min((heel for heel in stable if heel > SAME_ANGLE), default=math.nan)
    port = max((heel for heel in stable if heel < -SAME_ANGLE), default=math.nan)
    return starboard, port


def vanishing_angles(levers: Levers, gravity: Gravity) -> tuple[float, float]:
    """Heels (starboard, port) [rad] at which GZ last turns capsizing; NaN where it does not.

    Off-centre G included, no wind.
    """
    found = equilibria(RightingCurve(levers, gravity))
    turns = [e.heel for e in found if e.kind == "unstable"]
    starboard = max((heel for heel in turns if heel > SAME_ANGLE), default=math.nan)
    port = min((heel for heel in turns if heel < -SAME_ANGLE), default=math.nan)
    return starboard, port


def static_heel(curve: RightingCurve, start: float) -> float:
    """The stable heel [rad] downhill from `start`, to starboard from a crest; NaN if none.

    LeverRangeError where the levers do not reach to `start`.
    """
    return float(static_heels(curve, curve.levers.within([start]))[0])


def static_heels(curve: RightingCurve, start: Floats) -> Floats:
    """`static_heel` from every start [rad], (n,); NaN for one that the levers do not reach to."""
    rests = equilibria(curve)
    heels = np.array([e.heel for e in rests])
    stable = np.array([e.heel for e in rests if e.kind == "stable"])
    known = np.clip(start, curve.levers.heel_min, curve.levers.heel_max)
    near = np.abs(known[:, None] - heels) <= SAME_ANGLE
    unstable = np.array([e.kind == "unstable" for e in rests], dtype=bool)
    on_crest = np.any(near & unstable, axis=1)
    to_starboard = on_crest | (curve.value(known) < 0.0)
    # One entry beyond either end stands for "none".
    bounded = np.concatenate(([math.nan], stable, [math.nan]))
    ahead = bounded[1 + np.searchsorted(stable, known + SAME_ANGLE, side="right")]
    behind = bounded[np.searchsorted(stable, known - SAME_ANGLE, side="left")]
    downhill = np.where(to_starboard, ahead, behind)
    at_rest = near & ~unstable
    here = np.any(at_rest, axis=1)
    if heels.size:
        downhill = np.where(here, heels[np.argmax(at_rest, axis=1)], downhill)
    return np.asarray(np.where(np.abs(start - known) <= RANGE_SLACK, downhill, math.nan))


def greatest_lever(curve: RightingCurve) -> tuple[float, float]:
    """Greatest residual lever to starboard: (heel [rad], lever [m])."""
    heel, value = nodes(curve)
    best = int(np.argmax(np.where(heel >= 0.0, value, -math.inf)))
    return float(heel[best]), float(value[best])
