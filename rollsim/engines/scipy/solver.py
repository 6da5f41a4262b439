"""One run by a scipy solver over the compiled equation."""

from __future__ import annotations

import math
import warnings

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import OdeSolver

from rollsim.engines.scipy.methods import METHODS
from rollsim.engines.scipy.watch import (
    EARLY,
    PASSED_CAPSIZE,
    PASSED_FLOODING,
    PASSED_ROLL,
    ROLL_MAX,
    ROLL_MIN,
    new_record,
    watch,
)
from rollsim.engines.solution import Problem, Solution, Tolerances
from rollsim.forcing.single import PHASE_STEP
from rollsim.motion.coefficients import Coefficients, pack
from rollsim.motion.equation import derivative

Floats = NDArray[np.float64]

WATCH_PHASE = 0.5
"""Greatest phase [rad] of the shortest wave between two looks at a step."""
LEAST_PARTS = 4
NOT_FINITE = "the state is no longer a finite number"


def solve(problem: Problem, tolerances: Tolerances) -> Solution:
    """Integrate `problem`; a run that the solver cannot finish comes back with its message."""
    run = _Run(problem, tolerances)
    with warnings.catch_warnings():
        # LSODA tells of its troubles by warnings, numpy of overflow; the run's message says it.
        warnings.simplefilter("ignore", UserWarning)
        warnings.simplefilter("ignore", RuntimeWarning)
        state = np.array([problem.roll, problem.rate])
        for segment in problem.segments:
            state = run.over(segment, state)
            if run.ended:
                break
    return run.solution()


def fastest_frequency(c: Coefficients) -> float:
    """Greatest frequency of the sea [rad/s] that the equation is driven by; 0 in calm water."""
    direct = float(np.max(np.abs(c.component_frequency), initial=0.0))
    return max(direct, PHASE_STEP / c.grid_step if c.grid.size else 0.0)


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
        self.record = new_record()
        self.end_time = 0.0
        self.message = ""
        self.packed = pack(problem.coefficients)
        self.fastest = fastest_frequency(problem.coefficients)

    @property
    def ended(self) -> bool:
        return bool(self.message) or not math.isnan(self.record[PASSED_CAPSIZE])

    def over(self, segment: Floats, state: Floats) -> Floats:
        """Integrate over one segment from `state`; the state at its end."""
        a, b, d, e, f, g = self.packed

        def rates(time: float, y: Floats) -> Floats:
            return derivative(time, y, a, b, d, e, f, g, segment)

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
                self._take(solver, counts)
        return np.asarray(solver.y)

    def _give_up(self, time: float, reason: str) -> None:
        self.message = f"{self.tolerances.method} gave up at {time:.6g} s: {reason}"

    def _take(self, solver: OdeSolver, counts: bool) -> None:
        start, end = solver.t_old, solver.t
        parts = max(LEAST_PARTS, math.ceil((end - start) * self.fastest / WATCH_PHASE))
        self.end_time = watch(
            self.record,
            self.outputs,
            self.problem.output_step,
            self.method.series(solver),
            np.array([start, end, parts]),
            self.problem.limits,
            counts,
            self.problem.coefficients,
        )

    def solution(self) -> Solution:
        record = self.record
        seen = record[ROLL_MAX] >= record[ROLL_MIN]
        return Solution(
            roll=self.outputs[0],
            rate=self.outputs[1],
            end_time=self.end_time,
            roll_max=record[ROLL_MAX] if seen else math.nan,
            roll_min=record[ROLL_MIN] if seen else math.nan,
            passed_roll=record[PASSED_ROLL],
            passed_flooding=record[PASSED_FLOODING],
            passed_capsize=record[PASSED_CAPSIZE],
            early=bool(record[EARLY]),
            message=self.message,
        )
