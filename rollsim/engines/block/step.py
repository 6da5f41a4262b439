"""The step of the block engine, from what a run of the case can reach."""

from __future__ import annotations

import math

import numpy as np

from rollsim.engines.base import Case
from rollsim.engines.block.adams import longest_step
from rollsim.weather.sea import highest_encounter


def step_of(case: Case) -> float:
    """Step of the block engine [s]: the output step or a whole part of it."""
    heel = np.linspace(-case.limits.capsize, case.limits.capsize, 361)
    gravity, c = case.gravity, case.coefficients
    slope = case.levers.slope(heel) - gravity.virtual_kg * np.cos(heel)
    slope += gravity.off_centre * np.sin(heel)
    # Where nothing rights her she falls over at the rate of the steepest slope.
    steepest = float(np.max(slope)) if np.any(slope > 0.0) else float(np.max(np.abs(slope)))
    longest = longest_step(steepest / c.inertia, highest_encounter(case.sea), c, case.accuracy)
    return case.output_step / max(1, math.ceil(case.output_step / longest - 1e-9))
