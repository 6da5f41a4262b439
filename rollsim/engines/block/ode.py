"""The block engine behind scipy's interface: `solve_ivp(method=BlockSolver, ...)`.

For whoever wants scipy's own loop, events or dense output around the same compiled step.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import DenseOutput, OdeSolver

from rollsim.engines.block.lanes import (
    ACCELERATION,
    HEEL_BOUND,
    LANES,
    RATE,
    ROLL,
    ROLL_BOUND,
    new_block,
)
from rollsim.engines.block.prepare import BlockEngine, sea_weights
from rollsim.engines.block.steps import (
    adams_steps,
    complete_state,
    own_tables,
    remake,
    sea_at,
    settle_state,
)
from rollsim.engines.limits import Limits
from rollsim.motion.equation import on_slope

Floats = NDArray[np.float64]


def derivative(engine: BlockEngine, waves: Floats) -> Callable[[float, Floats], Floats]:
    """The right-hand side f(t, y) that the steps solve, y = (rolls, rates) of all lanes."""
    problem = engine.problem
    starts = problem.segments[:, 0]

    def function(time: float, state: Floats) -> Floats:
        segment = problem.segments[max(0, int(np.searchsorted(starts, time, side="right")) - 1)]
        rows, found = sea_weights(problem, np.array([time]))
        result = np.empty(2 * LANES)
        result[:LANES] = state[LANES:]
        for lane in range(LANES):
            slope, rate = sea_at(waves, rows[0], found[0], lane)
            result[LANES + lane] = on_slope(
                state[lane], state[LANES + lane], slope, rate, time, problem.coefficients, segment
            )
        return result

    return function


class BlockSolver(OdeSolver):  # type: ignore[misc]
    """The block engine's fixed step as a scipy solver.

    Options: `engine` of a case, `waves` its sea as `engine.problem.sea.slopes` gives it. The state
    is the rolls of LANES lanes and then their rates, in radians; `fun` is `derivative(engine,
    waves)`, the interval that of the engine's problem, since the steps are cut to its corners.
    """

    def __init__(
        self,
        fun: Callable[[float, Floats], Floats],
        t0: float,
        y0: Floats,
        t_bound: float,
        vectorized: bool = False,
        *,
        engine: BlockEngine,
        waves: Floats,
        **other: Any,
    ) -> None:
        super().__init__(fun, t0, y0, t_bound, vectorized)
        if other:
            raise ValueError(f"BlockSolver has a fixed step and no option {', '.join(other)}")
        if self.n != 2 * LANES:
            raise ValueError(f"y0 must hold {LANES} rolls and {LANES} rates, got {self.n} numbers")
        if t0 != 0.0 or t_bound != engine.problem.duration:
            raise ValueError(f"the interval must be 0 to {engine.problem.duration} s")
        self.engine, self.waves = engine, waves
        self.block, self.tables = new_block(0), own_tables(engine.tables)
        self.block.states[0, ROLL], self.block.states[0, RATE] = y0[:LANES], y0[LANES:]
        # No limits: what to do at one is the caller's affair, by scipy's events.
        self.block.record[[ROLL_BOUND, HEEL_BOUND]] = np.inf
        self.y: Floats
        self.y_old: Floats | None = None
        self._course: tuple[Floats, Floats] | None = None
        self._stretch, self._step = -1, 0

    def _step_impl(self) -> tuple[bool, str | None]:
        problem, stretches = self.engine.problem, self.engine.stretches
        if self._stretch < 0 or self._step == stretches[self._stretch].output.size:
            settle_state(self.block, self._step)
            self._stretch, self._step = self._stretch + 1, 0
            stretch = stretches[self._stretch]
            complete_state(self.block, self.waves, stretch, problem.coefficients)
            remake(self.tables, stretch, -1)
        stretch, n = stretches[self._stretch], self._step
        before = self.block.states[n % 2].copy()
        adams_steps(
            self.block,
            self.waves,
            self.tables,
            stretch._replace(counts=False),
            n,
            n + 1,
            Limits(),
            problem.coefficients,
        )
        after = self.block.states[(n + 1) % 2]
        self._step = n + 1
        self.y_old = self.y
        self._course = before, after.copy()
        self.y = np.concatenate((after[ROLL], after[RATE]))
        last = self._stretch == len(stretches) - 1 and self._step == stretch.output.size
        self.t = self.t_bound if last else stretch.start + self._step * stretch.step
        if np.all(np.isfinite(self.y)):
            return True, None
        return False, "the state is no longer a finite number"

    def _dense_output_impl(self) -> DenseOutput:
        assert self._course is not None
        return _Quintic(self.t_old, self.t, *self._course)


class _Quintic(DenseOutput):  # type: ignore[misc]
    """Roll by the quintic through angle, rate and acceleration at both ends; rate its slope."""

    def __init__(self, t_old: float, t: float, before: Floats, after: Floats) -> None:
        super().__init__(t_old, t)
        h = t - t_old
        f, d, s = before[ROLL], h * before[RATE], 0.5 * h * h * before[ACCELERATION]
        g = after[ROLL] - f - d - s
        e = h * after[RATE] - d - 2.0 * s
        k = 0.5 * h * h * after[ACCELERATION] - s
        rest = 10.0 * g - 4.0 * e + k, -15.0 * g + 7.0 * e - 2.0 * k, 6.0 * g - 3.0 * e + k
        self.length = h
        self.coefficients = np.array([f, d, s, *rest])

    def _call_impl(self, t: Floats) -> Floats:
        x = (np.asarray(t) - self.t_old) / self.length
        roll = np.polynomial.polynomial.polyval(x, self.coefficients)
        slope = np.polynomial.polynomial.polyder(self.coefficients)
        return np.concatenate((roll, np.polynomial.polynomial.polyval(x, slope) / self.length))
