"""The waves that a ship under way meets: no sea that comes round within a run, and the same storm.

Where she meets the waves faster than they come, frequencies of encounter lie further apart than
those of the waves; each multiple of the grid is then parted.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import stats
from weather_samples import GALE, Floats

from rollsim.constants import GRAVITY
from rollsim.weather.draws import WAVES, uniform_pairs
from rollsim.weather.effective import section_coefficient
from rollsim.weather.sea import (
    ComponentGrid,
    SeaState,
    component_grid,
    cut_frequency,
    drawn,
    parts_of,
    realise,
)
from rollsim.weather.spectra import Spectrum, jonswap

FAST = replace(GALE, heading=math.radians(150.0), speed=12.0)


def autocorrelation(frequency: Floats, amplitude: Floats, lags: Floats) -> Floats:
    """Σ a² cos ω_e τ / Σ a²: that of the sea at the ship over all storms."""
    power = amplitude**2 / np.sum(amplitude**2)
    return np.asarray(np.cos(np.outer(lags, frequency)) @ power)


def true_autocorrelation(sea: SeaState, lags: Floats) -> Floats:
    """The same of the slope by the spectrum itself, on a grid fifty times finer, made here."""
    assert isinstance(sea.waves, Spectrum)
    omega = np.arange(0.5, 60000.0) / 60000.0 * cut_frequency(sea)
    r = np.array([section_coefficient(w, 84.0, 14.0, 5.2, sea.heading) for w in omega])
    power = (r * omega**2) ** 2 * sea.waves.density(omega)
    met = omega - omega**2 * sea.speed * math.cos(sea.heading) / GRAVITY
    return autocorrelation(met, np.sqrt(power), lags)


@pytest.mark.parametrize("speed", [6.0, 12.0])
@pytest.mark.parametrize("heading_deg", [135.0, 160.0, 180.0])
@pytest.mark.parametrize("duration", [600.0, 1800.0, 3600.0])
def test_a_bow_sea_does_not_come_round_within_a_run(
    speed: float, heading_deg: float, duration: float
) -> None:
    """From a minute and a half on the autocorrelation is nothing, of slope and elevation alike.

    On a grid without parts it is up to 0.195 where the true sea has 0.
    """
    sea = replace(GALE, speed=speed, heading=math.radians(heading_deg), duration=duration)
    grid = component_grid(sea)
    lags = np.arange(90.0, duration + 0.1, 1.3)
    for amplitude in (grid.slope, grid.elevation):
        if amplitude.any():
            found = autocorrelation(grid.frequency, amplitude, lags)
            assert np.max(np.abs(found)) < 2e-3


@pytest.mark.parametrize(
    "sea",
    [
        FAST,
        replace(FAST, waves=jonswap(6.0, peak_period=11.0)),
        replace(GALE, heading=math.radians(30.0), speed=12.0),
        replace(GALE, heading=math.radians(60.0), speed=6.0),
    ],
    ids=["bow", "narrow", "following", "quartering"],
)
def test_the_autocorrelation_is_the_spectrum_s_own(sea: SeaState) -> None:
    """Also where she runs with the waves, and many share one frequency of encounter."""
    grid, lags = component_grid(sea), np.arange(0.0, sea.duration, 2.7)
    found = autocorrelation(grid.frequency, grid.slope, lags)
    assert np.max(np.abs(found - true_autocorrelation(sea, lags))) < 0.02


def test_without_speed_nothing_is_parted() -> None:
    for heading in (0.0, 1.0, math.pi):
        assert parts_of(replace(GALE, heading=heading)) == 1
    assert parts_of(replace(FAST, heading=0.5 * math.pi)) == 1
    assert parts_of(FAST) == 5
    grid = component_grid(FAST)
    assert grid.place.size % 5 == 0
    assert np.array_equal(np.diff(grid.place), np.ones(grid.place.size - 1))


def as_complex(grid: ComponentGrid, realisation: int) -> NDArray[np.complex128]:
    size, phase = drawn(grid, 9, realisation)
    return np.asarray(size * np.exp(1j * phase)).reshape(-1, grid.parts)


def test_the_parts_together_are_the_whole_s_draw() -> None:
    """Their sum over √parts is what the same storm draws at that frequency for every other ship."""
    grid, whole = component_grid(FAST), component_grid(replace(FAST, speed=0.0))
    one = as_complex(whole, 4)[:, 0]
    assert np.array_equal(whole.place, grid.place[grid.parts // 2 :: grid.parts] // grid.parts)
    together = as_complex(grid, 4).sum(axis=1) / math.sqrt(grid.parts)
    assert together == pytest.approx(one, abs=1e-12)
    size, turns = uniform_pairs(9, 4, WAVES, int(whole.place[0]), whole.place.size)
    assert one == pytest.approx(np.sqrt(-np.log(size)) * np.exp(2j * math.pi * turns), abs=1e-12)


def test_the_parts_are_independent_and_normal() -> None:
    """Real and imaginary parts of unit mean square together, uncorrelated, over many storms."""
    grid = component_grid(FAST)
    draws = np.concatenate([as_complex(grid, run) for run in range(40)])
    count = draws.size
    assert count > 40000
    assert np.mean(np.abs(draws) ** 2) == pytest.approx(1.0, abs=4.0 / math.sqrt(count))
    for values in (draws.real, draws.imag):
        assert stats.kstest(values[:, 2] * math.sqrt(2.0), "norm").pvalue > 0.01
    correlation = (draws.conj().T @ draws) / draws.shape[0]
    assert np.max(np.abs(correlation - np.eye(5))) < 5.0 / math.sqrt(draws.shape[0])
    # Nor do the parts of neighbours know of each other.
    apart = np.mean(draws[:-1, 4].conj() * draws[1:, 0])
    assert abs(apart) < 5.0 / math.sqrt(draws.shape[0])


def test_the_variance_is_that_of_the_undivided_sea() -> None:
    """Before the draw exactly so, but for the spectrum's curvature; after it in the mean."""
    grid, whole = component_grid(FAST), component_grid(replace(FAST, speed=0.0))
    for parted, one in ((grid.slope, whole.slope), (grid.elevation, whole.elevation)):
        assert np.sum(parted**2) == pytest.approx(np.sum(one**2), rel=2e-4)
    variances = [0.5 * np.sum(realise(FAST, 11, run).slope ** 2) for run in range(300)]
    expected = 0.5 * float(np.sum(grid.slope**2))
    assert abs(np.mean(variances) - expected) < 3.0 * stats.sem(variances)
