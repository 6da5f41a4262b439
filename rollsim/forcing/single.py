"""The storm of one run on a fine grid in time: made once, interpolated ever after."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from rollsim.compiled import compiled
from rollsim.forcing.storm import Storm
from rollsim.motion.coefficients import NO_GRID, NO_WAVES, Coefficients
from rollsim.weather.draws import WIND, uniform_pairs
from rollsim.weather.sea import Components, highest_frequency, realise

Floats = NDArray[np.float64]

PHASE_STEP = 0.25
"""Greatest ω δ of the grid [rad]: the quintic between two nodes is then off by (ω δ)⁶/46080,
5e-9 of the shortest wave's own slope."""
LANES = 16
FEW = 8
"""Up to so many components are summed as they stand: cheaper than a grid."""


def with_storm(
    c: Coefficients, storm: Storm, seed: int, realisation: int, factors: tuple[float, float]
) -> Coefficients:
    """`c` with the storm of one run put in; `factors` on its waves and on its wind."""
    waves = realise(storm.sea, seed, realisation)
    if storm.calm_water:
        waves = Components(*(np.zeros(0) for _ in Components._fields))
    on_waves, on_wind = factors
    scaled = waves._replace(slope=waves.slope * on_waves, elevation=waves.elevation * on_waves)
    c = with_waves(c, scaled, storm.sea.duration, elevation=storm.elevation)
    c = c._replace(wind_factor=on_wind)
    if storm.wind is None:
        return c
    lines = storm.wind
    size, turns = uniform_pairs(seed, realisation, WIND, int(lines.place[0]), lines.place.size)
    amplitude = lines.amplitude * np.sqrt(-np.log(size))
    frequency: Floats = np.asarray(lines.place * (math.tau / lines.repeat), dtype=np.float64)
    step, count = _grid(float(frequency[-1]), storm.sea.duration)
    grid = channel_grid(frequency, amplitude, math.tau * turns, step, count)
    return c._replace(wind_grid=grid, wind_grid_step=step)


def with_waves(
    c: Coefficients, waves: Components, duration: float, *, elevation: bool = False
) -> Coefficients:
    """`c` with a sea put in, good for times from 0 to `duration` [s]."""
    bound = float(np.sum(np.abs(waves.slope)))
    if waves.slope.size <= FEW:
        raised = waves.elevation if elevation else np.zeros_like(waves.slope)
        rows = np.array([waves.frequency, waves.phase, waves.slope, raised])
        return c._replace(slope_bound=bound, waves=rows, slope_grid=NO_GRID, elevation_grid=NO_GRID)
    step, count = _grid(highest_frequency(waves), duration)
    # −sin is the cosine a quarter turn ahead.
    ahead = waves.phase + 0.5 * math.pi
    grid = channel_grid(waves.frequency, waves.slope, ahead, step, count)
    raised = NO_GRID
    if elevation:
        raised = channel_grid(waves.frequency, waves.elevation, waves.phase, step, count)
    # Between two nodes the slope moves by no more than the greatest rate over one step.
    bound = min(bound, float(np.max(np.abs(grid[:, 0])) + np.max(np.abs(grid[:, 1])) * step))
    return c._replace(
        slope_bound=bound, waves=NO_WAVES, grid_step=step, slope_grid=grid, elevation_grid=raised
    )


def _grid(highest: float, duration: float) -> tuple[float, int]:
    """Step [s] and number of nodes of a grid over `duration` for frequencies up to `highest`."""
    count = math.ceil(duration / min(PHASE_STEP / highest, duration))
    return duration / count, count + 1


@compiled
def channel_grid(
    frequency: Floats, amplitude: Floats, phase: Floats, step: float, count: int
) -> Floats:
    """Σ amplitude cos(frequency t + phase) and two derivatives at t = 0, step, ..; (count, 3).

    Each component turns as a phasor over several neighbouring times at once, so that the inner
    loop vectorises; after n turns it is off by about n rounding errors.
    """
    blocks = (count + LANES - 1) // LANES
    sums = np.zeros((blocks, 3, LANES))
    real, imag = np.empty(LANES), np.empty(LANES)
    for j in range(frequency.size):
        w, s = frequency[j], amplitude[j]
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
                row[0, lane] += a
                row[1, lane] -= w * d
                row[2, lane] -= w2 * a
                real[lane] = a * turn_real - d * turn_imag
                imag[lane] = a * turn_imag + d * turn_real
    grid = np.empty((count, 3))
    for i in range(count):
        for k in range(3):
            grid[i, k] = sums[i // LANES, k, i % LANES]
    return grid
