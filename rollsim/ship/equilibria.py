"""Where one loading rests: every equilibrium of a righting curve, with its kind.

One code for GM > 0, = 0 and < 0 and for G off the centreline: nothing divides by GM.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

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
    # Runs of one sign: a run of no lever is one equilibrium, two opposite ones meet in one.
    starts = np.concatenate(([0], np.flatnonzero(np.diff(sign)) + 1))
    ends = np.append(starts[1:] - 1, sign.size - 1)
    rests: list[Equilibrium] = []
    for run, (first, last) in enumerate(zip(starts, ends, strict=True)):
        before = sign[first - 1] if run > 0 else 0
        if sign[first] == 0:
            after = sign[last + 1] if last + 1 < sign.size else 0
            middle = 0.5 * float(heel[first] + heel[last])
            rests.append(Equilibrium(middle, _kind(before, after)))
        elif before * sign[first] < 0:
            root = _root(curve.value, float(heel[first - 1]), float(heel[first]))
            rests.append(Equilibrium(root, _kind(before, sign[first])))
    return tuple(rests)


def _kind(before: int, after: int) -> Kind:
    before, after = before or -after, after or -before
    if before < 0 < after:
        return "stable"
    return "unstable" if after < 0 < before else "neutral"


def _root(function: Callable[[float], Floats], low: float, high: float) -> float:
    from scipy.optimize import brentq

    return float(brentq(lambda phi: float(function(phi)), low, high, xtol=1e-14))
