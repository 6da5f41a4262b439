"""The script that a researcher writes by hand, as the yardstick; and a way between it and ours."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

from rollsim.constants import GRAVITY
from rollsim.weather.sea import Components
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
    solution = solve_ivp(
        right_hand_side, span, [0.0, 0.0], method=method, rtol=rtol, atol=atol, t_eval=times
    )
    return np.asarray(solution.y[0])


def same_as_sine(waves: Components) -> Components:
    """The script's cosines as our α = −Σ slope sin(..): the same wave a quarter turn on."""
    return waves._replace(phase=waves.phase - 0.5 * math.pi)
