"""Waves at the ship: encounter, effective slope, and the components of one storm.

Heading is measured from the bow to where the waves travel, positive to starboard: 0 following,
a quarter turn from port. At the ship ζ = Σ elevation cos(frequency t + phase) and the effective
slope α = -Σ slope sin(frequency t + phase), positive where the surface falls to starboard, so
that a ship that follows the surface heels by α.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from rollsim.compiled import compiled
from rollsim.constants import GRAVITY
from rollsim.weather.draws import WAVES, uniform_pairs
from rollsim.weather.spectra import Spectrum, variance_beyond

Array = NDArray[np.float64]

_NEGLIGIBLE = 1e-12


class Components(NamedTuple):
    """Waves of one storm as the ship meets them, one array entry each."""

    frequency: Array
    """Encounter frequency [rad/s], negative where the ship overtakes the wave."""
    elevation: Array
    """Amplitude of the elevation [m]."""
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

    waves: Spectrum | RegularWave | None
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
    """`value` without rounding noise about 0, so that a sea from abeam is exactly abeam."""
    return 0.0 if abs(value) < 1e-15 else value


def encounter_frequency(omega: Array, speed: float, heading: float) -> Array:
    """Encounter frequency w - w^2 U cos χ / g [rad/s], negative where the ship overtakes."""
    return omega - omega**2 * (speed * _snapped(math.cos(heading)) / GRAVITY)


def wave_frequencies(omega_e: float, speed: float, heading: float) -> Array:
    """Frequencies [rad/s], rising, of the one or three waves met at |encounter| omega_e > 0.

    Three where the ship runs with the waves and omega_e is under g / (4 U cos χ): one long wave
    that overtakes her, one shorter that does too, and one that she overtakes.
    """
    along = speed * _snapped(math.cos(heading))
    rest = 1.0 - 4.0 * along * omega_e / GRAVITY
    # The smaller root in the form that has no difference of near equals and holds at no speed.
    waves = [2.0 * omega_e / (1.0 + math.sqrt(rest))] if rest >= 0.0 else []
    if along > 0.0:
        turn = 0.5 * GRAVITY / along
        if rest >= 0.0:
            waves.append(turn * (1.0 + math.sqrt(rest)))
        waves.append(turn * (1.0 + math.sqrt(2.0 - rest)))
    return np.array(waves)


@compiled
def section_coefficient(omega: float, beam: float, draught: float, heading: float) -> float:
    """Effective over wave slope for the equivalent rectangle as gravity feels it.

    (sin u / u) (1 - e^(-κd)) / (κd), u = κ |sin χ| B / 2, κ = w^2 / g: the pressure of the
    undisturbed wave on a rectangle of beam B and draught d, the part that needs no GM (formula
    for the effective wave slope in MSC.1/Circ.1627, from memory).
    """
    number = omega * omega / GRAVITY
    u = 0.5 * number * abs(math.sin(heading)) * beam
    depth = number * draught
    across = math.sin(u) / u if u > 0.0 else 1.0
    return across * (-math.expm1(-depth) / depth if depth > 0.0 else 1.0)


@compiled
def _section_coefficients(omega: Array, beam: float, draught: float, heading: float) -> Array:
    result = np.empty_like(omega)
    for i in range(omega.size):
        result[i] = section_coefficient(omega[i], beam, draught, heading)
    return result


@compiled
def _rayleigh(uniform: Array) -> Array:
    """Rayleigh numbers of mean square 1 from uniform numbers in (0, 1]."""
    result = np.empty_like(uniform)
    for i in range(uniform.size):
        result[i] = math.sqrt(-math.log(uniform[i]))
    return result


def slope_coefficients(sea: SeaState, omega: Array) -> Array:
    """Effective over wave slope for waves of the frequencies omega [rad/s]."""
    if sea.slope_coefficient is None:
        return _section_coefficients(omega, sea.beam, sea.draught, sea.heading)
    return np.full_like(omega, sea.slope_coefficient)


def cut_frequency(sea: SeaState) -> float:
    """Frequency [rad/s] of the shortest wave that is kept."""
    return math.sqrt(math.tau * GRAVITY / sea.shortest_wave)


def variance_left_out(sea: SeaState) -> float:
    """Share of the elevation's variance in waves shorter than the shortest that is kept."""
    if not isinstance(sea.waves, Spectrum):
        return 0.0
    return variance_beyond(sea.waves, cut_frequency(sea))


def repeat_time(duration: float) -> int:
    """Time [s] after which a sea for a run of `duration` repeats at a fixed place.

    Longer than the run and the same whatever the case, so that all cases share the storm.
    """
    from scipy.fft import next_fast_len

    return int(next_fast_len(math.ceil(duration + 300.0)))


def _indices(spectrum: Spectrum, spacing: float, cut: float) -> NDArray[np.int64]:
    """Indices of the components, multiples of the spacing, that carry anything."""
    index = np.arange(1, math.floor(cut / spacing) + 1)
    peak = spectrum.density(spectrum.peak_frequency)
    return index[spectrum.density(index * spacing) > _NEGLIGIBLE * peak]


class ComponentGrid(NamedTuple):
    """What all realisations of an irregular sea share, by component.

    Component i is the multiple `place[i]`, from `first` on, of the spacing 2π / `repeat` [rad/s];
    `elevation` [m] and `slope` [rad] are amplitudes before the draw of mean square 1.
    """

    first: int
    place: NDArray[np.int64]
    repeat: float
    frequency: Array
    elevation: Array
    slope: Array


def component_grid(sea: SeaState) -> ComponentGrid:
    """The components of an irregular sea before anything is drawn."""
    assert isinstance(sea.waves, Spectrum)
    repeat = float(repeat_time(sea.duration))
    spacing = math.tau / repeat
    index = _indices(sea.waves, spacing, cut_frequency(sea))
    omega: Array = np.asarray(index * spacing)
    elevation: Array = np.sqrt(2.0 * spacing * sea.waves.density(omega))
    first = int(index[0]) if index.size else 0
    frequency = encounter_frequency(omega, sea.speed, sea.heading)
    return ComponentGrid(first, index, repeat, frequency, elevation, _slope(sea, omega) * elevation)


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
        return Components(frequency, height, _slope(sea, omega) * height, np.array([wave.phase]))
    grid = component_grid(sea)
    size, turns = uniform_pairs(seed, realisation, WAVES, grid.first, grid.place.size)
    drawn = _rayleigh(size)
    return Components(grid.frequency, grid.elevation * drawn, grid.slope * drawn, math.tau * turns)


def highest_frequency(components: Components) -> float:
    """Greatest encounter frequency [rad/s] regardless of sign: it bounds the grid's step."""
    return float(np.abs(components.frequency).max(initial=0.0))
