"""Turbulent wind of one run: its lines summed, Gaussian, with no grid that comes round."""

from __future__ import annotations

import math

import numpy as np
import pytest
from forcing_samples import CALM, GALE, Floats
from scipy import stats

from rollsim.forcing.single import with_storm
from rollsim.forcing.storm import Storm
from rollsim.motion.coefficients import Coefficients
from rollsim.motion.moments import fluctuation
from rollsim.weather.draws import WIND, uniform_pairs
from rollsim.weather.sea import SeaState
from rollsim.weather.wind import Turbulence, davenport, wind_lines

SPEED = 20.0
GUSTY = davenport(SPEED, 0.003)


def calm_sea(duration: float) -> SeaState:
    return GALE.__class__(None, 84.0, 14.0, 5.2, 14.0, duration)


def blown(
    realisation: int, duration: float, turbulence: Turbulence = GUSTY, factor: float = 1.0
) -> Coefficients:
    storm = Storm(calm_sea(duration), wind=wind_lines(turbulence, duration))
    return with_storm(CALM, storm, 7, realisation, (1.0, factor))


def by_sum(realisation: int, duration: float, times: Floats) -> Floats:
    """u(t) = Σ a R cos(ω t + 2π θ), R and θ by their own draws of the purpose WIND."""
    lines = wind_lines(GUSTY, duration)
    size, turns = uniform_pairs(7, realisation, WIND, int(lines.place[0]), lines.place.size)
    angle = np.outer(times, lines.place * (math.tau / lines.repeat)) + math.tau * turns
    return np.asarray(np.cos(angle) @ (lines.amplitude * np.sqrt(-np.log(size))))


def test_the_grid_is_the_sum_of_its_lines() -> None:
    duration = 300.0
    c = blown(2, duration)
    times = np.concatenate((np.random.default_rng(1).uniform(0.0, duration, 300), [0.0, duration]))
    found = np.array([fluctuation(time, c) for time in times])
    assert found == pytest.approx(by_sum(2, duration, times), abs=1e-6)


def test_the_factor_is_kept_apart_from_the_gusts() -> None:
    """It multiplies V(t) as a whole, so it may not stand in the fluctuation as well."""
    plain, strong = blown(2, 300.0), blown(2, 300.0, factor=1.3)
    assert (plain.wind_factor, strong.wind_factor) == (1.0, 1.3)
    assert np.array_equal(plain.wind_grid, strong.wind_grid)


def test_without_turbulence_nothing_fluctuates() -> None:
    c = with_storm(CALM, Storm(calm_sea(300.0)), 7, 2, (1.0, 1.0))
    assert c.wind_grid.size == 0
    assert fluctuation(12.0, c) == 0.0


def test_runs_differ_and_belong_to_their_realisation() -> None:
    one, other = blown(2, 300.0).wind_grid, blown(3, 300.0).wind_grid
    assert np.array_equal(one, blown(2, 300.0).wind_grid)
    assert abs(np.corrcoef(one[:, 0], other[:, 0])[0, 1]) < 0.5


def test_gusts_are_gaussian_of_the_spectrum_s_variance() -> None:
    """One value a run from each of 1500 runs: independent, Gaussian, of zero mean.

    Of the whole variance 6 κ V² only what lies above 1 Hz is missing, (1 + 60²)^(−1/3) = 6.5 %.
    """
    duration, count = 30.0, 1500
    values = np.array([by_sum(run, duration, np.array([17.0]))[0] for run in range(count)])
    left_out = (1.0 + (1200.0 / SPEED) ** 2) ** (-1.0 / 3.0)
    lines = wind_lines(GUSTY, duration)
    made = 0.5 * float(np.sum(lines.amplitude**2))
    assert made == pytest.approx(6.0 * 0.003 * SPEED**2 * (1.0 - left_out), rel=1e-3)
    scaled = values / math.sqrt(made)
    assert stats.kstest(scaled, "norm").pvalue > 0.01
    assert abs(np.mean(scaled)) < 3.0 / math.sqrt(count)
    assert np.var(scaled) == pytest.approx(1.0, abs=3.0 * math.sqrt(2.0 / count))


@pytest.mark.parametrize("duration", [60.0, 600.0, 3600.0])
def test_the_wind_does_not_come_round_within_a_run(duration: float) -> None:
    """The lines' autocorrelation Σ a² cos ωτ / Σ a² is that of the spectrum at every lag.

    Davenport's, by integration of its spectrum up to 1 Hz, with τ in s: ∫ S cos 2πfτ df. A grid
    that came round would be at 1 again.
    """
    lines = wind_lines(GUSTY, duration)
    lags = np.linspace(0.0, duration, 60)
    omega = lines.place * (math.tau / lines.repeat)
    power = lines.amplitude**2 / np.sum(lines.amplitude**2)
    found = np.cos(np.outer(lags, omega)) @ power
    f = np.concatenate(([0.0], np.geomspace(1e-7, 1.0, 20001)))
    x2 = (1200.0 * f / SPEED) ** 2
    with np.errstate(invalid="ignore", divide="ignore"):
        density = np.where(f > 0.0, 4.0 * 0.003 * SPEED**2 * x2 / f / (1 + x2) ** (4 / 3), 0.0)
    fine = np.linspace(0.0, 1.0, 400001)
    even = np.interp(fine, f, density)
    even /= np.sum(even)
    exact = np.array([float(np.cos(math.tau * lag * fine) @ even) for lag in lags])
    print(f"{duration:g} s: greatest difference {np.max(np.abs(found - exact)):.4f}")
    assert np.max(np.abs(found - exact)) < 0.03
