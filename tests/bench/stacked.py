"""solve_ivp on many runs stacked in one state, its right-hand side compiled, its forcing given.

The same equation as the block engine's: relative excitation in lever and damping, the same table
of levers. The sea is given on a grid fine enough for a cubic between its rows.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

from rollsim.engines.block.engine import BlockEngine
from rollsim.engines.block.tables import make_tables
from rollsim.forcing.interpolation import TAPS, weights
from tests.bench.ship import KG, WIND_LEVER, slopes

Floats = NDArray[np.float64]
Solve = Callable[[float, Floats | None], Floats]

GRID = 0.25
"""Spacing [s] of the given sea: with it the cubic's error is below the solver's."""


def given_sea(ready: BlockEngine, runs: int) -> Floats:
    """Slopes [rad] of the first runs, (times, runs) every GRID seconds."""
    values, step, band = slopes(ready, runs)
    times: Floats = np.asarray(np.arange(0.0, ready.case.duration + 2.0 * GRID, GRID))
    rows, factors = weights(times, step, band)
    inside = rows + TAPS <= values.shape[0]
    return np.array(
        [
            w[:TAPS] @ values[row : row + TAPS]
            for row, w in zip(rows[inside], factors[inside], strict=True)
        ]
    )


def stack(ready: BlockEngine, given: Floats, tolerance: float) -> Solve:
    """A function of duration [s] and output times [s] or None; it gives rolls (runs, times)."""
    from numba import njit

    tables = make_tables(ready.case, np.float64, ready.reach.periods)
    (kn, slope), (sine, cosine) = tables.kn[0], tables.shape[1:3]
    lever, gradient = kn - KG * sine, slope - KG * cosine
    spacing, upright, top = tables.step, float(tables.upright), float(lever.size - 1)
    c, heeling = ready.case.coefficients, WIND_LEVER
    inertia, linear, quadratic = c.inertia, c.linear, c.quadratic
    runs = given.shape[1]

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
        right_hand_side(t, y, given, result)
        return result

    def solve(duration: float, times: Floats | None = None) -> Floats:
        solution = solve_ivp(
            function,
            (0.0, duration),
            np.zeros(2 * runs),
            method="RK45",
            rtol=tolerance,
            atol=0.01 * tolerance,
            t_eval=times,
        )
        return np.asarray(solution.y[:runs])

    solve(1.0, None)
    return solve
