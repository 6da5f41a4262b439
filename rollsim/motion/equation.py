"""The equation of roll: the sum of the moments, in one place for every solver.

Per unit weight, with ψ = φ − α(t) (relative excitation; ψ = φ with absolute):
    (k²/g) (φ″ − s α″) = −(k²/g) D(ψ′) − [KN(ψ, ζ) − KG sin ψ − YG cos ψ] + wind + levers
and + GM α on the right with absolute excitation. s is the share of k² that is water's and follows
the slope. Solvers carry y = φ − s α, whose second derivative needs no α″.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from rollsim.compiled import compiled
from rollsim.motion.coefficients import unpack
from rollsim.motion.moments import (
    damping,
    filled,
    fluctuation,
    righting_lever,
    wave_state,
    wind_lever,
)
from rollsim.motion.timeline import filling_at, loading, wave_factor

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from rollsim.motion.coefficients import Coefficients

    Floats = NDArray[np.float64]


@compiled
def on_water(
    state: tuple[float, float],
    water: tuple[float, float, float],
    wind_speed: float,
    time: float,
    c: Coefficients,
    segment: Floats,
) -> float:
    """Second derivative of y [rad/s²] for the `state` y [rad], y′ [rad/s].

    `water` is slope [rad], its rate [rad/s] and the elevation [m]; `wind_speed` is V(t) [m/s].
    """
    y, rate = state
    slope, slope_rate, elevation = water
    now = loading(time, segment)
    share = (1.0 if c.relative else 0.0) - c.added_share
    lever = now.lever + wind_lever(y + c.added_share * slope, wind_speed, c) / now.mass
    lever += c.absolute_gm * slope
    heel = y - share * slope
    lever -= righting_lever(heel, elevation, now.kg + now.free_surface, now.off_centre, c)
    lever -= filled(heel, filling_at(time, segment), c)
    through = rate - share * slope_rate
    return lever / c.inertia - damping(through, c.linear, c.quadratic, c.cubic)


@compiled
def water_at(time: float, c: Coefficients, segment: Floats) -> tuple[float, float, float]:
    """Slope [rad], its rate [rad/s] and elevation [m] at `time` [s]."""
    height, growth = wave_factor(time, segment)
    return wave_state(time, height, growth, c)


@compiled
def wind_at(time: float, c: Coefficients, segment: Floats) -> float:
    """Wind speed V(t) [m/s] at `time` [s], the run's factor, gusts and turbulence in it."""
    return c.wind_factor * (loading(time, segment).wind + fluctuation(time, c))


@compiled
def acceleration(time: float, y: float, rate: float, c: Coefficients, segment: Floats) -> float:
    """Second derivative of y [rad/s²] at `time` [s]."""
    water = water_at(time, c, segment)
    return on_water((y, rate), water, wind_at(time, c, segment), time, c, segment)


@compiled
def derivative(
    time: float,
    state: Floats,
    numbers: Floats,
    kn: Floats,
    filling: Floats,
    waves: Floats,
    slope_grid: Floats,
    elevation_grid: Floats,
    wind_grid: Floats,
    segment: Floats,
) -> Floats:
    """Time derivative of the state (y [rad], y′ [rad/s]) from packed coefficients.

    The parameters are those of `Packed`, spelled out: this is the call that scipy's solvers make
    from Python, and its cost is in handing the arguments over.
    """
    c = unpack(numbers, kn, filling, waves, slope_grid, elevation_grid, wind_grid)
    result = np.empty(2)
    result[0] = state[1]
    result[1] = acceleration(time, state[0], state[1], c, segment)
    return result


@compiled
def along(
    times: Floats, states: Floats, segments: Floats, index: NDArray[np.int64], c: Coefficients
) -> Floats:
    """What belongs to the states y, y′ (2, n) at `times` [s]: shape (5, n).

    Roll [rad], roll rate [rad/s], slope [rad], its rate [rad/s], heeling lever [m]; `index` (n,)
    numbers the segment of each time.
    """
    result = np.empty((5, times.size))
    for i in range(times.size):
        segment = segments[index[i]]
        slope, rate, _ = water_at(times[i], c, segment)
        now = loading(times[i], segment)
        roll = states[0, i] + c.added_share * slope
        result[0, i] = roll
        result[1, i] = states[1, i] + c.added_share * rate
        result[2, i] = slope
        result[3, i] = rate
        result[4, i] = now.lever + wind_lever(roll, wind_at(times[i], c, segment), c) / now.mass
    return result
