"""Ships of few numbers under one sine, for the tests of basins and steady responses."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np
from block_runs import case_of
from numpy.typing import NDArray
from reference_runs import polynomial_ship

from rollsim.constants import GRAVITY
from rollsim.engines.base import Case
from rollsim.engines.limits import Limits
from rollsim.ship.damping import Damping
from rollsim.steady.branch import Branch
from rollsim.weather.sea import RegularWave, SeaState

Floats = NDArray[np.float64]
SINE, COSINE = math.pi, -0.5 * math.pi
"""Phases of the wave that make the force F sin ωt and F cos ωt."""


def driven(
    *lever: float,
    force: float = 0.05,
    frequency: float = 0.85,
    damping: Damping,
    capsize: float = 1.5,
    phase: float = SINE,
) -> Case:
    """x″ + D(x′) + Σ lever[i] x^(i+1) = F sin(ωt + phase + π): absolute excitation of a unit ship.

    The wave's height is the force: its slope coefficient is 2 g / ω².
    """
    ship = polynomial_ship(*lever, damping=damping)
    c = ship.calm._replace(relative=False, absolute_gm=1.0)
    period = math.tau / frequency
    sea = SeaState(
        RegularWave(force, period, phase), 1.0, 1.0, 1.0, 1.0, period,
        slope_coefficient=2.0 * GRAVITY / frequency**2,
    )  # fmt: skip
    return case_of(
        ship.levers, ship.gravity, c, (period, period), waves=sea, limits=Limits(capsize=capsize)
    )


def lasting(case: Case, cycles: int) -> Case:
    """The same for so many cycles."""
    duration = cycles * case.duration
    segments = case.segments.copy()
    segments[-1, 1] = duration
    wind = np.array([[0.0, 0.0], [duration, 0.0]])
    storm = replace(case.storm, sea=replace(case.storm.sea, duration=duration))
    return replace(case, segments=segments, mean_wind=wind, storm=storm, output_step=duration)


def along(branch: Branch, of: Callable[[object], float]) -> Floats:
    """A number of every point of a branch."""
    return np.array([of(point) for point in branch.points])
