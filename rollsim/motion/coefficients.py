"""All that the compiled equation reads, as one flat tuple of floats and arrays in SI units.

Everything is per unit weight of the ship at t = 0: moments are levers in metres.
"""

from __future__ import annotations

from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from rollsim.compiled import compiled
from rollsim.ship.damping import Damping
from rollsim.ship.lever_table import LeverTable, tabulated
from rollsim.ship.levers import Levers
from rollsim.ship.righting import HEELING_LAWS
from rollsim.ship.wave_levers import WaveLevers

Floats = NDArray[np.float64]


class Coefficients(NamedTuple):
    """The equation's constants and, put in by `forcing.single`, the storm of one run.

    `inertia` is k²/g [m s²], `wind` the lever per V² [s²/m] at t = 0, `heel_law` the power of cos φ
    by which it falls off, `wind_factor` multiplies V(t). `kn` with `lever_step`, `lever_upright`,
    `first_level`, `level_step` is a `LeverTable`, `filling` (states, rows, 3) in the same rows what
    tanks that fill add over their coordinate, or none. With relative excitation `absolute_gm` is 0;
    `added_share` is the share of k² that follows the slope.

    `waves` (4, n) are waves summed as they stand: frequency [rad/s], phase, slope [rad], elevation
    [m]. The grids hold a channel of an irregular storm, value and two derivatives every
    `grid_step` (`wind_grid_step`) seconds, shape (n, 3) or none. The slope never exceeds
    `slope_bound` [rad].
    """

    inertia: float
    linear: float
    quadratic: float
    cubic: float
    heel_min: float
    heel_max: float
    lever_step: float
    lever_upright: float
    first_level: float
    level_step: float
    wind: float
    heel_law: int
    wind_factor: float
    relative: bool
    absolute_gm: float
    added_share: float
    ramp: float
    slope_bound: float
    grid_step: float
    wind_grid_step: float
    kn: Floats
    filling: Floats
    waves: Floats
    slope_grid: Floats
    elevation_grid: Floats
    wind_grid: Floats


class Packed(NamedTuple):
    """The same coefficients as few arrays: numba unboxes these four times faster than the tuple.

    `numbers` holds the scalars in order of `Coefficients`.
    """

    numbers: Floats
    kn: Floats
    filling: Floats
    waves: Floats
    slope_grid: Floats
    elevation_grid: Floats
    wind_grid: Floats


NO_WAVES: Floats = np.zeros((4, 0))
NO_GRID: Floats = np.zeros((0, 3))
NO_FILLING: Floats = np.zeros((0, 0, 3))


@lru_cache(maxsize=256)
def lever_table(levers: Levers, gm_per_m: float, waves: WaveLevers | None) -> LeverTable:
    """The table of the levers that coefficients hold."""
    return tabulated(levers, gm_per_m=gm_per_m, waves=waves)


def calm_coefficients(
    levers: Levers,
    gyradius_squared_over_g: float,
    damping: Damping,
    wind: float = 0.0,
    heel_law: str = "constant",
    gm_per_m: float = 0.0,
    waves: WaveLevers | None = None,
) -> Coefficients:
    """Coefficients of a ship in calm water; a storm is put in by `forcing.single.with_storm`.

    `gm_per_m`: change of GM per metre of effective elevation, or levers in `waves` instead.
    """
    table = lever_table(levers, gm_per_m, waves)
    return Coefficients(
        inertia=gyradius_squared_over_g,
        linear=damping.linear,
        quadratic=damping.quadratic,
        cubic=damping.cubic,
        heel_min=levers.heel_min,
        heel_max=levers.heel_max,
        lever_step=table.step,
        lever_upright=float(table.upright),
        first_level=table.first_level,
        level_step=table.level_step,
        wind=wind,
        heel_law=HEELING_LAWS[heel_law].power,
        wind_factor=1.0,
        relative=True,
        absolute_gm=0.0,
        added_share=0.0,
        ramp=0.0,
        slope_bound=0.0,
        grid_step=1.0,
        wind_grid_step=1.0,
        kn=table.kn,
        filling=NO_FILLING,
        waves=NO_WAVES,
        slope_grid=NO_GRID,
        elevation_grid=NO_GRID,
        wind_grid=NO_GRID,
    )


def pack(c: Coefficients) -> Packed:
    """`c` in the form in which it crosses from Python into compiled code in a hot loop."""
    numbers = np.array([float(value) for value in c if not isinstance(value, np.ndarray)])
    return Packed(numbers, c.kn, c.filling, c.waves, c.slope_grid, c.elevation_grid, c.wind_grid)


@compiled
def unpack(
    numbers: Floats,
    kn: Floats,
    filling: Floats,
    waves: Floats,
    slope_grid: Floats,
    elevation_grid: Floats,
    wind_grid: Floats,
) -> Coefficients:
    """The coefficients that `pack` packed, inside compiled code, at no cost."""
    return Coefficients(
        numbers[0],
        numbers[1],
        numbers[2],
        numbers[3],
        numbers[4],
        numbers[5],
        numbers[6],
        numbers[7],
        numbers[8],
        numbers[9],
        numbers[10],
        int(numbers[11]),
        numbers[12],
        numbers[13] != 0.0,
        numbers[14],
        numbers[15],
        numbers[16],
        numbers[17],
        numbers[18],
        numbers[19],
        kn,
        filling,
        waves,
        slope_grid,
        elevation_grid,
        wind_grid,
    )
