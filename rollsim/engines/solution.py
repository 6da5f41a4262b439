"""What a run is asked for and what it gives, in SI units and radians."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from rollsim.motion.coefficients import Coefficients
from rollsim.names import Outcome

Floats = NDArray[np.float64]


class Limits(NamedTuple):
    """Angles [rad] that count: |φ| for `roll`, |ψ| for `flooding`, either for `capsize`."""

    roll: float = math.inf
    flooding: float = math.inf
    capsize: float = math.inf


@dataclass(frozen=True, eq=False)
class Problem:
    """One run: the equation with its sea, where it starts, what is watched and written.

    `segments` as made by `motion.timeline`; borders must stand at `settle` and at the ramp's end.
    """

    coefficients: Coefficients
    segments: Floats
    roll: float
    rate: float
    output_step: float
    limits: Limits
    settle: float = 0.0

    @property
    def duration(self) -> float:
        """Length of the run [s]."""
        return float(self.segments[-1, 1])

    @property
    def output_times(self) -> Floats:
        """The uniform grid of output times [s]; the last is the greatest within the duration."""
        return output_times(self.duration, self.output_step)


ROUNDING = 1e-12
"""By how much of itself the last output time may stand past the end of a run: 3 · 0.1 > 0.3."""


def output_times(duration: float, step: float) -> Floats:
    """0, step, .. [s]; the last is the greatest within `duration`, but for rounding."""
    return np.float64(step) * np.arange(math.floor(duration / step * (1.0 + ROUNDING)) + 1)


class Tolerances(NamedTuple):
    """A scipy method by name with its relative and absolute [rad, rad/s] tolerance."""

    method: str = "DOP853"
    relative: float = 1e-8
    absolute: float = math.radians(1e-8)


@dataclass(frozen=True, eq=False)
class Solution:
    """A finished run: histories at the output times (NaN after the end), extremes, passings.

    Angles in radians; times in seconds, NaN where a limit was not passed. `early` tells that a
    limit was passed before `settle`.
    """

    roll: Floats
    rate: Floats
    end_time: float
    roll_max: float
    roll_min: float
    passed_roll: float
    passed_flooding: float
    passed_capsize: float
    early: bool
    message: str = ""

    @property
    def outcome(self) -> Outcome:
        """The highest of what happened; a run that the solver gave up is not solved."""
        if self.message:
            return Outcome.NOT_SOLVED
        if not math.isnan(self.passed_capsize):
            return Outcome.CAPSIZED
        if not math.isnan(self.passed_flooding):
            return Outcome.FLOODED
        return Outcome.SURVIVED if math.isnan(self.passed_roll) else Outcome.ROLL_LIMIT

    @property
    def failure_time(self) -> float:
        """First passing of any limit [s], NaN if none."""
        passed = (self.passed_roll, self.passed_flooding, self.passed_capsize)
        return min((time for time in passed if not math.isnan(time)), default=math.nan)
