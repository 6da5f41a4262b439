"""solve_ivp on many runs stacked in one state, its right-hand side compiled, its forcing given.

The same equation as the block engine's: relative excitation in lever and damping, the same table
of levers. The sea is given on a grid fine enough for a cubic between its rows.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray
from rollsim.engines.block.prepare import BlockEngine
from scipy.integrate import solve_ivp

from rollsim.engines.block.lanes import LANES
from rollsim.engines.block.steps import own_tables, remake
from rollsim.forcing.interpolation import TAPS, weights
from tests.bench.ship import engine

Floats = NDArray[np.float64]
Solve = Callable[[float, Floats | None], Floats]

GRID = 0.25
"""Spacing [s] of the given sea: with it the cubic's error is below the solver's."""
SPAN = 600.0
"""Length [s] over which errors are measured."""


def given_sea(ready: BlockEngine, runs: int) -> Floats:
    """Slopes [rad] of the first runs, (times, runs) every GRID seconds."""
    sea, lanes = ready.problem.sea, np.arange(runs, dtype=np.uint64)
    parts = [sea.slopes(7, lanes[i : i + LANES]) for i in range(0, runs, LANES)]
    slopes = np.concatenate(parts, axis=1)
    times: Floats = np.asarray(np.arange(0.0, ready.problem.duration + 2.0 * GRID, GRID))
    rows, found = weights(times, sea.step)
    inside = rows + TAPS <= slopes.shape[0]
    return np.array(
        [
            w[:TAPS] @ slopes[row : row + TAPS]
            for row, w in zip(rows[inside], found[inside], strict=True)
        ]
    )


def stack(ready: BlockEngine, slopes: Floats, tolerance: float) -> Solve:
    """A function of duration [s] and output times [s] or None; it gives rolls (runs, times)."""
    from numba import njit

    tables = own_tables(ready.tables)
    remake(tables, ready.stretches[0], -1)
    lever, gradient = tables.righting.T.copy()
    spacing, upright, top = ready.tables.step, float(ready.tables.upright), float(lever.size - 1)
    c, stretch = ready.problem.coefficients, ready.stretches[0]
    heeling = float(stretch.wind[0] + stretch.lever[0])
    inertia, linear, quadratic = c.inertia, c.linear, c.quadratic
    runs = slopes.shape[1]

    @njit(error_model="numpy", fastmath={"contract"})
    def right_hand_side(t: float, y: Floats, alpha: Floats, result: Floats) -> None:
        i = min(max(int(t / GRID), 1), alpha.shape[0] - 3)
        x = t / GRID - i
        w0 = -x * (x - 1.0) * (x - 2.0) / 6.0
        w1 = (x + 1.0) * (x - 1.0) * (x - 2.0) / 2.0
        w2 = -(x + 1.0) * x * (x - 2.0) / 2.0
        w3 = (x + 1.0) * x * (x - 1.0) / 6.0
        d0 = -(3.0 * x * x - 6.0 * x + 2.0) / (6.0 * GRID)
        d1 = (3.0 * x * x - 4.0 * x - 1.0) / (2.0 * GRID)
        d2 = -(3.0 * x * x - 2.0 * x - 2.0) / (2.0 * GRID)
        d3 = (3.0 * x * x - 1.0) / (6.0 * GRID)
        for k in range(runs):
            a = w0 * alpha[i - 1, k] + w1 * alpha[i, k] + w2 * alpha[i + 1, k]
            a += w3 * alpha[i + 2, k]
            b = d0 * alpha[i - 1, k] + d1 * alpha[i, k] + d2 * alpha[i + 1, k]
            b += d3 * alpha[i + 2, k]
            z = min(max((y[k] - a) / spacing + upright, 0.0), top)
            j = int(z + 0.5)
            p = y[runs + k] - b
            result[k] = y[runs + k]
            righting = lever[j] + (z - j) * spacing * gradient[j]
            result[runs + k] = (heeling - righting) / inertia - (linear + quadratic * abs(p)) * p

    def function(t: float, y: Floats) -> Floats:
        result = np.empty_like(y)
        right_hand_side(t, y, slopes, result)
        return result

    def solve(duration: float, times: Floats | None = None) -> Floats:
        found = solve_ivp(
            function,
            (0.0, duration),
            np.zeros(2 * runs),
            method="RK45",
            rtol=tolerance,
            atol=0.01 * tolerance,
            t_eval=times,
        )
        return np.asarray(found.y[:runs])

    solve(1.0, None)
    return solve


def errors(step: float, tolerances: tuple[float, ...]) -> list[float]:
    """Greatest error [degree] over SPAN of a block of runs: the engine's, then the stacks'.

    Against the engine at a third of its step, whose own error is some fifty times less.
    """
    exact, ready = engine(step / 3.0), engine(step)
    lanes = np.arange(LANES, dtype=np.uint64)
    count = round(SPAN / ready.problem.output_step) + 1
    times: Floats = np.asarray(ready.problem.output_step * np.arange(count))
    true = exact.run(7, lanes, histories=True).histories[0, :count].astype(float)
    found = [ready.run(7, lanes, histories=True).histories[0, :count].astype(float)]
    slopes = given_sea(ready, LANES)
    found += [stack(ready, slopes, each)(float(times[-1]), times).T for each in tolerances]
    return [math.degrees(float(np.max(np.abs(each - true)))) for each in found]
