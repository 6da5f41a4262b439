"""Problems with known solutions, and some without, that the tests of this room share."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from rollsim.constants import GRAVITY
from rollsim.engines.limits import Limits, Tolerances
from rollsim.engines.scipy import watch
from rollsim.engines.scipy.solver import Problem, Solution
from rollsim.engines.scipy.solver import solve as solution_of
from rollsim.forcing.single import with_waves
from rollsim.motion.coefficients import Coefficients, calm_coefficients
from rollsim.motion.equation import along
from rollsim.motion.timeline import Base, Change, segment_at, timeline
from rollsim.names import Outcome
from rollsim.ship.damping import Damping
from rollsim.ship.levers import Gravity, Levers, from_kn_table, polynomial
from rollsim.weather.sea import Components
from rollsim.weather.wind import Gust

Floats = NDArray[np.float64]

NO_DAMPING = Damping()
SHARP = Tolerances("DOP853", 1e-13, 1e-15)
TIGHT = {
    "DOP853": Tolerances("DOP853", 1e-10, 1e-12),
    "RK45": Tolerances("RK45", 1e-9, 1e-11),
    "LSODA": Tolerances("LSODA", 1e-10, 1e-12),
    "Radau": Tolerances("Radau", 1e-6, 1e-9),
}
"""What each method gives 1e-6 for within a fraction of a second."""
OMEGA = 0.5
"""Frequency [rad/s] of the linear ship: her GM is OMEGA² times her inertia."""
INERTIA = 4.0
LINEAR = polynomial([OMEGA**2 * INERTIA], 0.0, 1.5)
"""GZ = GM φ exactly, G at the keel."""
FREE = polynomial([0.0], 0.0, 1.5)
"""No righting lever at all."""
HEEL = [0, 5, 10, 15, 20, 25, 30, 35, 40, 45, 50, 55, 60, 70, 80, 90]
KN = [0.0, 0.493, 0.983, 1.474, 1.969, 2.468, 2.923, 3.319]
KN += [3.658, 3.938, 4.160, 4.327, 4.444, 4.542, 4.476, 4.264]
COASTER = from_kn_table(np.radians(HEEL), KN, 5.659)
"""The contract's own example."""


def calm(levers: Levers, inertia: float = INERTIA, damping: Damping = NO_DAMPING) -> Coefficients:
    return calm_coefficients(levers, inertia, damping, wind=2e-4)


def problem(
    c: Coefficients,
    duration: float,
    start: tuple[float, float] = (0.0, 0.0),
    output_step: float = 0.5,
    limits: Limits = Limits(),  # noqa: B008  a tuple of three numbers
    settle: float = 0.0,
    *,
    gravity: Gravity = Gravity(0.0),  # noqa: B008  frozen
    wind_speed: float = 0.0,
    changes: Sequence[Change] = (),
    gusts: tuple[Gust, ...] = (),
) -> Problem:
    """A run of `duration`, watched for `limits`."""
    base, corners = Base(gravity, wind_speed), (settle, c.ramp)
    segments = timeline(duration, base, changes, (), gusts, corners)
    watched = watch.Watched(limits, math.nan, np.zeros(0))
    return Problem(c, segments, start[0], start[1], output_step, watched, settle)


@dataclass(frozen=True, eq=False)
class Found:
    """What came of a problem: its solution, read as a run."""

    problem: Problem
    solution: Solution

    @cached_property
    def _rows(self) -> Floats:
        times, segments = self.problem.output_times, self.problem.segments
        index = segment_at(times, segments)
        return along(times, self.solution.states, segments, index, self.problem.coefficients)

    @property
    def roll(self) -> Floats:
        """Roll [rad] at the outputs, NaN after the end."""
        return np.asarray(self._rows[0])

    @property
    def rate(self) -> Floats:
        """Roll rate [rad/s] at the outputs."""
        return np.asarray(self._rows[1])

    @property
    def end_time(self) -> float:
        """The end [s]."""
        return self.solution.end_time

    @property
    def message(self) -> str:
        """Why it was not solved."""
        return self.solution.message

    @property
    def early(self) -> bool:
        """Whether a limit was passed before settling."""
        return bool(self.solution.record[watch.EARLY])

    @property
    def roll_max(self) -> float:
        """Greatest roll [rad], NaN where nothing counted."""
        return self._extreme(watch.ROLL_MAX)

    @property
    def roll_min(self) -> float:
        """Least roll [rad]."""
        return self._extreme(watch.ROLL_MIN)

    def _extreme(self, which: int) -> float:
        value = float(self.solution.record[which])
        return value if math.isfinite(value) else math.nan

    @property
    def passed_roll(self) -> float:
        """First passing of the roll limit [s]."""
        return float(self.solution.record[watch.PASSED_ROLL])

    @property
    def passed_flooding(self) -> float:
        """First passing of the flooding limit [s]."""
        return float(self.solution.record[watch.PASSED_FLOODING])

    @property
    def passed_capsize(self) -> float:
        """The capsize [s]."""
        return float(self.solution.record[watch.PASSED_CAPSIZE])

    @property
    def failure_time(self) -> float:
        """First passing of any limit [s]."""
        times = [self.passed_roll, self.passed_flooding, self.passed_capsize]
        return min((time for time in times if not math.isnan(time)), default=math.nan)

    @property
    def outcome(self) -> Outcome:
        """The highest code reached."""
        if self.message:
            return Outcome.NOT_SOLVED
        reached = {
            Outcome.ROLL_LIMIT: self.passed_roll,
            Outcome.FLOODED: self.passed_flooding,
            Outcome.CAPSIZED: self.passed_capsize,
        }
        passed = [code for code, time in reached.items() if not math.isnan(time)]
        return max(passed, default=Outcome.SURVIVED)


def solve(run: Problem, tolerances: Tolerances) -> Found:
    """The run by a scipy method."""
    return Found(run, solution_of(run, tolerances))


def wave(slope: float, frequency: float, phase: float = 0.0) -> Components:
    """One wave of the slope -slope sin(frequency t + phase)."""
    one = np.array([[frequency], [0.0], [slope], [phase]])
    return Components(one[0], one[1], one[2], one[3])


def storm(slope: float, count: int = 40, seed: int = 3) -> Components:
    """An irregular sea whose slope is about `slope` [rad] in the root mean square."""
    random = np.random.default_rng(seed)
    frequency = np.sort(random.uniform(0.3, 1.6, count))
    amplitude = slope * math.sqrt(2.0 / count) * np.ones(count)
    return Components(frequency, amplitude, amplitude, random.uniform(0.0, math.tau, count))


def coaster_in_storm(
    slope: float = 0.08, duration: float = 200.0, relative: bool = True, **rest: object
) -> Problem:
    """A full problem: table, all dampings, irregular sea, wind with a gust, a shifted weight."""
    damping = Damping(0.012, 0.35, 0.05)
    c = calm_coefficients(COASTER, 5.3**2 / GRAVITY, damping, 2e-4, "cos")
    c = c._replace(ramp=20.0, relative=relative, absolute_gm=0.309)
    timed: dict[str, object] = {
        "gravity": Gravity(5.3, 0.01, 0.05),
        "wind_speed": 20.0,
        "gusts": (Gust(60.0, 2.0, 10.0, 1.3),),
        "changes": (Change(90.0, 15.0, 0.0, 0.01, 0.02),),
    }
    return problem(with_waves(c, storm(slope), duration), duration, **{**timed, **rest})  # type: ignore[arg-type]
