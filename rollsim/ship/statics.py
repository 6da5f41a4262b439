"""Where the ship rests and what holds her: equilibria, loll, vanishing angle, areas.

One code for GM > 0, = 0 and < 0 and for G off the centreline: nothing divides by GM.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from rollsim.ship.levers import Gravity, Levers

Floats = NDArray[np.float64]
Kind = Literal["stable", "unstable", "neutral"]

ZERO_LEVER = 1e-12
"""A lever below this [m] is none: rounding of metre-sized levers."""
SAME_ANGLE = 1e-9
"""Angles nearer than this [rad] are one."""


@dataclass(frozen=True)
class HeelingLaw:
    """How a lever falls off with heel: the law, its slope, and its integral from upright."""

    value: Callable[[Floats], Floats]
    slope: Callable[[Floats], Floats]
    integral: Callable[[Floats], Floats]


HEELING_LAWS: dict[str, HeelingLaw] = {
    "constant": HeelingLaw(np.ones_like, np.zeros_like, lambda phi: phi),
    "cos": HeelingLaw(np.cos, lambda phi: -np.sin(phi), np.sin),
    "cos2": HeelingLaw(
        lambda phi: np.cos(phi) ** 2,
        lambda phi: -np.sin(2.0 * phi),
        lambda phi: 0.5 * phi + 0.25 * np.sin(2.0 * phi),
    ),
}


@dataclass(frozen=True)
class Heeling:
    """A steady heeling lever [m]: `wind` falls off by its `law`, `lever` is constant with heel."""

    wind: float = 0.0
    law: str = "constant"
    lever: float = 0.0


@dataclass(frozen=True)
class Equilibrium:
    """A heel [rad] at which nothing turns the ship, and what she does beside it."""

    heel: float
    kind: Kind


@dataclass(frozen=True)
class RightingCurve:
    """The residual lever GZ(φ) − heeling lever of one loading condition."""

    levers: Levers
    gravity: Gravity
    heeling: Heeling = Heeling()

    def value(self, heel: ArrayLike) -> Floats:
        """Residual righting lever [m] at `heel` [rad]."""
        phi = np.asarray(heel, dtype=np.float64)
        gz = self.levers.kn(phi) - self.gravity.virtual_kg * np.sin(phi)
        return np.asarray(gz - self.gravity.off_centre * np.cos(phi) - self.heeling_lever(phi))

    def slope(self, heel: ArrayLike) -> Floats:
        """Slope of the residual lever [m/rad] at `heel` [rad]."""
        phi = np.asarray(heel, dtype=np.float64)
        gz = self.levers.slope(phi) - self.gravity.virtual_kg * np.cos(phi)
        wind = self.heeling.wind * HEELING_LAWS[self.heeling.law].slope(phi)
        return np.asarray(gz + self.gravity.off_centre * np.sin(phi) - wind)

    def heeling_lever(self, heel: ArrayLike) -> Floats:
        """Steady heeling lever [m] at `heel` [rad]."""
        phi = np.asarray(heel, dtype=np.float64)
        law = HEELING_LAWS[self.heeling.law]
        return np.asarray(self.heeling.wind * law.value(phi) + self.heeling.lever)

    def potential(self, heel: ArrayLike) -> Floats:
        """∫ of the residual lever from upright [m rad]: the dynamical stability per unit weight."""
        phi = np.asarray(heel, dtype=np.float64)
        law = HEELING_LAWS[self.heeling.law]
        weight = self.gravity.virtual_kg * (1.0 - np.cos(phi)) + self.gravity.off_centre * np.sin(
            phi
        )
        heeling = self.heeling.wind * law.integral(phi) + self.heeling.lever * phi
        return np.asarray(self.levers.integral(phi) - weight - heeling)

    def area(self, start: float, end: float) -> float:
        """Area under the residual lever from `start` to `end` [rad], in m rad."""
        return float(self.potential(end) - self.potential(start))

    def nodes(self) -> tuple[Floats, Floats]:
        """Heels [rad] over the whole range that hold every extreme, and the lever [m] there.

        The extremes are roots of the slope between grid points, so that no pair of roots hides.
        """
        heel, kn, slope = self.levers.grid
        sine, cosine = np.sin(heel), np.cos(heel)
        kg, yg = self.gravity.virtual_kg, self.gravity.off_centre
        wind = self.heeling.wind * HEELING_LAWS[self.heeling.law].slope(heel)
        slope = slope - kg * cosine + yg * sine - wind
        turns = np.flatnonzero(slope[:-1] * slope[1:] < 0.0)
        extremes = np.array([_root(self.slope, heel[i], heel[i + 1]) for i in turns])
        value = kn - kg * sine - yg * cosine - self.heeling_lever(heel)
        heel = np.insert(heel, turns + 1, extremes)
        return heel, np.insert(value, turns + 1, self.value(extremes))


def equilibria(curve: RightingCurve) -> tuple[Equilibrium, ...]:
    """Every equilibrium of `curve` in order of heel, with its kind.

    Stable where the lever turns from − to + with growing heel, unstable where from + to −,
    neutral where it only touches zero or stays there. A zero at the end of the range counts by
    its inner side.
    """
    heel, value = curve.nodes()
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
    """First stable heels (starboard, port) [rad] with G on the centreline, no wind; NaN if none."""
    centred = RightingCurve(levers, Gravity(gravity.kg, 0.0, gravity.free_surface))
    stable = [e.heel for e in equilibria(centred) if e.kind == "stable"]
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
    """The stable heel [rad] downhill from `start`, to starboard from a crest; NaN if none."""
    found = equilibria(curve)
    here = next((e for e in found if abs(e.heel - start) <= SAME_ANGLE), None)
    if here is not None and here.kind != "unstable":
        return here.heel
    lever = float(curve.value(start))
    if here is not None or lever < 0.0:
        ahead = [e for e in found if e.heel > start + SAME_ANGLE]
    else:
        ahead = [e for e in reversed(found) if e.heel < start - SAME_ANGLE]
    return next((e.heel for e in ahead if e.kind == "stable"), math.nan)


def greatest_lever(curve: RightingCurve) -> tuple[float, float]:
    """Greatest residual lever to starboard: (heel [rad], lever [m])."""
    heel, value = curve.nodes()
    best = int(np.argmax(np.where(heel >= 0.0, value, -math.inf)))
    return float(heel[best]), float(value[best])
