"""The moments on the ship, each a pure compiled function of state, time and coefficients.

All are levers in metres, moment over weight, but for `damping`, an angular acceleration.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from rollsim.compiled import compiled, inlined

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from rollsim.motion.coefficients import Coefficients

    Floats = NDArray[np.float64]


@compiled
def kn(heel: float, c: Coefficients) -> float:
    """KN [m] at `heel` [rad].

    Beyond the known range the end's value is held: only trial stages of a step that is cut off at
    the capsize angle ever get there.
    """
    x = min(max(heel, c.heel_min), c.heel_max)
    s = math.sin(x)
    value = c.sine * s
    if c.wall != 0.0:
        value += c.wall * math.tan(x) ** 2 * s
    term = 0.0
    for i in range(c.powers.size - 1, -1, -1):
        term = (term + c.powers[i]) * x
    value += term
    n = c.knots.size - 1
    if n > 0:
        i = min(int((x - c.knots[0]) / (c.knots[n] - c.knots[0]) * n), n - 1)
        while i > 0 and x < c.knots[i]:
            i -= 1
        while i < n - 1 and x >= c.knots[i + 1]:
            i += 1
        d = x - c.knots[i]
        a = c.spline
        value += ((a[0, i] * d + a[1, i]) * d + a[2, i]) * d + a[3, i]
    return value


@compiled
def righting_lever(heel: float, kg: float, off_centre: float, c: Coefficients) -> float:
    """GZ [m] at `heel` [rad] with G at height `kg` and `off_centre` [m] now."""
    weight = (kg + c.free_surface) * math.sin(heel) + off_centre * math.cos(heel)
    return kn(heel, c) - weight


@inlined
def damping(rate: float, c: Coefficients) -> float:
    """b1 p + b2 |p| p + b3 p³ [rad/s²] at the rate p [rad/s] through the water."""
    return rate * (c.linear + c.quadratic * abs(rate) + c.cubic * rate * rate)


@inlined
def damping_slope(rate: float, c: Coefficients) -> float:
    """d/dp of the damping [1/s] at the rate p [rad/s] through the water."""
    return c.linear + 2.0 * c.quadratic * abs(rate) + 3.0 * c.cubic * rate * rate


@compiled
def wind_lever(heel: float, speed: float, c: Coefficients) -> float:
    """Lever [m] of a wind of `speed` [m/s], for the weight at t = 0."""
    return c.wind * speed * speed * fall(heel, c)


@compiled
def fall(heel: float, c: Coefficients) -> float:
    """What the heel leaves of the wind's lever: the law of heel, 1 upright."""
    left = 1.0
    for _ in range(c.heel_law):
        left *= math.cos(heel)
    return left


@compiled
def wave_slope(time: float, c: Coefficients) -> tuple[float, float]:
    """Effective wave slope α [rad] and its rate [rad/s] at `time` [s]."""
    slope = 0.0
    rate = 0.0
    for i in range(c.component_slope.size):
        angle = c.component_frequency[i] * time + c.component_phase[i]
        slope -= c.component_slope[i] * math.sin(angle)
        rate -= c.component_slope[i] * c.component_frequency[i] * math.cos(angle)
    if c.grid.shape[0] > 1:
        a, b = _between(time, c.grid_step, c.grid)
        slope += a
        rate += b
    factor, growth = ramp(time, c.ramp)
    return factor * slope, factor * rate + growth * slope


@compiled
def ramp(time: float, length: float) -> tuple[float, float]:
    """Factor on the sea while it grows over `length` [s], and the factor's rate [1/s]."""
    if time >= length:
        return 1.0, 0.0
    turn = math.pi / length
    return 0.5 * (1.0 - math.cos(turn * time)), 0.5 * turn * math.sin(turn * time)


@compiled
def _between(time: float, step: float, grid: Floats) -> tuple[float, float]:
    """Value and rate at `time` by the quintic through value, slope and curvature at both ends."""
    i = min(max(int(time / step), 0), grid.shape[0] - 2)
    x = time / step - i
    f0, d0, s0 = grid[i, 0], grid[i, 1] * step, 0.5 * grid[i, 2] * step * step
    f1, d1, s1 = grid[i + 1, 0], grid[i + 1, 1] * step, 0.5 * grid[i + 1, 2] * step * step
    # What the parabola at the left end misses at the right end, in value, slope and curvature.
    g, h, k = f1 - f0 - d0 - s0, d1 - d0 - 2.0 * s0, s1 - s0
    c3, c4, c5 = 10.0 * g - 4.0 * h + k, -15.0 * g + 7.0 * h - 2.0 * k, 6.0 * g - 3.0 * h + k
    value = f0 + x * (d0 + x * (s0 + x * (c3 + x * (c4 + x * c5))))
    rate = d0 + x * (2.0 * s0 + x * (3.0 * c3 + x * (4.0 * c4 + x * 5.0 * c5)))
    return value, rate / step
