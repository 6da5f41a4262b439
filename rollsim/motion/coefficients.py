"""All that the compiled equation reads, as one flat tuple of floats and arrays in SI units.

Everything is per unit weight of the ship at t = 0: moments are levers in metres.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from rollsim.compiled import compiled
from rollsim.ship.damping import Damping
from rollsim.ship.levers import Levers

Floats = NDArray[np.float64]

HEEL_LAWS = {"constant": 0, "cos": 1, "cos2": 2}
"""Power of cos φ by which a wind lever falls off with heel."""


class Coefficients(NamedTuple):
    """The equation's constants; `inertia` is k²/g [m s²], `wind` is the lever per V² [s²/m].

    `component_*` are waves summed as they stand (regular seas); `grid` holds the slope of an
    irregular sea, its first and second derivative, every `grid_step` seconds: shape (n, 3).
    With relative excitation `absolute_gm` is 0. The slope never exceeds `slope_bound` [rad].
    """

    inertia: float
    linear: float
    quadratic: float
    cubic: float
    knots: Floats
    spline: Floats
    powers: Floats
    sine: float
    wall: float
    heel_min: float
    heel_max: float
    free_surface: float
    wind: float
    heel_law: int
    relative: bool
    absolute_gm: float
    ramp: float
    slope_bound: float
    component_frequency: Floats
    component_slope: Floats
    component_phase: Floats
    grid_step: float
    grid: Floats


class Packed(NamedTuple):
    """The same coefficients as few arrays: numba unboxes these four times faster than the tuple.

    `numbers` holds the scalars in order of `Coefficients`, `components` (3, n) frequency, slope
    and phase.
    """

    numbers: Floats
    knots: Floats
    spline: Floats
    powers: Floats
    components: Floats
    grid: Floats


NO_WAVES: Floats = np.zeros(0)
NO_GRID: Floats = np.zeros((0, 3))


def calm_coefficients(
    levers: Levers,
    gyradius_squared_over_g: float,
    damping: Damping,
    free_surface: float = 0.0,
    wind: float = 0.0,
    heel_law: str = "constant",
) -> Coefficients:
    """Coefficients of a ship in calm water; waves are put in afterwards by `with_waves`."""
    return Coefficients(
        inertia=gyradius_squared_over_g,
        linear=damping.linear,
        quadratic=damping.quadratic,
        cubic=damping.cubic,
        knots=np.ascontiguousarray(levers.knots),
        spline=np.ascontiguousarray(levers.coefficients),
        powers=np.ascontiguousarray(levers.powers),
        sine=float(levers.sine),
        wall=float(levers.wall),
        heel_min=levers.heel_min,
        heel_max=levers.heel_max,
        free_surface=free_surface,
        wind=wind,
        heel_law=HEEL_LAWS[heel_law],
        relative=True,
        absolute_gm=0.0,
        ramp=0.0,
        slope_bound=0.0,
        component_frequency=NO_WAVES,
        component_slope=NO_WAVES,
        component_phase=NO_WAVES,
        grid_step=1.0,
        grid=NO_GRID,
    )


def pack(c: Coefficients) -> Packed:
    """`c` in the form in which it crosses from Python into compiled code in a hot loop."""
    numbers = np.array([float(value) for value in c if not isinstance(value, np.ndarray)])
    components = np.array([c.component_frequency, c.component_slope, c.component_phase])
    return Packed(numbers, c.knots, c.spline, c.powers, components, c.grid)


@compiled
def unpack(
    numbers: Floats, knots: Floats, spline: Floats, powers: Floats, components: Floats, grid: Floats
) -> Coefficients:
    """The coefficients that `pack` packed, inside compiled code, at no cost."""
    return Coefficients(
        numbers[0],
        numbers[1],
        numbers[2],
        numbers[3],
        knots,
        spline,
        powers,
        numbers[4],
        numbers[5],
        numbers[6],
        numbers[7],
        numbers[8],
        numbers[9],
        int(numbers[10]),
        numbers[11] != 0.0,
        numbers[12],
        numbers[13],
        numbers[14],
        components[0],
        components[1],
        components[2],
        numbers[15],
        grid,
    )
