"""The equation of roll with its exact derivatives: what follows a steady response needs both.

The variational equations are integrated with the state, in a time counted in wave periods, so that
the period itself may be varied.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from rollsim.compiled import compiled
from rollsim.motion.coefficients import Coefficients, Packed, unpack
from rollsim.motion.equation import acceleration, water_at, wind_at
from rollsim.motion.moments import damping_slope, fall_slope, filled_slope, kn_slopes
from rollsim.motion.timeline import filling_at, loading, wave_factor

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

NUMBERS = len(Coefficients._fields) - len(Packed._fields) + 1
"""Scalars of the packed coefficients."""
CHANGES = 5
STATES = 8
"""y [rad] and y′ [rad/s]; their derivatives by y and y′ at the start; those by the parameter."""


class Slopes(NamedTuple):
    """Derivatives of y″ by y [1/s²], y′ [1/s], α [1/s²], α′ [1/s] and elevation [rad/s²/m]."""

    angle: float
    rate: float
    slope: float
    slope_rate: float
    elevation: float


@compiled
def slopes(time: float, y: float, rate: float, c: Coefficients, segment: Floats) -> Slopes:
    """What `motion.equation.acceleration` changes by, at `time` [s] and y [rad], y′ [rad/s]."""
    slope, slope_rate, elevation = water_at(time, c, segment)
    now = loading(time, segment)
    share = (1.0 if c.relative else 0.0) - c.added_share
    heel = y - share * slope
    by_heel, by_elevation = kn_slopes(heel, elevation, c)
    righting = by_heel - (now.kg + now.free_surface) * math.cos(heel)
    righting += now.off_centre * math.sin(heel)
    righting += filled_slope(heel, filling_at(time, segment), c)
    speed = wind_at(time, c, segment)
    wind = (
        c.wind * speed * abs(speed) * fall_slope(y + c.added_share * slope, c.heel_law) / now.mass
    )
    damped = damping_slope(rate - share * slope_rate, c.linear, 2.0 * c.quadratic, 3.0 * c.cubic)
    return Slopes(
        (wind - righting) / c.inertia,
        -damped,
        (c.added_share * wind + c.absolute_gm + share * righting) / c.inertia,
        share * damped,
        -by_elevation / c.inertia,
    )


@compiled
def varied_rates(
    turn: float,
    state: Floats,
    numbers: Floats,
    kn: Floats,
    filling: Floats,
    waves: Floats,
    none: Floats,
) -> Floats:
    """Derivatives of the STATES by `turn`, the time in wave periods; the sea is one regular wave.

    Few arrays, for scipy's solvers call it from Python: `numbers` are those of `Packed`, then the
    wave period [s] and by the parameter what period, amplitude of the slope, that of its rate and
    that of the elevation change by, then the segment in force; `filling` is what tanks that
    fill add, `none` no grid.
    """
    first = NUMBERS + CHANGES
    change, segment = numbers[NUMBERS:first], numbers[first:]
    c = unpack(numbers, kn, filling, waves, none, none, none)
    period = change[0]
    time = turn * period
    y, v = state[0], state[1]
    a = acceleration(time, y, v, c, segment)
    by = slopes(time, y, v, c, segment)
    angle = c.waves[0, 0] * time + c.waves[1, 0]
    factor = wave_factor(time, segment)[0]
    push = -by.slope * change[2] * math.sin(angle) - by.slope_rate * change[3] * math.cos(angle)
    push = factor * (push + by.elevation * change[4] * math.cos(angle))
    result = np.empty(STATES)
    result[0], result[1] = period * v, period * a
    for k in range(2, STATES, 2):
        result[k] = period * state[k + 1]
        result[k + 1] = period * (by.angle * state[k] + by.rate * state[k + 1])
    result[6] += change[1] * v
    result[7] += period * push + change[1] * a
    return result
