"""Wave spectra: one form with a peak enhancement, normalised to the asked significant height."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from rollsim.compiled import compiled
from rollsim.constants import GRAVITY

PIERSON_MOSKOWITZ_ALPHA = 0.0081
"""Level of the tail of the fully developed sea (Pierson and Moskowitz 1964)."""

_SIGMA_BELOW = 0.07
_SIGMA_ABOVE = 0.09
# exp(-1.25 t^4) underflows to 0 at longer relative periods: no energy there in any sea.
_LONGEST = 5.0
_SPLITS = (0.5, 0.75, 1.0, 1.35, 2.0)


@compiled
def _weight(t: float, power: float, enhancement: float) -> float:
    """t^power times the exponentials of the form, at the relative period t = peak / frequency."""
    sigma = _SIGMA_BELOW if t >= 1.0 else _SIGMA_ABOVE
    bump = math.exp(-0.5 * ((1.0 / t - 1.0) / sigma) ** 2)
    return math.pow(t, power) * math.exp(-1.25 * t**4 + math.log(enhancement) * bump)


@compiled
def _fill_density(
    density: NDArray[np.float64], omega: NDArray[np.float64], peak: float, enhancement: float
) -> None:
    # A scalar loop: vectorised exponentials differ in the last bit between processors.
    for i in range(omega.size):
        within = omega[i] > peak / _LONGEST
        density[i] = _weight(peak / omega[i], 5.0, enhancement) if within else 0.0


@lru_cache(maxsize=256)
def _integral(n: float, shortest: float, longest: float, enhancement: float) -> float:
    """Integral of x^n times the form over x = 1/t, t from shortest to longest.

    In t the integrand t^(3 - n) exp(-1.25 t^4)... is smooth at t = 0, where the frequency has no
    end: the tail is integrated whole, not cut.
    """
    from scipy.integrate import quad

    if shortest >= longest:
        return 0.0
    splits = [t for t in _SPLITS if shortest < t < longest]
    value, _ = quad(
        _weight,
        shortest,
        longest,
        args=(3.0 - n, enhancement),
        points=splits or None,
        epsabs=1e-15,
        epsrel=1e-12,
    )
    return float(value)


def _whole(enhancement: float) -> float:
    """Integral of the form over all frequencies: 1/5 without enhancement."""
    return _integral(0.0, 0.0, _LONGEST, enhancement)


@dataclass(frozen=True)
class Spectrum:
    """One-sided spectrum of the wave elevation over the frequency [rad/s].

    S = c (Hs^2 / wp) x^-5 exp(-1.25 x^-4) γ^exp(-((x - 1)/σ)^2 / 2) with x = w / wp, σ = 0.07 up
    to the peak and 0.09 above it; c makes the integral of S exactly Hs^2 / 16. γ = 1 is the
    Bretschneider form (c = 5/16), γ > 1 the JONSWAP form (Hasselmann et al. 1973).
    """

    significant_height: float
    """Four times the standard deviation of the elevation [m]."""
    peak_frequency: float
    """Frequency of the greatest density [rad/s]."""
    peak_enhancement: float = 1.0
    """Factor γ by which the peak stands above the Bretschneider form's."""

    @property
    def variance(self) -> float:
        """Variance of the elevation [m2]."""
        return self.significant_height**2 / 16.0

    def density(self, omega: ArrayLike) -> NDArray[np.float64]:
        """Spectral density [m2 s] at the frequencies omega [rad/s]."""
        x = np.asarray(omega, dtype=np.float64)
        form = np.empty(x.size)
        _fill_density(form, x.ravel(), self.peak_frequency, self.peak_enhancement)
        scale = self.variance / (_whole(self.peak_enhancement) * self.peak_frequency)
        return form.reshape(x.shape) * scale

    def moment(self, n: float, below: float = math.inf) -> float:
        """Integral of w^n S [m2 (rad/s)^n] up to the frequency `below`: infinite from n = 4 on."""
        if n >= 4.0 and math.isinf(below):
            return math.inf
        part = _integral(n, self.peak_frequency / below, _LONGEST, self.peak_enhancement)
        share = part / _whole(self.peak_enhancement)
        return self.variance * math.pow(self.peak_frequency, n) * share


def variance_beyond(spectrum: Spectrum, omega_cut: float) -> float:
    """Share of the elevation's variance above the frequency omega_cut [rad/s]."""
    shortest = min(spectrum.peak_frequency / omega_cut, _LONGEST)
    beyond = _integral(0.0, 0.0, shortest, spectrum.peak_enhancement)
    return beyond / _whole(spectrum.peak_enhancement)


def _peak_frequency(
    peak_period: float | None, zero_crossing_period: float | None, peak_enhancement: float
) -> float:
    """Peak frequency [rad/s] from the one of the two periods [s] that is given."""
    if peak_period is not None and zero_crossing_period is None:
        return math.tau / peak_period
    if zero_crossing_period is not None and peak_period is None:
        unit = Spectrum(1.0, 1.0, peak_enhancement)
        return math.tau / (zero_crossing_period * math.sqrt(unit.moment(2.0) / unit.moment(0.0)))
    raise ValueError("give either the peak period or the zero-crossing period")


def bretschneider(
    significant_height: float,
    *,
    peak_period: float | None = None,
    zero_crossing_period: float | None = None,
) -> Spectrum:
    """Two-parameter spectrum of Bretschneider, by one of its two periods [s]."""
    peak = _peak_frequency(peak_period, zero_crossing_period, 1.0)
    return Spectrum(significant_height, peak)


def jonswap(
    significant_height: float,
    *,
    peak_period: float | None = None,
    zero_crossing_period: float | None = None,
    peak_enhancement: float = 3.3,
) -> Spectrum:
    """Spectrum of a growing sea, by one of its two periods [s] (Hasselmann et al. 1973)."""
    peak = _peak_frequency(peak_period, zero_crossing_period, peak_enhancement)
    return Spectrum(significant_height, peak, peak_enhancement)


def pierson_moskowitz(significant_height: float) -> Spectrum:
    """Spectrum of the fully developed sea, whose height fixes its period.

    The tail 0.0081 g^2 w^-5 (Pierson and Moskowitz 1964) with m0 = Hs^2 / 16 leaves
    wp^4 = (16/5) 0.0081 g^2 / Hs^2.
    """
    tail = PIERSON_MOSKOWITZ_ALPHA * GRAVITY**2
    return Spectrum(significant_height, math.pow(3.2 * tail / significant_height**2, 0.25))


SPECTRA: dict[str, Callable[..., Spectrum]] = {
    "bretschneider": bretschneider,
    "jonswap": jonswap,
    "pierson-moskowitz": pierson_moskowitz,
}
"""Factories by the name in a scenario file; keywords are the file's keys without their units."""
