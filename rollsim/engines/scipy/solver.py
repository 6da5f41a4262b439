"""One run by a scipy solver over the compiled equation."""

from __future__ import annotations

import math
import warnings
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import OdeSolver

from rollsim.engines.limits import Tolerances, output_times
from rollsim.engines.scipy.methods import METHODS
from rollsim.engines.scipy.watch import (
    PASSED_CAPSIZE,
    PASSED_ROLL,
    Step,
    Watched,
    new_record,
    watch,
)
from rollsim.forcing.single import PHASE_STEP
from rollsim.motion.coefficients import Coefficients, pack
from rollsim.motion.equation import derivative, water_at

Floats = NDArray[np.float64]

WATCH_PHASE = 0.5
"""Greatest phase [rad] of the shortest wave between two looks at a step."""
LEAST_PARTS = 4
NOT_FINITE = "the state is no longer a finite number"


@dataclass(frozen=True, eq=False)
class Problem:
    """One run: the equation with its storm, where it starts, what is watched and written.

    `segments` as made by `motion.timeline`; borders must stand at `settle` and at the ramp's end.
    `roll` [rad] and `rate` [rad/s] are those at t = 0, `well` the number of the well she is in.
    """

    coefficients: Coefficients
    segments: Floats
    roll: float
    rate: float
    output_step: float
    watched: Watched
    settle: float = 0.0
    well: int = 0

    @property
    def duration(self) -> float:
        """Length of the run [s]."""
        return float(self.segments[-1, 1])

    @property
    def output_times(self) -> Floats:
        """The uniform grid of output times [s]; the last is the greatest within the duration."""
        return output_times(self.duration, self.output_step)


@dataclass(frozen=True, eq=False)
class Solution:
    """A finished run: the states y, y′ (2, n) at the output times, NaN after its end.

    `record` is that of `watch`, `last` the state at the end.
    """

    states: Floats
    record: Floats
    end_time: float
    last: Floats
    message: str = ""


def solve(problem: Problem, tolerances: Tolerances) -> Solution:
    """Integrate `problem`; a run that the solver cannot finish comes back with its message."""
    run = _Run(problem, tolerances)
    with warnings.catch_warnings():
        # LSODA tells of its troubles by warnings, numpy of overflow; the run's message says it.
        warnings.simplefilter("ignore", UserWarning)
        warnings.simplefilter("ignore", RuntimeWarning)
        c = problem.coefficients
        slope, slope_rate, _ = water_at(0.0, c, problem.segments[0])
        state = np.array([problem.roll, problem.rate])
        state -= c.added_share * np.array([slope, slope_rate])
        for segment in problem.segments:
            state = run.over(segment, state)
            if run.ended:
                break
    return Solution(run.outputs, run.record, run.end_time, state, run.message)


def fastest_frequency(c: Coefficients) -> float:
    """Greatest frequency of the sea [rad/s] that the equation is driven by; 0 in calm water."""
    direct = float(np.max(np.abs(c.waves[0]), initial=0.0))
    return max(
        direct, PHASE_STEP / c.grid_step if c.slope_grid.size + c.elevation_grid.size else 0.0
    )


def _step(solver: OdeSolver) -> str:
    """Take one step; what went wrong, nothing if it went well."""
    try:
        reason = solver.step()
    except (ArithmeticError, ValueError) as error:
        # What scipy's linear algebra makes of overflow.
        return str(error)
    if solver.status == "failed":
        return str(reason)
    if not math.isfinite(solver.y[0] + solver.y[1]):
        return NOT_FINITE
    return "" if solver.t > solver.t_old else "a step of no length"


class _Run:
    """A run under way: what has been recorded, whether it has ended, and why."""

    def __init__(self, problem: Problem, tolerances: Tolerances) -> None:
        self.problem = problem
        self.tolerances = tolerances
        self.method = METHODS[tolerances.method]
        self.outputs = np.full((2, problem.output_times.size), math.nan)
        self.record = new_record(problem.well, problem.settle)
        self.end_time = 0.0
        self.message = ""
        self.packed = pack(problem.coefficients)
        self.fastest = fastest_frequency(problem.coefficients)

    @property
    def ended(self) -> bool:
        passed = self.record[PASSED_ROLL : PASSED_CAPSIZE + 1]
        ends = passed if self.problem.watched.stops else passed[-1:]
        return bool(self.message) or not bool(np.isnan(ends).all())

    def over(self, segment: Floats, state: Floats) -> Floats:
        """Integrate over one segment from `state`; the state at its end."""
        packed = self.packed

        def rates(time: float, y: Floats) -> Floats:
            return derivative(time, y, *packed, segment)

        # A solver that starts on what is no number looks for its first step for ever.
        if not np.all(np.isfinite(rates(segment[0], state))):
            self._give_up(segment[0], NOT_FINITE)
            return state
        counts = bool(segment[0] >= self.problem.settle)
        solver = self.method.solver(
            rates,
            segment[0],
            state,
            segment[1],
            rtol=self.tolerances.relative,
            atol=self.tolerances.absolute,
            max_step=2.0 * math.pi / self.fastest if self.fastest else math.inf,
        )
        while solver.status == "running" and not self.ended:
            trouble = _step(solver)
            if trouble:
                self._give_up(solver.t, trouble)
            else:
                self._take(solver, segment, counts)
        if self.ended and not self.message:
            return np.asarray(solver.dense_output()(self.end_time))
        if not self.message:
            # The steps' lengths add up to it but for rounding.
            self.end_time = float(segment[1])
        return np.asarray(solver.y)

    def _give_up(self, time: float, reason: str) -> None:
        self.message = f"{self.tolerances.method} gave up at {time:.6g} s: {reason}"

    def _take(self, solver: OdeSolver, segment: Floats, counts: bool) -> None:
        start, length = float(solver.t_old), float(solver.t - solver.t_old)
        parts = max(LEAST_PARTS, math.ceil(length * self.fastest / WATCH_PHASE))
        self.end_time = watch(
            self.record,
            self.outputs,
            self.problem.output_step,
            Step(self.method.series(solver), start, length, parts, segment),
            self.problem.watched,
            counts,
            self.problem.coefficients,
        )
