"""The moments on the ship, each a pure compiled function of state, time and coefficients.

All are levers in metres, moment over weight, but for `damping`, an angular acceleration. Those
that take scalars alone are written for any float type and put whole into the loops over lanes.
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
def kn(heel: float, elevation: float, c: Coefficients) -> float:
    """KN [m] at `heel` [rad] on a wave of effective `elevation` [m].

    Beyond the known range of heel the end's value is held: only trial stages of a step that is cut
    off at the capsize angle ever get there. Two levels are a straight line in the elevation; of
    more the first and the last hold beyond them.
    """
    x = min(max(heel, c.heel_min), c.heel_max) / c.lever_step + c.lever_upright
    i = min(max(int(x), 0), c.kn.shape[1] - 2)
    calm = _between_rows(c.kn[0], i, x - i, c.lever_step)[0]
    if c.kn.shape[0] == 1:
        return calm
    level = (elevation - c.first_level) / c.level_step
    if c.kn.shape[0] > 2:
        level = min(max(level, 0.0), c.kn.shape[0] - 1.0)
    j = min(max(int(level), 0), c.kn.shape[0] - 2)
    below = calm if j == 0 else _between_rows(c.kn[j], i, x - i, c.lever_step)[0]
    above = _between_rows(c.kn[j + 1], i, x - i, c.lever_step)[0]
    lever: float = below + (level - j) * (above - below)
    return lever


@compiled
def kn_slopes(heel: float, elevation: float, c: Coefficients) -> tuple[float, float]:
    """Slope of KN [m/rad] and what it changes by with the effective elevation [m/m], as `kn`."""
    known = min(max(heel, c.heel_min), c.heel_max)
    x = known / c.lever_step + c.lever_upright
    i = min(max(int(x), 0), c.kn.shape[1] - 2)
    inside = 1.0 if known == heel else 0.0
    calm, slope = _between_rows(c.kn[0], i, x - i, c.lever_step)
    if c.kn.shape[0] == 1:
        return inside * slope, 0.0
    level, moved = (elevation - c.first_level) / c.level_step, 1.0
    if c.kn.shape[0] > 2:
        held = min(max(level, 0.0), c.kn.shape[0] - 1.0)
        moved = 1.0 if held == level else 0.0
        level = held
    j = min(max(int(level), 0), c.kn.shape[0] - 2)
    below, low = calm, slope
    if j > 0:
        below, low = _between_rows(c.kn[j], i, x - i, c.lever_step)
    above, high = _between_rows(c.kn[j + 1], i, x - i, c.lever_step)
    part = level - j
    return inside * (low + part * (high - low)), moved * (above - below) / c.level_step


@compiled
def righting_lever(
    heel: float, elevation: float, kg: float, off_centre: float, c: Coefficients
) -> float:
    """GZ [m] at `heel` [rad] with G at the virtual height `kg` and `off_centre` [m] now."""
    weight = kg * math.sin(heel) + off_centre * math.cos(heel)
    return kn(heel, elevation, c) - weight


@compiled
def filled(heel: float, coordinate: float, c: Coefficients) -> float:
    """What tanks that fill add to the righting lever [m], 0 where none does."""
    if c.filling.shape[0] < 2:
        return 0.0
    x = min(max(heel, c.heel_min), c.heel_max) / c.lever_step + c.lever_upright
    i = min(max(int(x), 0), c.filling.shape[1] - 2)
    j = min(max(int(coordinate), 0), c.filling.shape[0] - 2)
    below = _between_rows(c.filling[j], i, x - i, c.lever_step)[0]
    above = _between_rows(c.filling[j + 1], i, x - i, c.lever_step)[0]
    lever: float = below + (coordinate - j) * (above - below)
    return lever


@compiled
def filled_slope(heel: float, coordinate: float, c: Coefficients) -> float:
    """Slope of `filled` over heel [m/rad]."""
    known = min(max(heel, c.heel_min), c.heel_max)
    if c.filling.shape[0] < 2 or known != heel:
        return 0.0
    x = known / c.lever_step + c.lever_upright
    i = min(max(int(x), 0), c.filling.shape[1] - 2)
    j = min(max(int(coordinate), 0), c.filling.shape[0] - 2)
    below = _between_rows(c.filling[j], i, x - i, c.lever_step)[1]
    above = _between_rows(c.filling[j + 1], i, x - i, c.lever_step)[1]
    slope: float = below + (coordinate - j) * (above - below)
    return slope


@inlined
def damping(rate: float, linear: float, quadratic: float, cubic: float) -> float:
    """b1 p + b2 |p| p + b3 p³ [rad/s²] at the rate p [rad/s] through the water."""
    return rate * (linear + quadratic * abs(rate) + cubic * rate * rate)


@inlined
def damping_slope(rate: float, linear: float, twice_quadratic: float, thrice_cubic: float) -> float:
    """d/dp of the damping [1/s]: b1 + 2 b2 |p| + 3 b3 p², of b1, 2 b2 and 3 b3."""
    return linear + twice_quadratic * abs(rate) + thrice_cubic * rate * rate


@compiled
def fall(heel: float, law: int) -> float:
    """What the heel leaves of the wind's lever: cos φ to the power `law`, 1 upright."""
    left = 1.0
    for _ in range(law):
        left *= math.cos(heel)
    return left


@compiled
def fall_slope(heel: float, law: int) -> float:
    """Slope of `fall` [1/rad]."""
    return -law * math.sin(heel) * fall(heel, law - 1) if law > 0 else 0.0


@compiled
def wave_state(
    time: float, height: float, growth: float, c: Coefficients
) -> tuple[float, float, float]:
    """Effective slope α [rad], its rate [rad/s] and the effective elevation ζ [m] at `time` [s].

    `height` is the factor on the sea by events at that time, `growth` its rate [1/s].
    """
    slope, rate, elevation = 0.0, 0.0, 0.0
    for i in range(c.waves.shape[1]):
        frequency = c.waves[0, i]
        sine = math.sin(frequency * time + c.waves[1, i])
        cosine = math.cos(frequency * time + c.waves[1, i])
        slope -= c.waves[2, i] * sine
        rate -= c.waves[2, i] * frequency * cosine
        elevation += c.waves[3, i] * cosine
    if c.slope_grid.shape[0] > 1:
        value, derivative = between(time, c.grid_step, c.slope_grid)
        slope += value
        rate += derivative
    if c.elevation_grid.shape[0] > 1:
        elevation += between(time, c.grid_step, c.elevation_grid)[0]
    factor, rise = ramp(time, c.ramp)
    rise = rise * height + factor * growth
    factor *= height
    return factor * slope, factor * rate + rise * slope, factor * elevation


@compiled
def fluctuation(time: float, c: Coefficients) -> float:
    """What the turbulence adds to the wind speed [m/s] at `time` [s]."""
    if c.wind_grid.shape[0] > 1:
        return between(time, c.wind_grid_step, c.wind_grid)[0]
    return 0.0


@compiled
def wind_lever(roll: float, speed: float, c: Coefficients) -> float:
    """Heeling lever [m] of a wind of `speed` [m/s] at `roll` [rad], per weight at t = 0.

    A gust that blows back heels the other way.
    """
    return c.wind * speed * abs(speed) * fall(roll, c.heel_law)


@compiled
def ramp(time: float, length: float) -> tuple[float, float]:
    """Factor on the sea while it grows over `length` [s], and the factor's rate [1/s]."""
    if time >= length:
        return 1.0, 0.0
    turn = math.pi / length
    return 0.5 * (1.0 - math.cos(turn * time)), 0.5 * turn * math.sin(turn * time)


@compiled
def between(time: float, step: float, grid: Floats) -> tuple[float, float]:
    """Value and rate of a channel at `time` [s], from its rows every `step` [s]."""
    i = min(max(int(time / step), 0), grid.shape[0] - 2)
    return _between_rows(grid, i, time / step - i, step)


@compiled
def _between_rows(rows: Floats, i: int, x: float, step: float) -> tuple[float, float]:
    """Value and slope at x in [0, 1] after row i, `step` long: the quintic through both rows.

    A row holds value, slope and curvature.
    """
    f0, d0, s0 = rows[i, 0], rows[i, 1] * step, 0.5 * rows[i, 2] * step * step
    f1, d1, s1 = rows[i + 1, 0], rows[i + 1, 1] * step, 0.5 * rows[i + 1, 2] * step * step
    # What the parabola at the left end misses at the right end, in value, slope and curvature.
    g, h, k = f1 - f0 - d0 - s0, d1 - d0 - 2.0 * s0, s1 - s0
    c3, c4, c5 = 10.0 * g - 4.0 * h + k, -15.0 * g + 7.0 * h - 2.0 * k, 6.0 * g - 3.0 * h + k
    value = f0 + x * (d0 + x * (s0 + x * (c3 + x * (c4 + x * c5))))
    slope = d0 + x * (2.0 * s0 + x * (3.0 * c3 + x * (4.0 * c4 + x * 5.0 * c5)))
    return value, slope / step
