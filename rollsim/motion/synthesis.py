"""The slope of an irregular sea for many realisations at once: spectra by lane, then one FFT.

The components are those of `weather.waves.realise`; only the way of adding them up differs. Row
n of the result stands for t = (n - LEAD) δ, so that an interpolator may reach back from t = 0.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from rollsim.compiled import vectorised
from rollsim.motion.forcing import slope_grid
from rollsim.weather.draws import WAVES, pair_of_pairs
from rollsim.weather.elementary import minus_log, turn
from rollsim.weather.waves import (
    RegularWave,
    SeaState,
    component_grid,
    highest_frequency,
    realise,
)

Floats = NDArray[np.float64]
Words = NDArray[np.uint64]

LEAD = 6
"""Rows before t = 0."""
REACH = 9
"""Rows after the end of a run that an interpolator may reach for."""
BAND = 2.1
"""Greatest ω δ of the rows [rad]: what the interpolator between rows is made for."""


class Sea(Protocol):
    """A sea that can be realised in blocks: rows `step` [s] apart, row n at (n − LEAD) step."""

    @property
    def calm(self) -> bool:
        """Whether there are no waves."""

    @property
    def step(self) -> float:
        """Spacing of the rows [s]."""

    def slopes(self, seed: int, realisations: Words) -> Floats:
        """Slope α [rad] at every row for every lane, shape (rows, lanes); no rows in a calm."""


@dataclass(frozen=True)
class CalmSea:
    """No waves."""

    calm: bool = True
    step: float = 1.0

    def slopes(self, seed: int, realisations: Words) -> Floats:
        """No rows at all."""
        return np.zeros((0, realisations.size))


@dataclass(frozen=True, eq=False)
class SummedSea:
    """Waves added up one by one: a regular sea, or one whose frequencies the speed has moved."""

    state: SeaState
    rows: int
    step: float
    calm: bool = False

    def slopes(self, seed: int, realisations: Words) -> Floats:
        """Slope at every row, by turning phasors."""
        result = np.empty((self.rows, realisations.size))
        for lane, realisation in enumerate(realisations):
            waves = realise(self.state, seed, int(realisation))
            phase = waves.phase - waves.frequency * self.step * LEAD
            grid = slope_grid(waves.frequency, waves.slope, phase, self.step, self.rows)
            result[:, lane] = grid[:, 0]
        return result


@dataclass(frozen=True, eq=False)
class TransformedSea:
    """An irregular sea at no speed: its components stand on the frequencies of an FFT.

    Arrays by component: place among the FFT's frequencies `bin`, slope amplitude `size` [rad]
    before the draw, `lead` the phase of row 0 in turns. `first` is the first draw's index.
    """

    first: int
    bin: NDArray[np.int64]
    size: Floats
    lead: Floats
    rows: int
    step: float
    calm: bool = False

    def slopes(self, seed: int, realisations: Words) -> Floats:
        """Slope at every row, by one inverse FFT a lane."""
        from scipy.fft import irfft

        lanes = realisations.size
        spectrum = np.zeros((self.rows // 2 + 1, lanes, 2))
        room = np.empty((4, lanes))
        fill(
            spectrum,
            self.bin,
            self.size,
            self.lead,
            self.first,
            np.uint64(seed),
            realisations,
            room,
        )
        waves = irfft(spectrum.view(np.complex128)[..., 0], self.rows, axis=0, norm="forward")
        return np.ascontiguousarray(waves)


def block_sea(state: SeaState) -> Sea:
    """How a sea is best realised in blocks."""
    if state.waves is None:
        return CalmSea()
    first = realise(state, 0, 0)
    highest = highest_frequency(first)
    if not np.any(first.slope) or highest == 0.0:
        return CalmSea()
    if isinstance(state.waves, RegularWave) or state.speed != 0.0:
        step = BAND / highest
        return SummedSea(state, math.ceil(state.duration / step) + LEAD + REACH, step)
    from scipy.fft import next_fast_len

    grid = component_grid(state)
    rows = int(next_fast_len(math.ceil(grid.repeat * highest / BAND), real=True))
    step = grid.repeat / rows
    lead = -grid.frequency * step * LEAD / math.tau
    return TransformedSea(grid.first, grid.place, grid.slope, lead - np.floor(lead), rows, step)


@vectorised
def fill(
    spectrum: Floats,
    place: NDArray[np.int64],
    size: Floats,
    lead: Floats,
    first: int,
    seed: np.uint64,
    realisations: Words,
    drawn: Floats,
) -> None:
    """Put the components of every lane into `spectrum` (frequencies, lanes, real and imaginary).

    α = −Σ a sin(ωt + ε) is the real part of Σ i a e^(iε) e^(iωt), half of it at ω, half at −ω.
    The loop goes by pairs of draws; `first` may be odd, then the first half of a pair is idle.
    `drawn` (4, lanes) is room to work in.
    """
    count = place.size
    lanes = realisations.size
    for pair in range(first // 2, (first + count + 1) // 2):
        j = 2 * pair - first
        lead_j = lead[j] if j >= 0 else 0.0
        lead_k = lead[j + 1] if j + 1 < count else 0.0
        for lane in range(lanes):
            u, v, x, y = pair_of_pairs(seed, realisations[lane], WAVES, 2 * pair)
            c, s = turn(v + lead_j)
            d, e = turn(y + lead_k)
            a, b = math.sqrt(minus_log(u)), math.sqrt(minus_log(x))
            drawn[0, lane] = -a * s
            drawn[1, lane] = a * c
            drawn[2, lane] = -b * e
            drawn[3, lane] = b * d
        for half in range(2):
            i = j + half
            if 0 <= i < count:
                scale = 0.5 * size[i]
                for lane in range(lanes):
                    spectrum[place[i], lane, 0] += scale * drawn[2 * half, lane]
                    spectrum[place[i], lane, 1] += scale * drawn[2 * half + 1, lane]
