"""Spectra against closed forms, published constants and a public oceanographic library.

"Exact" figures are the closed forms' or integrals computed apart from this code.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import integrate
from wavespectra.construct.frequency import jonswap as library_jonswap
from wavespectra.construct.frequency import pierson_moskowitz as library_pierson_moskowitz

from rollsim.constants import GRAVITY
from rollsim.weather.spectra import (
    SPECTRA,
    Spectrum,
    bretschneider,
    jonswap,
    pierson_moskowitz,
    variance_beyond,
)

heights = st.floats(0.1, 20.0)
periods = st.floats(2.0, 25.0)
enhancements = st.floats(1.0, 7.0)

# Exact integrals of the JONSWAP form: γ, 5 m0 over the Bretschneider form's m0 inverted (A_γ),
# Tz/Tp, T1/Tp, Te/Tp.
EXACT = [
    (1.0, 1.0, 0.7103707, 0.7717715, 0.8572225),
    (1.5, 0.8865358285, 0.7304362, 0.7912314, 0.8723408),
    (2.0, 0.8028101767, 0.7464361, 0.8062956, 0.8835391),
    (3.3, 0.6557598031, 0.7773992, 0.8343280, 0.9032959),
    (5.0, 0.5380898643, 0.8052858, 0.8583441, 0.9191932),
    (7.0, 0.4494040202, 0.8284977, 0.8774750, 0.9312344),
]


@pytest.mark.parametrize(("gamma", "level", "crossing", "mean", "energy"), EXACT)
def test_enhanced_form(
    gamma: float, level: float, crossing: float, mean: float, energy: float
) -> None:
    sea = jonswap(4.0, peak_period=10.0, peak_enhancement=gamma)
    m0 = sea.moment(0)
    assert 4.0 * math.sqrt(m0) == pytest.approx(4.0, rel=1e-12)
    ratio = math.tau / 10.0
    assert math.sqrt(m0 / sea.moment(2)) * ratio == pytest.approx(crossing, abs=1e-7)
    assert m0 / sea.moment(1) * ratio == pytest.approx(mean, abs=1e-7)
    assert sea.moment(-1) / m0 * ratio == pytest.approx(energy, abs=1e-7)
    at_peak = 5.0 / 16.0 * 16.0 / sea.peak_frequency * level * gamma * math.exp(-1.25)
    assert sea.density(sea.peak_frequency) == pytest.approx(at_peak, rel=1e-9)


@settings(deadline=None)
@given(heights, periods, st.floats(0.05, 4.0))
def test_bretschneider_formula(height: float, period: float, x: float) -> None:
    # The two-parameter form by the zero-crossing period, as the class rules print it.
    sea = bretschneider(height, zero_crossing_period=period)
    b = (math.tau / period) ** 4 / math.pi
    omega = x * math.tau / period
    density = 0.25 * height**2 * b * omega**-5 * math.exp(-b * omega**-4)
    assert sea.density(omega) == pytest.approx(density, rel=1e-11, abs=1e-300)


def test_bretschneider_constants() -> None:
    # Exact: B Tz^4 = 16 π^3, T1/Tz = 1.086435; the ITTC prints 173 and 691 (from memory) for
    # A T1^4 / Hs^2 and B T1^4.
    sea = bretschneider(1.0, zero_crossing_period=1.0)
    b = 1.25 * sea.peak_frequency**4
    assert b == pytest.approx(16.0 * math.pi**3, rel=1e-11)
    mean_period = math.tau * sea.moment(0) / sea.moment(1)
    assert mean_period == pytest.approx(1.086435, abs=5e-7)
    assert b * mean_period**4 == pytest.approx(691.1690642546414, rel=1e-10)
    assert 0.25 * b * mean_period**4 == pytest.approx(172.79226606366035, rel=1e-10)


@settings(deadline=None)
@given(heights, periods, st.sampled_from([-1, 0, 1, 2, 3]))
def test_bretschneider_moments(height: float, period: float, n: int) -> None:
    # Closed form: m_n = (A/4) B^(n/4 - 1) Γ(1 - n/4).
    sea = bretschneider(height, peak_period=period)
    b = 1.25 * (math.tau / period) ** 4
    exact = height**2 / 16.0 * b ** (n / 4.0) * math.gamma(1.0 - n / 4.0)
    assert sea.moment(n) == pytest.approx(exact, rel=1e-10)


def test_fourth_moment_has_no_end() -> None:
    # The tail w^-5 makes it grow as the logarithm of the cut.
    sea = jonswap(3.0, peak_period=9.0)
    assert sea.moment(4) == math.inf
    growth = sea.moment(4, below=40.0) - sea.moment(4, below=20.0)
    tail = float(sea.density(1e3)) * 1e15
    assert growth == pytest.approx(tail * math.log(2.0), rel=1e-4)


@settings(deadline=None)
@given(enhancements, periods, st.floats(0.6, 6.0))
def test_moment_below_a_cut(gamma: float, period: float, x: float) -> None:
    sea = jonswap(5.0, peak_period=period, peak_enhancement=gamma)
    cut = x * sea.peak_frequency
    grid = np.linspace(0.0, cut, 20001)[1:]
    for n in (0, 2):
        rough = integrate.simpson(grid**n * sea.density(grid), x=grid)
        assert sea.moment(n, below=cut) == pytest.approx(rough, rel=2e-5)
    left = variance_beyond(sea, cut)
    assert sea.moment(0, below=cut) + left * sea.variance == pytest.approx(sea.variance, rel=1e-11)


@settings(deadline=None)
@given(periods, st.floats(0.25, 50.0))
def test_variance_beyond_bretschneider(period: float, x: float) -> None:
    # Closed form 1 - exp(-1.25 (wp/w)^4); it keeps its digits where hardly anything is left.
    sea = bretschneider(2.0, peak_period=period)
    exact = -math.expm1(-1.25 * x**-4)
    assert variance_beyond(sea, x * sea.peak_frequency) == pytest.approx(exact, rel=1e-9)


def test_nothing_below_the_longest_wave() -> None:
    sea = jonswap(2.0, peak_period=10.0)
    low = np.array([0.0, 1e-300, 0.1 * sea.peak_frequency])
    assert np.array_equal(sea.density(low), np.zeros(3))
    assert variance_beyond(sea, 0.1 * sea.peak_frequency) == pytest.approx(1.0, rel=1e-12)
    assert sea.moment(0, below=0.1 * sea.peak_frequency) == 0.0


def test_fully_developed_sea() -> None:
    # Pierson and Moskowitz 1964: 0.0081 g^2 w^-5 exp(-0.74 (g / U w)^4), U at 19.5 m. At 15 m/s
    # exact: Hs 4.801 m, Tp 10.956 s.
    wind = 15.0
    sea = pierson_moskowitz(2.0 * wind**2 / GRAVITY * math.sqrt(0.0081 / 0.74))
    assert sea.significant_height == pytest.approx(4.801, abs=5e-4)
    assert math.tau / sea.peak_frequency == pytest.approx(10.956, abs=5e-4)
    omega = np.linspace(0.3, 3.0, 50)
    published = 0.0081 * GRAVITY**2 * omega**-5 * np.exp(-0.74 * (GRAVITY / (wind * omega)) ** 4)
    assert sea.density(omega) == pytest.approx(published, rel=1e-12)


@pytest.mark.parametrize("gamma", [1.0, 2.0, 3.3, 7.0])
def test_against_public_library(gamma: float) -> None:
    # wavespectra scales by a sum over its own frequencies, here to 20 times the peak.
    hertz = np.arange(0.005, 2.0, 0.0005)
    sea = jonswap(4.0, peak_period=10.0, peak_enhancement=gamma)
    theirs = library_jonswap(freq=hertz, fp=0.1, gamma=gamma, hs=4.0).values
    ours = sea.density(math.tau * hertz) * math.tau
    assert ours == pytest.approx(theirs, rel=5e-5)


def test_fully_developed_sea_against_public_library() -> None:
    hertz = np.arange(0.03, 1.0, 0.001)
    sea = pierson_moskowitz(6.0)
    peak = sea.peak_frequency / math.tau
    theirs = library_pierson_moskowitz(freq=hertz, fp=peak).values
    ours = sea.density(math.tau * hertz) * math.tau
    # Its g is 9.81 or near.
    assert ours == pytest.approx(theirs, rel=1e-3)


@settings(deadline=None)
@given(heights, periods, enhancements)
def test_periods_agree(height: float, period: float, gamma: float) -> None:
    sea = jonswap(height, zero_crossing_period=period, peak_enhancement=gamma)
    assert math.tau * math.sqrt(sea.moment(0) / sea.moment(2)) == pytest.approx(period, rel=1e-10)
    peak_period = math.tau / sea.peak_frequency
    same = jonswap(height, peak_period=peak_period, peak_enhancement=gamma)
    assert same.peak_frequency == pytest.approx(sea.peak_frequency, rel=1e-14)


@settings(deadline=None)
@given(heights, periods, enhancements)
def test_peak_is_the_peak(height: float, period: float, gamma: float) -> None:
    sea = jonswap(height, peak_period=period, peak_enhancement=gamma)
    around = sea.density(np.linspace(0.5, 2.0, 301) * sea.peak_frequency)
    assert around.max() == pytest.approx(float(sea.density(sea.peak_frequency)), rel=1e-12)


@pytest.mark.parametrize("given_periods", [{}, {"peak_period": 9.0, "zero_crossing_period": 7.0}])
def test_one_period_is_needed(given_periods: dict[str, float]) -> None:
    with pytest.raises(ValueError, match="either the peak period or the zero-crossing period"):
        jonswap(3.0, **given_periods)


def test_registry() -> None:
    assert SPECTRA["bretschneider"](3.0, peak_period=8.0) == Spectrum(3.0, math.tau / 8.0, 1.0)
    assert SPECTRA["jonswap"](3.0, peak_period=8.0) == Spectrum(3.0, math.tau / 8.0, 3.3)
    assert SPECTRA["pierson-moskowitz"](3.0) == pierson_moskowitz(3.0)
