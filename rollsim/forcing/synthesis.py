"""Channels of many runs at once: the draws of every lane as a spectrum, then one inverse FFT.

A channel is Σ amplitude R cos(ω t + 2π (θ + lag)) with R and θ drawn for every line and run. Row n
of the result stands for t = (n - LEAD) δ, so that an interpolator may reach back from t = 0.
"""

from __future__ import annotations

import math
import threading
from dataclasses import dataclass
from typing import Any, NamedTuple, Protocol

import numpy as np
from numpy.typing import NDArray

from rollsim.compiled import aligned
from rollsim.forcing.lines import fill, fill_parts
from rollsim.forcing.storm import Storm
from rollsim.weather.draws import WIND
from rollsim.weather.sea import (
    RegularWave,
    component_grid,
    highest_encounter,
    realise,
)

Floats = NDArray[np.float64]
Reals = NDArray[Any]
"""An array of the engine's own float type, single or double."""
Words = NDArray[np.uint64]

LEAD = 6
"""Rows before t = 0."""
REACH = 9
"""Rows after the end of a run that an interpolator may reach for."""
BAND = 1.8
"""Greatest ω δ of the rows [rad] where nothing finer is requested."""
REGULAR_SHARE = 1.0 / 3.0
"""Where in the band a single frequency sits: at its edge the weights are at their worst."""


class Channel(Protocol):
    """A channel made for many lanes: rows `step` [s] apart, row n at (n − LEAD) step."""

    @property
    def step(self) -> float:
        """Spacing δ of the rows [s]."""

    @property
    def band(self) -> float:
        """Greatest ω δ of the channel [rad]: what the interpolator between rows is made for."""

    def rows(self, seed: int, realisations: Words, kind: type) -> Reals:
        """Value at every row for every lane, shape (rows, lanes), of float type `kind`."""


class Lines(NamedTuple):
    """Spectral lines before the draw: frequency [rad/s], amplitude, `lag` in turns.

    Line i has the draw of index `first` + i // `parts` of its `purpose`; where `parts` is above 1
    that draw is handed on to so many lines (`weather.sea.drawn`), whose own begin at `first_part`.
    """

    purpose: int
    first: int
    parts: int
    first_part: int
    frequency: Floats
    amplitude: Floats
    lag: float


@dataclass(frozen=True, eq=False)
class Single:
    """One wave, the same for every realisation: amplitude, frequency [rad/s], phase [rad]."""

    amplitude: float
    frequency: float
    phase: float
    duration: float
    step: float
    band: float

    def rows(self, seed: int, realisations: Words, kind: type) -> Reals:
        """Value at every row, from the wave itself."""
        count = math.ceil(self.duration / self.step) + LEAD + REACH
        time = self.step * (np.arange(count) - LEAD)
        value = self.amplitude * np.cos(self.frequency * time + self.phase)
        rows = aligned((count, realisations.size), kind)
        rows[...] = value[:, None]
        return rows


@dataclass(frozen=True, eq=False)
class Synthesis:
    """Lines added up by one inverse FFT a lane.

    By line: `lead` its phase in turns at the row that the FFT starts from, `place` (n, w) the FFT's
    frequencies that it is put on and `real`, `imag` (n, w) with which weights. Of the `length` rows
    of the FFT those from `offset` on are used, each times its `correction`.
    """

    lines: Lines
    lead: Floats
    place: NDArray[np.int64]
    real: Floats
    imag: Floats
    length: int
    offset: int
    correction: Floats
    step: float
    band: float

    def rows(self, seed: int, realisations: Words, kind: type) -> Reals:
        """Value at every row."""
        from scipy.fft import irfft

        lanes, lines = realisations.size, self.lines
        first, last = self.place[0, 0], self.place[-1, 0]
        # Lines on neighbouring frequencies of their own are put there, others added up.
        own = lines.parts == 1 and self.place.shape == (last - first + 1, 1)
        spectrum = _room(self.length // 2 + 1, lanes, kind)
        if own:
            spectrum[:first] = spectrum[last + 1 :] = 0.0
        else:
            spectrum[...] = 0.0
        spread = self.place, self.real, self.imag
        key = (lines.purpose, lines.first, np.uint64(seed), realisations)
        if lines.parts == 1:
            room = np.empty((4, lanes))
            fill(spectrum, spread, lines.amplitude, self.lead, key, room, adds=not own)
        else:
            room = np.empty((lines.parts + 2, 2, lanes))
            fill_parts(spectrum, spread, lines.amplitude, self.lead, key, lines.first_part, room)
        pairs = spectrum.view(np.complex64 if kind is np.float32 else np.complex128)[..., 0]
        value = irfft(pairs, self.length, axis=0, norm="forward", overwrite_x=True)
        rows = aligned((self.correction.size, lanes), kind)
        if rows.size == value.size:
            np.copyto(rows, value)
        else:
            used = value[self.offset : self.offset + rows.shape[0]]
            np.multiply(used, self.correction.astype(kind)[:, None], out=rows)
        return rows


_rooms = threading.local()


def _room(frequencies: int, lanes: int, kind: type) -> Reals:
    """Room for the spectra of a block, the same memory again in every block of a thread.

    Fresh memory would be handed out by the system page by page, which costs more than the sums.
    """
    room: Reals | None = getattr(_rooms, "spectrum", None)
    if room is None or room.shape != (frequencies, lanes, 2) or room.dtype != kind:
        room = _rooms.spectrum = np.empty((frequencies, lanes, 2), dtype=kind)
    return room


class Channels(NamedTuple):
    """The channels of a storm, None where nothing of the kind acts on her."""

    slope: Channel | None
    elevation: Channel | None
    wind: Channel | None


def channels(storm: Storm, band: float = BAND) -> Channels:
    """How a storm is made in blocks: in rows so near that ω δ stays within `band` [rad]."""
    wind = None
    if storm.wind is not None:
        lines = storm.wind
        frequency: Floats = np.asarray(lines.place * (math.tau / lines.repeat), dtype=np.float64)
        drawn = Lines(WIND, int(lines.place[0]), 1, 0, frequency, lines.amplitude, 0.0)
        wind = _on_grid(drawn, lines.place, lines.repeat, band / float(frequency[-1]), band)
    if storm.calm_water:
        return Channels(None, None, wind)
    if isinstance(storm.sea.waves, RegularWave):
        slope, elevation = _regular(storm, band)
    else:
        slope, elevation = _irregular(storm, band)
    return Channels(slope if storm.slope else None, elevation if storm.raised else None, wind)


def _regular(storm: Storm, band: float) -> tuple[Channel, Channel]:
    sea = storm.sea
    wave = realise(sea, 0, 0)
    frequency, phase = float(wave.frequency[0]), float(wave.phase[0])
    step = min(REGULAR_SHARE * band / max(abs(frequency), 1e-9), sea.duration)
    size = float(wave.slope[0]), float(wave.elevation[0])
    ahead = phase + 0.5 * math.pi
    return (
        Single(size[0], frequency, ahead, sea.duration, step, band),
        Single(size[1], frequency, phase, sea.duration, step, band),
    )


def _irregular(storm: Storm, band: float) -> tuple[Channel, Channel]:
    sea = storm.sea
    grid = component_grid(sea)
    half = grid.parts // 2
    first = int(grid.place[half]) // grid.parts
    step = band / highest_encounter(sea)
    start = int(grid.place[0])
    made = []
    for amplitude, lag in ((grid.slope, 0.25), (grid.elevation, 0.0)):
        lines = Lines(grid.purpose, first, grid.parts, start, grid.frequency, amplitude, lag)
        if sea.speed == 0.0:
            made.append(_on_grid(lines, grid.place, grid.repeat, step, band))
        else:
            made.append(_off_grid(lines, sea.duration, step, band))
    return made[0], made[1]


def _on_grid(
    lines: Lines, place: NDArray[np.int64], repeat: float, longest: float, band: float
) -> Synthesis:
    """Lines that stand on an FFT's own frequencies, multiples of 2π / `repeat`."""
    from scipy.fft import next_fast_len

    length = int(next_fast_len(math.ceil(repeat / longest), real=True))
    step = repeat / length
    lead = lines.lag - lines.frequency * step * LEAD / math.tau
    one = np.ones((place.size, 1))
    return Synthesis(
        lines=lines,
        lead=lead - np.floor(lead),
        place=place[:, None],
        real=one,
        imag=one,
        length=length,
        offset=0,
        correction=np.ones(length),
        step=step,
        band=band,
    )


WIDTH = 8
"""Frequencies that a line off the FFT's grid is spread on, on a grid twice as fine as the run
needs: the value is then off by some 1e-7 of itself."""
SHAPE = 2.30 * WIDTH


def _off_grid(lines: Lines, duration: float, step: float, band: float) -> Synthesis:
    """Lines that stand anywhere, as with speed the encounter's do: a non-uniform FFT (type 1).

    Each line is spread with the kernel exp(β(√(1 − u²) − 1)) of Barnett, Magland and af Klinteberg
    (2019), and the rows are divided by its transform. The FFT's time starts in the middle of the
    run, where the kernel's transform is even; (−1)^m puts its rows in order.
    """
    from scipy.fft import next_fast_len

    rows = math.ceil(duration / step) + LEAD + REACH
    length = 2 * int(next_fast_len(rows, real=True))
    offset = (length - rows) // 2
    middle = (length // 2 - offset - LEAD) * step
    sign = np.where(lines.frequency < 0.0, -1.0, 1.0)
    bins = np.abs(lines.frequency) * length * step / math.tau
    place = np.ceil(bins - 0.5 * WIDTH).astype(np.int64)[:, None] + np.arange(WIDTH)
    weight = _kernel(place - bins[:, None]) * np.where(place % 2 == 0, 1.0, -1.0)
    # A negative frequency is the conjugate at the positive one; all but that at 0 count twice.
    real = np.where(place == 0, 2.0, 1.0) * weight
    imag = np.where(place == 0, 0.0, np.sign(place)) * weight * sign[:, None]
    lead = lines.lag + lines.frequency * middle / math.tau
    away: Floats = np.asarray((np.arange(rows) + offset - length // 2) * (math.tau / length))
    return Synthesis(
        lines=lines,
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
    """The spreading kernel at a distance in frequencies of the FFT, zero beyond WIDTH / 2."""
    inside = np.clip(1.0 - (2.0 * distance / WIDTH) ** 2, 0.0, None)
    return np.where(inside > 0.0, np.exp(SHAPE * (np.sqrt(inside) - 1.0)), 0.0)


def _kernel_transform(phase: Floats) -> Floats:
    """∫ kernel(u) cos(u phase) du, by Gauss's rule."""
    nodes, weights = np.polynomial.legendre.leggauss(60)
    half = 0.5 * WIDTH
    return np.asarray(
        np.cos(np.outer(phase, half * nodes)) @ (half * weights * _kernel(half * nodes))
    )
