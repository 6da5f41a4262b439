"""The slope of an irregular sea for many realisations at once: spectra by lane, then one FFT.

The components are those of `weather.waves.realise`; only the way of adding them up differs. Row
n of the result stands for t = (n - LEAD) δ, so that an interpolator may reach back from t = 0.
"""

from __future__ import annotations

import math
import threading
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from rollsim.compiled import vectorised
from rollsim.weather.draws import WAVES, pair_of_pairs
from rollsim.weather.elementary import minus_log, turn
from rollsim.weather.sea import (
    RegularWave,
    SeaState,
    component_grid,
    highest_encounter,
    realise,
)

Floats = NDArray[np.float64]
Words = NDArray[np.uint64]

LEAD = 6
"""Rows before t = 0."""
REACH = 9
"""Rows after the end of a run that an interpolator may reach for."""
BAND = 1.8
"""Greatest ω δ of the rows [rad] where nothing finer is asked for."""


class Sea(Protocol):
    """A sea that can be realised in blocks: rows `step` [s] apart, row n at (n − LEAD) step."""

    @property
    def calm(self) -> bool:
        """Whether there are no waves."""

    @property
    def step(self) -> float:
        """Spacing δ of the rows [s]."""

    @property
    def band(self) -> float:
        """Greatest ω δ of the sea [rad]: what the interpolator between the rows is made for."""

    def slopes(self, seed: int, realisations: Words) -> Floats:
        """Slope α [rad] at every row for every lane, shape (rows, lanes); no rows in a calm."""


@dataclass(frozen=True)
class CalmSea:
    """No waves."""

    calm: bool = True
    step: float = 1.0
    band: float = BAND

    def slopes(self, seed: int, realisations: Words) -> Floats:
        """No rows at all."""
        return np.zeros((0, realisations.size))


@dataclass(frozen=True, eq=False)
class RegularSea:
    """A regular sea, the same for every realisation."""

    state: SeaState
    rows: int
    step: float
    band: float
    calm: bool = False

    def slopes(self, seed: int, realisations: Words) -> Floats:
        """Slope at every row, from the wave itself."""
        waves = realise(self.state, seed, 0)
        time = self.step * (np.arange(self.rows) - LEAD)
        angle = np.outer(time, waves.frequency) + waves.phase
        slope = -np.sum(waves.slope * np.sin(angle), axis=1)
        return np.repeat(slope[:, None], realisations.size, axis=1)


@dataclass(frozen=True, eq=False)
class IrregularSea:
    """An irregular sea, added up by one inverse FFT a lane.

    By component: `size` its slope amplitude [rad] before the draw, `lead` its phase in turns at
    the row that the FFT starts from, `place` (n, w) the FFT's frequencies that it is put on and
    `real`, `imag` (n, w) with which weights. `first` is the first draw's index. Of the `length`
    rows of the FFT those from `offset` on are used, each times its `correction`.
    """

    first: int
    size: Floats
    lead: Floats
    place: NDArray[np.int64]
    real: Floats
    imag: Floats
    length: int
    offset: int
    correction: Floats
    step: float
    band: float
    calm: bool = False

    def slopes(self, seed: int, realisations: Words) -> Floats:
        """Slope at every row."""
        from scipy.fft import irfft

        lanes = realisations.size
        spectrum = _room(self.length // 2 + 1, lanes)
        room = np.empty((4, lanes))
        draws = (self.first, np.uint64(seed), realisations)
        fill(spectrum, (self.place, self.real, self.imag), self.size, self.lead, draws, room)
        waves = irfft(spectrum.view(np.complex128)[..., 0], self.length, axis=0, norm="forward")
        rows = self.correction.size
        if rows == self.length:
            return np.ascontiguousarray(waves)
        return np.asarray(waves[self.offset : self.offset + rows] * self.correction[:, None])


_rooms = threading.local()


def _room(frequencies: int, lanes: int) -> Floats:
    """Zeros for the spectra of a block, the same memory again in every block of a thread.

    Fresh memory would be handed out by the system page by page, which costs more than the sums.
    """
    held: Floats | None = getattr(_rooms, "spectrum", None)
    if held is None or held.shape != (frequencies, lanes, 2):
        held = _rooms.spectrum = np.empty((frequencies, lanes, 2))
    held[...] = 0.0
    return held


def block_sea(state: SeaState, band: float = BAND) -> Sea:
    """How a sea is best realised in blocks: in rows so near that ω δ stays within `band` [rad]."""
    if state.waves is None:
        return CalmSea()
    highest = highest_encounter(state)
    if abs(math.sin(state.heading)) < 1e-15 or state.slope_coefficient == 0.0 or highest == 0.0:
        return CalmSea()
    step = band / highest
    if isinstance(state.waves, RegularWave):
        return RegularSea(state, math.ceil(state.duration / step) + LEAD + REACH, step, band)
    return _on_grid(state, step, band) if state.speed == 0.0 else _off_grid(state, step, band)


def _on_grid(state: SeaState, longest: float, band: float) -> IrregularSea:
    """At no speed the components stand on an FFT's own frequencies."""
    from scipy.fft import next_fast_len

    grid = component_grid(state)
    length = int(next_fast_len(math.ceil(grid.repeat / longest), real=True))
    step = grid.repeat / length
    lead = -grid.frequency * step * LEAD / math.tau
    one = np.ones((grid.place.size, 1))
    return IrregularSea(
        first=grid.first,
        size=grid.slope,
        lead=lead - np.floor(lead),
        place=grid.place[:, None],
        real=one,
        imag=one,
        length=length,
        offset=0,
        correction=np.ones(length),
        step=step,
        band=band,
    )


WIDTH = 8
"""Frequencies that a component off the FFT's grid is spread on, on a grid twice as fine as the
run needs: the slope is then off by some 1e-7 of itself."""
SHAPE = 2.30 * WIDTH


def _off_grid(state: SeaState, step: float, band: float) -> IrregularSea:
    """With speed the encounter frequencies stand anywhere: a non-uniform FFT (type 1).

    Each component is spread with the kernel exp(β(√(1 − u²) − 1)) of Barnett, Magland and af
    Klinteberg (2019), and the rows are divided by its transform. The FFT's time starts in the
    middle of the run, where the kernel's transform is even; (−1)^m puts its rows in order.
    """
    from scipy.fft import next_fast_len

    grid = component_grid(state)
    rows = math.ceil(state.duration / step) + LEAD + REACH
    length = 2 * int(next_fast_len(rows, real=True))
    offset = (length - rows) // 2
    middle = (length // 2 - offset - LEAD) * step
    sign = np.where(grid.frequency < 0.0, -1.0, 1.0)
    bins = np.abs(grid.frequency) * length * step / math.tau
    place = np.ceil(bins - 0.5 * WIDTH).astype(np.int64)[:, None] + np.arange(WIDTH)
    weight = _kernel(place - bins[:, None]) * np.where(place % 2 == 0, 1.0, -1.0)
    # A negative frequency is the conjugate at the positive one; all but that at 0 count twice.
    real = np.where(place == 0, 2.0, 1.0) * weight
    imag = np.where(place == 0, 0.0, np.sign(place)) * weight * sign[:, None]
    lead = grid.frequency * middle / math.tau
    away: Floats = np.asarray((np.arange(rows) + offset - length // 2) * (math.tau / length))
    return IrregularSea(
        first=grid.first,
        size=grid.slope,
        lead=lead - np.floor(lead),
        place=np.abs(place),
        real=real,
        imag=imag,
        length=length,
        offset=offset,
        correction=1.0 / _kernel_transform(away),
        step=step,
        band=band,
    )


def _kernel(distance: Floats) -> Floats:
    """The spreading kernel at a distance in frequencies of the FFT, nought beyond WIDTH / 2."""
    inside = np.clip(1.0 - (2.0 * distance / WIDTH) ** 2, 0.0, None)
    return np.where(inside > 0.0, np.exp(SHAPE * (np.sqrt(inside) - 1.0)), 0.0)


def _kernel_transform(phase: Floats) -> Floats:
    """∫ kernel(u) cos(u phase) du, by Gauss's rule."""
    nodes, weights = np.polynomial.legendre.leggauss(60)
    half = 0.5 * WIDTH
    return np.asarray(
        np.cos(np.outer(phase, half * nodes)) @ (half * weights * _kernel(half * nodes))
    )


Spread = tuple[NDArray[np.int64], Floats, Floats]
Draws = tuple[int, np.uint64, Words]


@vectorised
def fill(
    spectrum: Floats, spread: Spread, size: Floats, lead: Floats, draws: Draws, drawn: Floats
) -> None:
    """Put the components of every lane into `spectrum` (frequencies, lanes, real and imaginary).

    α = −Σ a sin(ωt + ε) is the real part of Σ i a e^(iε) e^(iωt), half of it at ω, half at −ω.
    The loop goes by pairs of draws; the first index may be odd, then the first half of a pair is
    idle. `drawn` (4, lanes) is room to work in.
    """
    place, real, imag = spread
    first, seed, realisations = draws
    count = size.size
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
                for k in range(place.shape[1]):
                    p, q = 0.5 * size[i] * real[i, k], 0.5 * size[i] * imag[i, k]
                    for lane in range(lanes):
                        spectrum[place[i, k], lane, 0] += p * drawn[2 * half, lane]
                        spectrum[place[i, k], lane, 1] += q * drawn[2 * half + 1, lane]
