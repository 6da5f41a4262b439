"""The script that a researcher writes by hand, as the yardstick; and a way between it and ours."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

from rollsim.constants import GRAVITY
from rollsim.weather.waves import Components
from tests.bench.ship import B1, B2, GYRADIUS, WIND_LEVER, gz_spline

Floats = NDArray[np.float64]


def script(waves: Components, duration: float, *, exact: bool = False) -> Floats:
    """Roll [rad] every 0.5 s: solve_ivp RK45 1e-4, cosines by numpy, CubicSpline, no compiler.

    Absolute excitation, the cheaper for a script: one sum of 200 cosines a call. `exact` takes
    DOP853 at 1e-11 instead, to measure its own error by: its curve is not quite ours.
    """
    gz = gz_spline()
    gm = float(gz(0.0, 1))
    omega, slope, phase = waves.frequency, waves.slope, waves.phase
    scale = GRAVITY / GYRADIUS**2

    def right_hand_side(t: float, y: Floats) -> list[float]:
        alpha = np.sum(slope * np.cos(omega * t + phase))
        lever = gm * alpha + WIND_LEVER - gz(y[0])
        return [y[1], scale * lever - B1 * y[1] - B2 * abs(y[1]) * y[1]]

    times = np.arange(0.0, duration + 0.25, 0.5)
    times = times[times <= duration]
    method, rtol, atol = ("DOP853", 1e-11, 1e-11) if exact else ("RK45", 1e-4, 1e-6)
    span = (0.0, duration)
    found = solve_ivp(
        right_hand_side, span, [0.0, 0.0], method=method, rtol=rtol, atol=atol, t_eval=times
    )
    return np.asarray(found.y[0])


def same_as_sine(waves: Components) -> Components:
    """The script's cosines as our α = −Σ slope sin(..): the same wave a quarter turn on."""
    return waves._replace(phase=waves.phase - 0.5 * math.pi)


def stack(slopes: Floats, step: float, duration: float) -> Callable[[], object]:
    """solve_ivp RK45 1e-4 on runs stacked in one state, compiled right-hand side, forcing given.

    `slopes` (rows, runs) every `step` [s], cubic in between; extremes from the output points.
    """
    from numba import njit

    heel = np.linspace(-0.5 * math.pi, 0.5 * math.pi, 1801)
    spline = gz_spline()
    table, slope = spline(heel), spline(heel, 1)
    spacing, scale = heel[1] - heel[0], GRAVITY / GYRADIUS**2
    runs = slopes.shape[1]

    @njit(error_model="numpy")
    def right_hand_side(t: float, y: Floats, alpha: Floats, result: Floats) -> None:
        i = min(max(int(t / step), 1), alpha.shape[0] - 3)
        x = t / step - i
        w0 = -x * (x - 1.0) * (x - 2.0) / 6.0
        w1 = (x + 1.0) * (x - 1.0) * (x - 2.0) / 2.0
        w2 = -(x + 1.0) * x * (x - 2.0) / 2.0
        w3 = (x + 1.0) * x * (x - 1.0) / 6.0
        for k in range(runs):
            a = w0 * alpha[i - 1, k] + w1 * alpha[i, k] + w2 * alpha[i + 1, k]
            a += w3 * alpha[i + 2, k]
            z = min(max((y[k] - a + 0.5 * math.pi) / spacing, 0.0), 1800.0)
            j = int(z + 0.5)
            p = y[runs + k]
            result[k] = p
            lever = table[j] + (z - j) * spacing * slope[j]
            result[runs + k] = scale * (WIND_LEVER - lever) - B1 * p - B2 * abs(p) * p

    def function(t: float, y: Floats) -> Floats:
        result = np.empty_like(y)
        right_hand_side(t, y, slopes, result)
        return result

    function(0.0, np.zeros(2 * runs))

    def run() -> float:
        found = solve_ivp(
            function, (0.0, duration), np.zeros(2 * runs), method="RK45", rtol=1e-4, atol=1e-6
        )
        return float(np.max(found.y[:runs]))

    return run
