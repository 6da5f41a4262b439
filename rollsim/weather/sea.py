"""Waves at the ship: encounter, effective slope, and the components of one storm.

Heading is measured from the bow to where the waves travel, positive to starboard: 0 following,
a quarter turn from port. At the ship ζ = Σ elevation cos(frequency t + phase) and the effective
slope α = -Σ slope sin(frequency t + phase), positive where the surface falls to starboard, so
that a ship that follows the surface heels by α.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from rollsim.compiled import compiled
from rollsim.constants import GRAVITY
from rollsim.weather.draws import WAVE_PARTS, WAVES, WHITE, repeat_time, uniform_pairs
from rollsim.weather.effective import ALIGNED, effective_elevations, section_coefficients
from rollsim.weather.spectra import Spectrum, variance_beyond
from rollsim.weather.white import WhiteSlope

Array = NDArray[np.float64]

_NEGLIGIBLE = 1e-12


class Components(NamedTuple):
    """Waves of one storm as the ship meets them, one array entry each."""

    frequency: Array
    """Encounter frequency [rad/s], negative where the ship overtakes the wave."""
    elevation: Array
    """Amplitude of the effective elevation amidships [m], signed."""
    slope: Array
    """Amplitude of the effective slope [rad], negative for waves to port."""
    phase: Array
    """Phase [rad] at t = 0."""


@dataclass(frozen=True)
class RegularWave:
    """One wave for ever: height crest to trough [m], period [s], phase [rad]."""

    height: float
    period: float
    phase: float = 0.0


@dataclass(frozen=True)
class SeaState:
    """What the waves are and how the ship meets them; `waves` None is a calm."""

    waves: Spectrum | RegularWave | WhiteSlope | None
    length: float
    """Length of the ship [m], for slope coefficient and effective elevation."""
    beam: float
    """Beam of the section [m], for the slope coefficient."""
    draught: float
    """Draught of the section [m], for the slope coefficient."""
    shortest_wave: float
    """Length [m] of the shortest wave of an irregular sea that is kept."""
    duration: float
    """Length of the run [s]: the sea does not repeat within it."""
    heading: float = 0.5 * math.pi
    speed: float = 0.0
    """Ship speed [m/s]."""
    slope_coefficient: float | None = None
    """Effective over wave slope, the same for every wave; None: of the equivalent section."""


def _snapped(value: float) -> float:
    """A sine or cosine without noise about 0, so that a sea from abeam is exactly abeam."""
    return 0.0 if abs(value) < ALIGNED else value


def encounter_frequency(omega: Array, speed: float, heading: float) -> Array:
    """Encounter frequency w - w^2 U cos χ / g [rad/s], negative where the ship overtakes."""
    return omega - omega**2 * (speed * _snapped(math.cos(heading)) / GRAVITY)


@compiled
def _rayleigh(uniform: Array) -> Array:
    """Rayleigh numbers of mean square 1 from uniform numbers in (0, 1]."""
    result = np.empty(uniform.size)
    for i in range(uniform.size):
        result[i] = math.sqrt(-math.log(uniform[i]))
    return result


def slope_coefficients(sea: SeaState, omega: Array) -> Array:
    """Effective over wave slope for waves of the frequencies omega [rad/s]."""
    if sea.slope_coefficient is None:
        return section_coefficients(omega, sea.length, sea.beam, sea.draught, sea.heading)
    return np.full_like(omega, sea.slope_coefficient)


def cut_frequency(sea: SeaState) -> float:
    """Frequency [rad/s] of the shortest wave that is kept."""
    return math.sqrt(math.tau * GRAVITY / sea.shortest_wave)


def variance_left_out(sea: SeaState) -> float:
    """Share of the elevation's variance in waves shorter than the shortest that is kept."""
    if not isinstance(sea.waves, Spectrum):
        return 0.0
    return variance_beyond(sea.waves, cut_frequency(sea))


def _indices(spectrum: Spectrum, spacing: float, cut: float) -> NDArray[np.int64]:
    """Indices of the components, multiples of the spacing, that carry anything."""
    index = np.arange(1, math.floor(cut / spacing) + 1)
    peak = spectrum.density(spectrum.peak_frequency)
    return index[spectrum.density(index * spacing) > _NEGLIGIBLE * peak]


class ComponentGrid(NamedTuple):
    """What all realisations of an irregular sea share, by component.

    Component i is the multiple `place[i]` of the spacing 2π / (`repeat` · `parts`) [rad/s];
    `elevation` [m] and `slope` [rad] are effective amplitudes before the draw of mean square 1.
    `parts` components at a time, all of one multiple of 2π / `repeat`, share that one's draw, of
    the stream `purpose`.
    """

    place: NDArray[np.int64]
    repeat: float
    parts: int
    frequency: Array
    elevation: Array
    slope: Array
    purpose: int = WAVES


@lru_cache(maxsize=16)
def component_grid(sea: SeaState) -> ComponentGrid:
    """The components of a random sea before anything is drawn; its arrays are never changed."""
    grid = _white(sea, sea.waves) if isinstance(sea.waves, WhiteSlope) else _irregular(sea)
    for array in (grid.place, grid.frequency, grid.elevation, grid.slope):
        array.setflags(write=False)
    return grid


def _white(sea: SeaState, white: WhiteSlope) -> ComponentGrid:
    """The same slope amplitude at every frequency up to the band, and no elevation."""
    repeat = float(repeat_time(sea.duration))
    spacing = math.tau / repeat
    place = np.arange(1, math.floor(white.band / spacing) + 1)
    slope = np.full(place.size, math.sqrt(2.0 * white.density * spacing))
    frequency: Array = np.asarray(place * spacing)
    return ComponentGrid(place, repeat, 1, frequency, np.zeros(place.size), slope, WHITE)


def _irregular(sea: SeaState) -> ComponentGrid:
    assert isinstance(sea.waves, Spectrum)
    repeat, parts = float(repeat_time(sea.duration)), parts_of(sea)
    spacing = math.tau / repeat
    whole = _indices(sea.waves, spacing, cut_frequency(sea))
    half = parts // 2
    place = (whole[:, None] * parts + np.arange(-half, half + 1)).ravel()
    omega: Array = np.asarray(place * (spacing / parts))
    amplitude = np.sqrt(2.0 * spacing / parts * sea.waves.density(omega))
    return ComponentGrid(
        place,
        repeat,
        parts,
        encounter_frequency(omega, sea.speed, sea.heading),
        effective_elevations(omega, sea.length, sea.heading) * amplitude,
        _slope(sea, omega) * amplitude,
    )


def parts_of(sea: SeaState) -> int:
    """Into how many components, an odd number, each multiple of the grid is parted.

    Where she meets the waves faster than they come, neighbouring frequencies of encounter lie
    further apart than those of the waves, and the sea at the ship would come round within a run.
    """
    along = sea.speed * _snapped(math.cos(sea.heading))
    spread = max(1.0, abs(1.0 - 2.0 * cut_frequency(sea) * along / GRAVITY))
    needed = math.ceil(spread * sea.duration / repeat_time(sea.duration) - 1e-9)
    return max(1, needed + 1 - needed % 2)


def _slope(sea: SeaState, omega: Array) -> Array:
    """Effective slope amplitude for a wave amplitude of one metre [rad/m], signed."""
    across = _snapped(math.sin(sea.heading))
    return slope_coefficients(sea, omega) * omega**2 / GRAVITY * across


def highest_encounter(sea: SeaState) -> float:
    """A bound on the encounter frequencies [rad/s] regardless of sign; 0 in a calm.

    That of the shortest wave that is kept, or of the one at which they turn in a following sea.
    """
    if sea.waves is None:
        return 0.0
    if isinstance(sea.waves, WhiteSlope):
        return sea.waves.band
    if isinstance(sea.waves, RegularWave):
        omega = np.array([math.tau / sea.waves.period])
    else:
        cut, along = cut_frequency(sea), sea.speed * math.cos(sea.heading)
        turn = 0.5 * GRAVITY / along if along > 0.0 else cut
        omega = np.array([cut, min(turn, cut)])
    return float(np.abs(encounter_frequency(omega, sea.speed, sea.heading)).max())


def realise(sea: SeaState, seed: int, realisation: int) -> Components:
    """Components of one storm: Rayleigh amplitudes and random phases on a grid of frequencies.

    A component's draws belong to its index on the grid: the same storm meets every case.
    """
    if sea.waves is None:
        return Components(np.empty(0), np.empty(0), np.empty(0), np.empty(0))
    if isinstance(sea.waves, RegularWave):
        wave = sea.waves
        omega = np.array([math.tau / wave.period])
        height = np.array([0.5 * wave.height])
        frequency = encounter_frequency(omega, sea.speed, sea.heading)
        effective = effective_elevations(omega, sea.length, sea.heading) * height
        return Components(frequency, effective, _slope(sea, omega) * height, np.array([wave.phase]))
    grid = component_grid(sea)
    size, phase = drawn(grid, seed, realisation)
    return Components(grid.frequency, grid.elevation * size, grid.slope * size, phase)


def drawn(grid: ComponentGrid, seed: int, realisation: int) -> tuple[Array, Array]:
    """Size, of mean square 1, and phase [rad] of every component of one storm.

    A multiple of the grid that is parted hands its draw on: the parts are independent, and their
    sum over √parts is the draw of the whole, so that refined seas are the same storm.
    """
    first = int(grid.place[grid.parts // 2]) // grid.parts if grid.place.size else 0
    count = grid.place.size // grid.parts
    uniform, turns = uniform_pairs(seed, realisation, grid.purpose, first, count)
    if grid.parts == 1:
        return _rayleigh(uniform), math.tau * turns
    whole = _rayleigh(uniform) * np.exp(1j * math.tau * turns)
    start = int(grid.place[0])
    uniform, turns = uniform_pairs(seed, realisation, WAVE_PARTS, start, grid.place.size)
    parts = (_rayleigh(uniform) * np.exp(1j * math.tau * turns)).reshape(count, grid.parts)
    parts += (whole / math.sqrt(grid.parts) - parts.mean(axis=1))[:, None]
    return np.abs(parts).ravel(), np.angle(parts).ravel()


def highest_frequency(components: Components) -> float:
    """Greatest encounter frequency [rad/s] regardless of sign: it bounds the grid's step."""
    return float(np.abs(components.frequency).max(initial=0.0))
