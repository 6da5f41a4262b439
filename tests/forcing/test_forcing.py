"""The slope of the sea, by grid or by sum, is the contract's sum; so is its rate."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from motion_samples import DAMPING, INERTIA, KINDS, direct, sea

from rollsim.forcing.single import FEW, slope_grid, with_waves
from rollsim.motion.coefficients import Coefficients, calm_coefficients
from rollsim.motion.moments import wave_slope
from rollsim.weather.sea import Components, SeaState, realise
from rollsim.weather.spectra import bretschneider

CALM = calm_coefficients(KINDS["table"], INERTIA, DAMPING)
GALE = SeaState(
    bretschneider(6.0, peak_period=11.0), beam=14.0, draught=5.2, shortest_wave=14.0, duration=900.0
)


def slopes(c: Coefficients, times: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    found = np.array([wave_slope(time, c) for time in times])
    return found[:, 0], found[:, 1]


@pytest.mark.parametrize("count", [1, 3, FEW])
def test_few_waves_are_summed_as_they_stand(count: int) -> None:
    waves = sea(count, sign=-1.0)
    c = with_waves(CALM, waves, 100.0)
    times = np.linspace(0.0, 100.0, 301)
    slope, rate = direct(waves, times)
    assert c.grid.size == 0
    assert slopes(c, times)[0] == pytest.approx(slope, abs=1e-14)
    assert slopes(c, times)[1] == pytest.approx(rate, abs=1e-14)


@pytest.mark.parametrize("duration", [1000.0, 37.3, 0.01])
@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_the_grid_is_the_sum_to_a_billionth_of_a_radian(sign: float, duration: float) -> None:
    waves = sea(60, sign=sign)
    c = with_waves(CALM, waves, duration)
    times = np.random.default_rng(1).uniform(0.0, duration, 1000)
    times = np.concatenate((times, [0.0, duration]))
    slope, rate = direct(waves, times)
    assert c.component_slope.size == 0
    assert slopes(c, times)[0] == pytest.approx(slope, abs=1e-9)
    assert slopes(c, times)[1] == pytest.approx(rate, abs=1e-8)


@pytest.mark.parametrize(
    ("heading", "speed"), [(90.0, 0.0), (270.0, 3.0), (180.0, 8.0), (30.0, 10.0), (10.0, 14.0)]
)
def test_a_real_storm_comes_through_the_grid(heading: float, speed: float) -> None:
    waves = realise(replace(GALE, heading=math.radians(heading), speed=speed), 7, 3)
    c = with_waves(CALM, waves, GALE.duration)
    times = np.random.default_rng(2).uniform(0.0, GALE.duration, 400)
    slope, rate = direct(waves, times)
    assert slopes(c, times)[0] == pytest.approx(slope, abs=1e-9)
    assert slopes(c, times)[1] == pytest.approx(rate, abs=1e-8)
    if (heading, speed) == (10.0, 14.0):
        assert np.count_nonzero(waves.frequency < 0.0) > 10


def test_phasors_do_not_drift_over_three_hours() -> None:
    waves = sea(20, top=2.2)
    step = 0.11
    grid = slope_grid(waves.frequency, waves.slope, waves.phase, step, 98182)
    last = step * np.array([98179, 98180, 98181])
    slope, rate = direct(waves, last)
    assert grid[-3:, 0] == pytest.approx(slope, abs=1e-11)
    assert grid[-3:, 1] == pytest.approx(rate, abs=1e-11)
    angle = np.outer(last, waves.frequency) + waves.phase
    assert grid[-3:, 2] == pytest.approx(
        np.sin(angle) @ (waves.slope * waves.frequency**2), abs=1e-11
    )


@pytest.mark.parametrize("count", [3, 60])
@pytest.mark.parametrize("ramp", [0.0, 50.0])
def test_the_rate_is_the_derivative_of_the_slope(count: int, ramp: float) -> None:
    c = with_waves(CALM._replace(ramp=ramp), sea(count), 200.0)
    times, step = np.linspace(0.1, 199.0, 397), 1e-4
    difference = (slopes(c, times + step)[0] - slopes(c, times - step)[0]) / (2.0 * step)
    assert slopes(c, times)[1] == pytest.approx(difference, abs=2e-8)


@pytest.mark.parametrize("count", [3, 60])
def test_the_ramp_multiplies_by_its_half_cosine(count: int) -> None:
    waves, ramp = sea(count), 50.0
    c = with_waves(CALM._replace(ramp=ramp), waves, 200.0)
    plain = with_waves(CALM, waves, 200.0)
    for time in (0.0, 7.0, 25.0, 49.9):
        factor = 0.5 * (1.0 - math.cos(math.pi * time / ramp))
        expected = factor * wave_slope(time, plain)[0]
        assert wave_slope(time, c)[0] == pytest.approx(expected, abs=1e-15)
    assert wave_slope(0.0, c) == (0.0, 0.0)
    for time in (50.0, 130.0):
        assert wave_slope(time, c) == wave_slope(time, plain)
    below, above = (slopes(c, np.array([50.0 - d, 50.0 + d]))[1] for d in (1e-7, 1e-7))
    assert below == pytest.approx(above, abs=1e-8)


@pytest.mark.parametrize("ramp", [0.0, 300.0])
@pytest.mark.parametrize("count", [1, 5, 12, 60])
def test_the_slope_stays_within_its_bound(count: int, ramp: float) -> None:
    c = with_waves(CALM._replace(ramp=ramp), sea(count), 600.0)
    reached = np.max(np.abs(slopes(c, np.linspace(0.0, 600.0, 20001))[0]))
    assert 0.4 * c.slope_bound < reached <= c.slope_bound


def test_calm_water_has_no_slope_and_no_bound() -> None:
    nothing = np.zeros(0)
    c = with_waves(CALM, Components(nothing, nothing, nothing, nothing), 100.0)
    assert c.slope_bound == 0.0
    assert wave_slope(50.0, c) == (0.0, 0.0)


def test_a_sea_takes_the_place_of_the_one_before() -> None:
    irregular = with_waves(CALM, sea(60), 100.0)
    again = with_waves(irregular, sea(2), 100.0)
    assert again.grid.size == 0
    assert wave_slope(9.0, again) == wave_slope(9.0, with_waves(CALM, sea(2), 100.0))
    back = with_waves(again, sea(60), 100.0)
    assert wave_slope(9.0, back) == wave_slope(9.0, irregular)
