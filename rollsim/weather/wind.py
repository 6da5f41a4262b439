"""Wind: the heeling moment of a speed on a windage, and gusts as factors on the speed."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from rollsim.constants import AIR_DENSITY
from rollsim.weather.draws import repeat_time

Array = NDArray[np.float64]


class Windage(NamedTuple):
    """Lateral area above water [m²] and its lever above the centre of lateral resistance [m]."""

    area: float
    lever: float


class Gust(NamedTuple):
    """A gust: the speed goes linearly to `factor` times in `rise` [s], holds, and returns."""

    at: float
    rise: float
    hold: float
    factor: float

    @property
    def corners(self) -> tuple[float, float, float, float]:
        """Times [s] at which the slope of the speed changes."""
        top = self.at + self.rise
        return self.at, top, top + self.hold, top + self.hold + self.rise

    def speed_factor(self, times: Array) -> Array:
        """Factor on the mean speed at `times` [s], away from a sudden corner."""
        start, top, release, end = self.corners
        passed = np.minimum(times - start, end - times)
        with np.errstate(divide="ignore", invalid="ignore"):  # where nothing rises it is not taken
            sloping = 1.0 + (self.factor - 1.0) * passed / self.rise
        blowing = np.where((times >= top) & (times < release), self.factor, sloping)
        return np.asarray(np.where((times >= start) & (times < end), blowing, 1.0))


def moment_per_speed_squared(windage: Windage, drag_coefficient: float) -> float:
    """½ ρ C_D A z [N m per (m/s)²]: times V² the heeling moment of a wind on the beam."""
    return 0.5 * AIR_DENSITY * drag_coefficient * windage.area * windage.lever


def speed_factor(gusts: tuple[Gust, ...], times: Array) -> Array:
    """Factor of all `gusts` (which do not overlap) on the mean speed at rising `times` [s]."""
    factor = np.ones(times.size)
    for gust in gusts:
        first, last = np.searchsorted(times, (gust.corners[0], gust.corners[-1]))
        factor[first:last] *= gust.speed_factor(times[first:last])
    return factor


@dataclass(frozen=True)
class Turbulence:
    """Turbulence of a mean wind: `variance` σ² [m²/s²] and `speed` [m/s] that fix its spectrum."""

    variance: float
    speed: float


def davenport(speed: float, surface_drag: float, intensity: float | None = None) -> Turbulence:
    """Davenport's spectrum, f S(f) = 4 κ V² X² / (1 + X²)^(4/3), X = 1200 f / V, f in Hz.

    Davenport 1961 (from memory; its integral 6 κ V² is exact). `intensity` σ/V in place of that
    variance.
    """
    own = 6.0 * surface_drag * speed**2
    return Turbulence(own if intensity is None else (intensity * speed) ** 2, speed)


TURBULENCE: dict[str, Callable[..., Turbulence]] = {"davenport": davenport}
"""Factories by the name in a scenario file."""

REACH = 1200.0
"""Davenport's length [m] in X = 1200 f / V."""
HIGHEST = 1.0
"""Frequency [Hz] up to which turbulence is made; no ship answers to faster gusts."""


def share_below(turbulence: Turbulence, frequency: Array) -> Array:
    """Share of the variance below a frequency [Hz]: 1 − (1 + X²)^(−1/3), by integration."""
    x = REACH * np.asarray(frequency, dtype=np.float64) / turbulence.speed
    return np.asarray(-np.expm1(-np.log1p(x * x) / 3.0))


class WindLines(NamedTuple):
    """Spectral lines of a turbulence before the draw: `place` times 2π/`repeat` [rad/s], [m/s].

    `left_out` is the share of the variance in faster gusts.
    """

    place: NDArray[np.int64]
    repeat: float
    amplitude: Array
    left_out: float = 0.0


def wind_lines(turbulence: Turbulence, duration: float) -> WindLines:
    """Lines for a run of `duration` [s], each with the whole variance of its cell.

    The gusts do not come round within the run.
    """
    repeat = float(repeat_time(duration))
    place = np.arange(1, math.floor(HIGHEST * repeat) + 1)
    edges = np.append(place - 0.5, place[-1] + 0.5) / repeat
    edges[0] = 0.0
    shares = np.diff(share_below(turbulence, edges))
    left_out = 1.0 - float(shares.sum())
    return WindLines(place, repeat, np.sqrt(2.0 * turbulence.variance * shares), left_out)
