"""The equation of roll: the sum of the moments, in one place for every solver.

Per unit weight, with ψ = φ − α(t) (relative excitation; ψ = φ with absolute):
    (k²/g) φ″ = −(k²/g) D(ψ′) − [KN(ψ) − KG sin ψ − YG cos ψ] + wind + levers (+ GM α, absolute)
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from rollsim.compiled import compiled
from rollsim.motion.coefficients import unpack
from rollsim.motion.moments import damping, righting_lever, wave_slope, wind_lever
from rollsim.motion.timeline import loading

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from rollsim.motion.coefficients import Coefficients

    Floats = NDArray[np.float64]


@compiled
def lever_on(roll: float, time: float, c: Coefficients, segment: Floats) -> float:
    """Sum of wind and heeling levers [m] at `roll` [rad] and `time` [s]."""
    mass, _, _, lever, speed = loading(time, segment)
    return lever + wind_lever(roll, speed, c) / mass


@compiled
def on_slope(
    roll: float,
    rate: float,
    slope: float,
    slope_rate: float,
    time: float,
    c: Coefficients,
    segment: Floats,
) -> float:
    """Roll acceleration [rad/s²] on water of `slope` [rad] and `slope_rate` [rad/s]."""
    _, kg, off_centre, _, _ = loading(time, segment)
    lever = lever_on(roll, time, c, segment)
    heel, heel_rate = roll, rate
    if c.relative:
        heel -= slope
        heel_rate -= slope_rate
    else:
        lever += c.absolute_gm * slope
    lever -= righting_lever(heel, kg, off_centre, c)
    return lever / c.inertia - damping(heel_rate, c)


@compiled
def acceleration(time: float, roll: float, rate: float, c: Coefficients, segment: Floats) -> float:
    """Roll acceleration [rad/s²] at `roll` [rad] and `rate` [rad/s]."""
    slope, slope_rate = wave_slope(time, c)
    return on_slope(roll, rate, slope, slope_rate, time, c, segment)


@compiled
def derivative(
    time: float,
    state: Floats,
    numbers: Floats,
    knots: Floats,
    spline: Floats,
    powers: Floats,
    components: Floats,
    grid: Floats,
    segment: Floats,
) -> Floats:
    """Time derivative of the state (roll [rad], rate [rad/s]) from packed coefficients.

    The parameters are those of `Packed`, spelled out: this is the call that scipy's solvers make
    from Python, and its cost is in handing the arguments over.
    """
    c = unpack(numbers, knots, spline, powers, components, grid)
    result = np.empty(2)
    result[0] = state[1]
    result[1] = acceleration(time, state[0], state[1], c, segment)
    return result


@compiled
def levers_along(
    times: Floats, rolls: Floats, loading: Floats, c: Coefficients
) -> tuple[Floats, Floats, Floats]:
    """Slope [rad], its rate [rad/s] and heeling lever [m] at `times` [s] and `rolls` [rad], (n,).

    `loading` (n, 5) as `timeline.loading_at` gives it.
    """
    slope, rate, lever = np.empty(times.size), np.empty(times.size), np.empty(times.size)
    for i in range(times.size):
        slope[i], rate[i] = wave_slope(times[i], c)
        lever[i] = wind_lever(rolls[i], loading[i, 4], c) / loading[i, 0] + loading[i, 3]
    return slope, rate, lever
