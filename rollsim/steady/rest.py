"""Where responses begin: from the heels of rest, as the waves grow out of calm water."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from rollsim.engines.base import Case
from rollsim.map_names import BranchEnd
from rollsim.ship.equilibria import equilibria
from rollsim.steady.family import WAVE_HEIGHT, Family, resting_curve
from rollsim.steady.follower import Follower, Range
from rollsim.weather.sea import RegularWave

Floats = NDArray[np.float64]

OVERSHOOT = 1.6
"""How far beyond its height the way from calm water goes on, to come back through folds."""
STEP = 0.04
"""Its longest step, in the scales."""
LOST = (BranchEnd.STEP_TOO_SMALL, BranchEnd.TOO_MANY_POINTS)


def from_rest(
    case: Case,
    key: str,
    value: float,
    stop_if_asked: Callable[[], None] = lambda: None,
    lost: Callable[[], None] = lambda: None,
) -> Iterator[Floats]:
    """States at phase 0 of solutions at `value` of the key that calm water grows into.

    Each heel of rest but the outermost crests is followed while the wave grows to its height and
    somewhat beyond; where the way comes back through folds, it passes the height more than once.
    `lost` hears of a way that can be followed no further though she does not capsize there.
    """
    family = Family(case, key)
    sea = family.sea(value)
    assert isinstance(sea.waves, RegularWave)
    height = sea.waves.height
    if key != WAVE_HEIGHT:
        case = replace(case, storm=replace(case.storm, sea=sea))
    grown = Family(case, WAVE_HEIGHT)
    within = Range(0.0, OVERSHOOT * height, STEP)
    follower = Follower(grown, within, case.limits.capsize, 1, stop_if_asked)
    for heel in _heels(case):
        first = follower.at_value(np.array([heel, 0.0]), 0.0)
        if first is None or not follower.good(first):
            lost()
            continue
        upward = first.way if first.way[2] > 0.0 else -first.way
        branch = follower.follow(replace(first, way=upward), upward)
        if branch.ends[1] in LOST:
            lost()
        for a, b in pairwise(branch.points):
            if (a.value - height) * (b.value - height) <= 0.0 < abs(a.value - b.value):
                part = (height - a.value) / (b.value - a.value)
                yield (1.0 - part) * a.made.start + part * b.made.start


def _heels(case: Case) -> list[float]:
    """Heels of rest [rad] within the capsize angle: stable ones, and the crests between them."""
    at = [e for e in equilibria(resting_curve(case)) if abs(e.heel) < case.limits.capsize]
    stable = [e.heel for e in at if e.kind == "stable"]
    if not stable:
        return []
    return [e.heel for e in at if min(stable) <= e.heel <= max(stable)]


def free_period(case: Case) -> float:
    """Period [s] of small free rolls about the first stable heel; infinite where none."""
    curve = resting_curve(case)
    stable = [h for h in _heels(case) if float(curve.slope(h)) > 0.0]
    if not stable:
        return math.inf
    return math.tau * math.sqrt(case.coefficients.inertia / float(curve.slope(stable[0])))
