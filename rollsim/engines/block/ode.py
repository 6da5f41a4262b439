"""The block engine behind scipy's interface: `solve_ivp(method=BlockSolver, ...)`.

For whoever wants scipy's own loop, events or dense output around the same compiled step.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import DenseOutput, OdeSolver

from rollsim.engines.base import RunList
from rollsim.engines.block.adams import STEPS
from rollsim.engines.block.lanes import AFTER, LANES, RATE, TROUBLE, Y, flat_of
from rollsim.engines.block.stepper import Stepper
from rollsim.engines.block.steps import BEGINNING, adams_steps
from rollsim.engines.block.tables import own_tables
from rollsim.engines.limits import Limits
from rollsim.engines.scipy.engine import ScipyEngine
from rollsim.motion.equation import acceleration
from rollsim.motion.timeline import segment_at

Floats = NDArray[np.float64]


def derivative(stepper: Stepper, runs: RunList) -> Callable[[float, Floats], Floats]:
    """The right-hand side f(t, y) that the steps solve for LANES runs: y = φ − s α, then y′."""
    case = stepper.outputs.case
    reference = ScipyEngine(case)
    every = [reference.problem(runs, lane).coefficients for lane in range(LANES)]

    def function(time: float, state: Floats) -> Floats:
        segment = case.segments[segment_at(np.array([time]), case.segments)[0]]
        turned = [
            acceleration(time, state[lane], state[LANES + lane], every[lane], segment)
            for lane in range(LANES)
        ]
        return np.concatenate((state[LANES:], turned))

    return function


class BlockSolver(OdeSolver):  # type: ignore[misc]
    """The block engine's fixed step as a scipy solver.

    Options: `stepper` of a case, `runs` its LANES runs, whose starts give way to y0. The state is
    y = φ − s α of all lanes and then y′, in radians; `fun` is `derivative(stepper, runs)`, the
    interval that of the case, since the steps are cut to its corners.
    """

    def __init__(
        self,
        fun: Callable[[float, Floats], Floats],
        t0: float,
        y0: Floats,
        t_bound: float,
        vectorized: bool = False,
        *,
        stepper: Stepper,
        runs: RunList,
        **other: Any,
    ) -> None:
        super().__init__(fun, t0, y0, t_bound, vectorized)
        if other:
            raise ValueError(f"BlockSolver has a fixed step and no option {', '.join(other)}")
        if self.n != 2 * LANES:
            raise ValueError(f"y0 must hold {LANES} angles and {LANES} rates, got {self.n} numbers")
        duration = stepper.outputs.case.duration
        if t0 != 0.0 or t_bound != duration:
            raise ValueError(f"the interval must be 0 to {duration} s")
        self.stepper, self.storms = stepper, stepper.storms(runs)
        self.block = stepper.started(runs, self.storms, histories=False)
        self.block.states[AFTER, Y], self.block.states[AFTER, RATE] = y0[:LANES], y0[LANES:]
        self.tables = own_tables(stepper.tables)
        # No limits: what to do at one is the caller's affair, by scipy's events.
        self.watch = stepper.watch._replace(limits=Limits())
        self.y: Floats
        self.y_old: Floats | None = None
        self._course: tuple[Floats, Floats] | None = None
        self._piece, self._step = -1, 0

    def _step_impl(self) -> tuple[bool, str | None]:
        pieces = self.stepper.pieces
        if self._piece < 0 or self._step == pieces[self._piece].stretch.output.size:
            self._piece, self._step = self._piece + 1, 0
            self._advance(BEGINNING)
        piece, n = pieces[self._piece], self._step
        stretch, before = piece.stretch, self._at(n)
        self._advance(n)
        self._step = n + 1
        after = self._at(n + 1)
        self.y_old, self._course = self.y, (before, after)
        self.y = np.concatenate((after[0], after[1]))
        last = self._piece == len(pieces) - 1 and self._step == stretch.output.size
        self.t = self.t_bound if last else stretch.start + self._step * float(piece.scheme.h)
        if np.all(np.isfinite(self.y)) and not np.any(self.block.record[TROUBLE] > 0.0):
            return True, None
        return False, "the step is too long for the motion"

    def _advance(self, n: int) -> None:
        """Make step n of a stretch, or begin it."""
        piece, stepper = self.stepper.pieces[self._piece], self.stepper
        adams_steps(
            flat_of(self.block), *self.storms, stepper.law, self.tables,
            piece.stretch._replace(counts=False), piece.start, n, n + 1, self.watch, stepper.ship,
            piece.scheme, stepper.half_inertia,
        )  # fmt: skip

    def _at(self, n: int) -> Floats:
        """Angle, rate and acceleration (3, lanes) after n steps of the stretch."""
        state = self.block.states[AFTER]
        rows = state[Y], state[RATE], self.block.history[n % STEPS]
        return np.array(rows, dtype=np.float64)

    def _dense_output_impl(self) -> DenseOutput:
        assert self._course is not None
        return _Quintic(self.t_old, self.t, *self._course)


class _Quintic(DenseOutput):  # type: ignore[misc]
    """Angle by the quintic through angle, rate and acceleration at both ends; rate its slope."""

    def __init__(self, t_old: float, t: float, before: Floats, after: Floats) -> None:
        super().__init__(t_old, t)
        h = t - t_old
        f, d, s = before[0], h * before[1], 0.5 * h * h * before[2]
        g = after[0] - f - d - s
        e = h * after[1] - d - 2.0 * s
        k = 0.5 * h * h * after[2] - s
        rest = 10.0 * g - 4.0 * e + k, -15.0 * g + 7.0 * e - 2.0 * k, 6.0 * g - 3.0 * e + k
        self.length = h
        self.coefficients = np.array([f, d, s, *rest])

    def _call_impl(self, t: Floats) -> Floats:
        x = (np.asarray(t) - self.t_old) / self.length
        angle = np.polynomial.polynomial.polyval(x, self.coefficients)
        slope = np.polynomial.polynomial.polyder(self.coefficients)
        return np.concatenate((angle, np.polynomial.polynomial.polyval(x, slope) / self.length))
