"""One general-purpose compiled integrator from the registry, for comparison; optional."""

from __future__ import annotations

import contextlib
import io
import math
from collections.abc import Callable
from typing import Any

import numpy as np

from rollsim.constants import GRAVITY
from tests.bench.ship import B1, B2, GYRADIUS, HOUR, WIND_LEVER, engine, gz_spline
from tests.bench.stacked import GRID, given_sea

RUNS = 8


def storm_hours() -> Callable[[], object] | None:
    """RUNS storm-hours by CyRK (RK45, 1e-4), their forcing given; None without it."""
    try:
        from CyRK import nbsolve_ivp
    except ImportError:
        return None
    from numba import njit

    slopes = np.ascontiguousarray(given_sea(engine(), RUNS).T)
    step = GRID
    heel = np.linspace(-0.5 * math.pi, 0.5 * math.pi, 1801)
    spline = gz_spline()
    table, gradient = spline(heel), spline(heel, 1)
    spacing, scale = heel[1] - heel[0], GRAVITY / GYRADIUS**2

    @njit
    def right_hand_side(t: float, y: Any, alpha: Any) -> Any:
        i = min(max(int(t / step), 1), alpha.size - 3)
        x = t / step - i
        a = -x * (x - 1.0) * (x - 2.0) / 6.0 * alpha[i - 1]
        a += (x + 1.0) * (x - 1.0) * (x - 2.0) / 2.0 * alpha[i]
        a -= (x + 1.0) * x * (x - 2.0) / 2.0 * alpha[i + 1]
        a += (x + 1.0) * x * (x - 1.0) / 6.0 * alpha[i + 2]
        z = min(max((y[0] - a + 0.5 * math.pi) / spacing, 0.0), 1800.0)
        j = int(z + 0.5)
        result = np.empty_like(y)
        result[0] = y[1]
        lever = table[j] + (z - j) * spacing * gradient[j]
        result[1] = scale * (WIND_LEVER - lever) - B1 * y[1] - B2 * abs(y[1]) * y[1]
        return result

    start = np.zeros(2)

    def work(run: int) -> None:
        nbsolve_ivp(right_hand_side, (0.0, HOUR), start, args=(slopes[run],), rtol=1e-4, atol=1e-6)

    def work_all() -> None:
        with contextlib.redirect_stdout(io.StringIO()):  # it warns of its own future
            for run in range(RUNS):
                work(run)

    work_all()
    return work_all
