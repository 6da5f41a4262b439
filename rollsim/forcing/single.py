"""The slope of an irregular sea on a fine grid, made once a run, interpolated ever after."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from rollsim.compiled import compiled
from rollsim.motion.coefficients import NO_GRID, NO_WAVES, Coefficients
from rollsim.weather.sea import Components, highest_frequency

Floats = NDArray[np.float64]

PHASE_STEP = 0.25
"""Greatest ω δ of the grid [rad]: the quintic between two nodes is then off by (ω δ)⁶/46080,
5e-9 of the shortest wave's own slope."""
LANES = 16
FEW = 8
"""Up to so many components are summed as they stand: cheaper than a grid."""


def with_waves(c: Coefficients, waves: Components, duration: float) -> Coefficients:
    """`c` with a sea put in, good for times from 0 to `duration` [s]."""
    bound = float(np.sum(np.abs(waves.slope)))
    if waves.slope.size <= FEW:
        return c._replace(
            slope_bound=bound,
            component_frequency=waves.frequency,
            component_slope=waves.slope,
            component_phase=waves.phase,
            grid=NO_GRID,
        )
    step = min(PHASE_STEP / highest_frequency(waves), duration)
    count = math.ceil(duration / step)
    grid = slope_grid(waves.frequency, waves.slope, waves.phase, duration / count, count + 1)
    # Between two nodes the slope moves by no more than the greatest rate over one step.
    bound = min(
        bound, float(np.max(np.abs(grid[:, 0])) + np.max(np.abs(grid[:, 1])) * duration / count)
    )
    return c._replace(
        slope_bound=bound,
        component_frequency=NO_WAVES,
        component_slope=NO_WAVES,
        component_phase=NO_WAVES,
        grid_step=duration / count,
        grid=grid,
    )


@compiled
def slope_grid(frequency: Floats, slope: Floats, phase: Floats, step: float, count: int) -> Floats:
    """α = −Σ slope sin(frequency t + phase) and two derivatives at t = 0, step, ..; (count, 3).

    Each component turns as a phasor over several neighbouring times at once, so that the inner
    loop vectorises; after n turns it is off by about n rounding errors.
    """
    blocks = (count + LANES - 1) // LANES
    sums = np.zeros((blocks, 3, LANES))
    real, imag = np.empty(LANES), np.empty(LANES)
    for j in range(frequency.size):
        w, s = frequency[j], slope[j]
        for lane in range(LANES):
            angle = w * step * lane + phase[j]
            real[lane] = s * math.cos(angle)
            imag[lane] = s * math.sin(angle)
        turn_real, turn_imag = math.cos(w * step * LANES), math.sin(w * step * LANES)
        w2 = w * w
        for b in range(blocks):
            row = sums[b]
            for lane in range(LANES):
                a, d = real[lane], imag[lane]
                row[0, lane] -= d
                row[1, lane] -= w * a
                row[2, lane] += w2 * d
                real[lane] = a * turn_real - d * turn_imag
                imag[lane] = a * turn_imag + d * turn_real
    grid = np.empty((count, 3))
    for i in range(count):
        for k in range(3):
            grid[i, k] = sums[i // LANES, k, i % LANES]
    return grid
