"""The backbone: period of the undamped free roll over its amplitude, by exact quadrature.

T = 2 √(k²/2g) ∫ dψ / √(E − V) between the turns; ψ = middle + half-swing · sin θ takes the roots at
both ends out of the integrand.
"""

from __future__ import annotations

import math
from functools import cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from rollsim.engines.base import Case
from rollsim.ship.equilibria import equilibria
from rollsim.ship.righting import RightingCurve
from rollsim.steady.family import Family, resting_curve

Floats = NDArray[np.float64]

LEVELS = 80
NODES = 100
NEAREST = 1e-4
"""Share of the way to the saddle at which the last level lies before it."""


class Backbone(NamedTuple):
    """Half-swings [rad] and periods [s] of the free roll in one well, or around several."""

    amplitude: Floats
    period: Floats


def backbones(case: Case) -> list[Backbone]:
    """One for each well, and one around all where there are several."""
    curve = resting_curve(case)
    at = [e for e in equilibria(curve) if abs(e.heel) <= case.limits.capsize]
    wells = [e.heel for e in at if e.kind == "stable"]
    ends = [-case.limits.capsize, *(e.heel for e in at if e.kind == "unstable")]
    ends.append(case.limits.capsize)
    made = []
    for well in wells:
        sides = max(h for h in ends if h < well), min(h for h in ends if h > well)
        made.append(_backbone(case, curve, (well, well), sides))
    if len(wells) > 1:
        crests = [h for h in ends[1:-1] if wells[0] < h < wells[-1]]
        top = max(crests, key=lambda heel: float(curve.potential(heel)))
        sides = max(h for h in ends if h < wells[0]), min(h for h in ends if h > wells[-1])
        first = tuple(_level(curve, top, wells[i], sides[i]) for i in (0, 1 - 2))
        if None not in first:
            made.append(_backbone(case, curve, first, sides))  # type: ignore[arg-type]
    return made


def _backbone(
    case: Case, curve: RightingCurve, inner: tuple[float, float], outer: tuple[float, float]
) -> Backbone:
    """Swings whose turns lie between `inner` and `outer`, port and starboard."""
    heights = [float(curve.potential(end)) for end in outer]
    low = int(np.argmin(heights))
    share = np.linspace(0.0, 1.0, LEVELS + 1)[1:]
    share[-1] -= NEAREST
    if inner[0] != inner[1]:
        share[0] = max(share[0], 1e-3)
    amplitudes, periods = [], []
    for turn in inner[low] + share * (outer[low] - inner[low]):
        other = _level(curve, float(turn), inner[1 - low], outer[1 - low])
        if other is None:
            continue
        amplitudes.append(0.5 * abs(float(turn) - other))
        periods.append(_period(case, curve, float(turn), other))
    return Backbone(np.array(amplitudes), np.array(periods))


def _level(curve: RightingCurve, turn: float, near: float, far: float) -> float | None:
    """Where between `near` and `far` the potential is that of `turn`; None where nowhere."""
    from scipy.optimize import brentq

    level = float(curve.potential(turn))
    ends = [float(curve.potential(end)) - level for end in (near, far)]
    if ends[1] == 0.0 or abs(ends[1]) < 1e-14:
        return far
    if ends[0] * ends[1] > 0.0:
        return None
    return float(brentq(lambda x: float(curve.potential(x)) - level, near, far, xtol=1e-15))


@cache
def _gauss() -> tuple[Floats, Floats]:
    """Nodes and weights of Gauss's rule."""
    return np.polynomial.legendre.leggauss(NODES)


def _period(case: Case, curve: RightingCurve, turn: float, other: float) -> float:
    nodes, weights = _gauss()
    theta = 0.5 * math.pi * nodes
    middle, half = 0.5 * (turn + other), 0.5 * abs(turn - other)
    kinetic = float(curve.potential(turn)) - curve.potential(middle + half * np.sin(theta))
    with np.errstate(invalid="ignore", divide="ignore"):
        integrand = half * np.cos(theta) / np.sqrt(np.maximum(kinetic, 1e-300))
    total = 0.5 * math.pi * float(weights @ integrand)
    return 2.0 * math.sqrt(0.5 * case.coefficients.inertia) * total


def wave_periods(family: Family, periods: Floats, low: float, high: float) -> Floats:
    """The wave periods between `low` and `high` [s] that she meets with the `periods` [s].

    NaN where none; of several the first.
    """
    values = np.linspace(low, high, 400)
    met = np.array([family.wave(float(value)).period for value in values])
    way = np.sign(met[1] - met[0])
    turned = np.flatnonzero(np.sign(np.diff(met)) != way)
    last = int(turned[0]) + 1 if turned.size else met.size
    met, values = met[:last], values[:last]
    order = np.argsort(met)
    return np.asarray(np.interp(periods, met[order], values[order], left=math.nan, right=math.nan))
