"""The sea of one run, by grid or by sum, is the contract's sum; so is its rate."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from forcing_samples import CALM, GALE, direct, sea, states

from rollsim.forcing.single import FEW, channel_grid, with_storm, with_waves
from rollsim.forcing.storm import Storm
from rollsim.motion.moments import wave_state
from rollsim.weather.sea import Components, realise


@pytest.mark.parametrize("count", [1, 3, FEW])
def test_few_waves_are_summed_as_they_stand(count: int) -> None:
    waves = sea(count, sign=-1.0)
    c = with_waves(CALM, waves, 100.0)
    times = np.linspace(0.0, 100.0, 301)
    slope, rate, _ = direct(waves, times)
    assert c.slope_grid.size == c.elevation_grid.size == 0
    assert states(c, times)[0] == pytest.approx(slope, abs=1e-14)
    assert states(c, times)[1] == pytest.approx(rate, abs=1e-14)


@pytest.mark.parametrize("duration", [1000.0, 37.3, 0.01])
@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_the_grid_is_the_sum_to_a_billionth_of_a_radian(sign: float, duration: float) -> None:
    waves = sea(60, sign=sign)
    c = with_waves(CALM, waves, duration)
    times = np.random.default_rng(1).uniform(0.0, duration, 1000)
    times = np.concatenate((times, [0.0, duration]))
    slope, rate, _ = direct(waves, times)
    assert c.waves.size == 0
    assert states(c, times)[0] == pytest.approx(slope, abs=1e-9)
    assert states(c, times)[1] == pytest.approx(rate, abs=1e-8)


@pytest.mark.parametrize(
    ("heading", "speed"), [(90.0, 0.0), (270.0, 3.0), (180.0, 8.0), (30.0, 10.0), (10.0, 14.0)]
)
def test_a_real_storm_comes_through_the_grid(heading: float, speed: float) -> None:
    waves = realise(replace(GALE, heading=math.radians(heading), speed=speed), 7, 3)
    c = with_waves(CALM, waves, GALE.duration)
    times = np.random.default_rng(2).uniform(0.0, GALE.duration, 400)
    slope, rate, _ = direct(waves, times)
    assert states(c, times)[0] == pytest.approx(slope, abs=1e-9)
    assert states(c, times)[1] == pytest.approx(rate, abs=1e-8)
    if (heading, speed) == (10.0, 14.0):
        assert np.count_nonzero(waves.frequency < 0.0) > 10


def test_phasors_do_not_drift_over_three_hours() -> None:
    waves = sea(20, top=2.2)
    step = 0.11
    ahead = waves.phase + 0.5 * math.pi
    grid = channel_grid(waves.frequency, waves.slope, ahead, step, 98182)
    last = step * np.array([98179, 98180, 98181])
    slope, rate, _ = direct(waves, last)
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
    difference = (states(c, times + step)[0] - states(c, times - step)[0]) / (2.0 * step)
    assert states(c, times)[1] == pytest.approx(difference, abs=2e-8)


@pytest.mark.parametrize("count", [3, 60])
def test_the_ramp_multiplies_by_its_half_cosine(count: int) -> None:
    waves, ramp = sea(count), 50.0
    c = with_waves(CALM._replace(ramp=ramp), waves, 200.0)
    plain = with_waves(CALM, waves, 200.0)
    for time in (0.0, 7.0, 25.0, 49.9):
        factor = 0.5 * (1.0 - math.cos(math.pi * time / ramp))
        expected = factor * wave_state(time, 1.0, 0.0, plain)[0]
        assert wave_state(time, 1.0, 0.0, c)[0] == pytest.approx(expected, abs=1e-15)
    assert wave_state(0.0, 1.0, 0.0, c) == (0.0, 0.0, 0.0)
    for time in (50.0, 130.0):
        assert wave_state(time, 1.0, 0.0, c) == wave_state(time, 1.0, 0.0, plain)
    below, above = (states(c, np.array([50.0 - d, 50.0 + d]))[1] for d in (1e-7, 1e-7))
    assert below == pytest.approx(above, abs=1e-8)


@pytest.mark.parametrize("ramp", [0.0, 300.0])
@pytest.mark.parametrize("count", [1, 5, 12, 60])
def test_the_slope_stays_within_its_bound(count: int, ramp: float) -> None:
    c = with_waves(CALM._replace(ramp=ramp), sea(count), 600.0)
    reached = np.max(np.abs(states(c, np.linspace(0.0, 600.0, 20001))[0]))
    assert 0.4 * c.slope_bound < reached <= c.slope_bound


def test_calm_water_has_no_slope_and_no_bound() -> None:
    nothing = np.zeros(0)
    c = with_waves(CALM, Components(nothing, nothing, nothing, nothing), 100.0)
    assert c.slope_bound == 0.0
    assert wave_state(50.0, 1.0, 0.0, c) == (0.0, 0.0, 0.0)


def test_a_sea_takes_the_place_of_the_one_before() -> None:
    irregular = with_waves(CALM, sea(60), 100.0)
    again = with_waves(irregular, sea(2), 100.0)
    assert again.slope_grid.size == 0
    assert wave_state(9.0, 1.0, 0.0, again) == wave_state(
        9.0, 1.0, 0.0, with_waves(CALM, sea(2), 100.0)
    )
    back = with_waves(again, sea(60), 100.0)
    assert wave_state(9.0, 1.0, 0.0, back) == wave_state(9.0, 1.0, 0.0, irregular)


@pytest.mark.parametrize("count", [3, 60])
def test_the_elevation_is_the_sum_where_it_acts(count: int) -> None:
    waves, times = sea(count, sign=-1.0), np.linspace(0.0, 200.0, 997)
    c = with_waves(CALM, waves, 200.0, elevation=True)
    slope, rate, elevation = direct(waves, times)
    found = states(c, times)
    assert found[0] == pytest.approx(slope, abs=1e-9)
    assert found[1] == pytest.approx(rate, abs=1e-8)
    assert found[2] == pytest.approx(elevation, abs=1e-8)
    without = states(with_waves(CALM, waves, 200.0), times)
    assert not without[2].any()
    assert np.array_equal(without[0], found[0])


@pytest.mark.parametrize("count", [3, 60])
def test_an_event_that_grows_the_waves_is_differentiated_with_them(count: int) -> None:
    """The factor 1 + 0.02 t at the time t, over a ramp: (f α)′ = f α′ + f′ α."""
    c = with_waves(CALM._replace(ramp=50.0), sea(count), 100.0, elevation=True)

    def at(time: float) -> tuple[float, float, float]:
        return wave_state(time, 1.0 + 0.02 * time, 0.02, c)

    step = 1e-4
    for time in (7.0, 33.3, 80.0):
        factor = 1.0 + 0.02 * time
        slope, rate, elevation = at(time)
        plain = wave_state(time, 1.0, 0.0, c)
        assert slope == pytest.approx(factor * plain[0], rel=1e-13)
        assert elevation == pytest.approx(factor * plain[2], rel=1e-13)
        difference = (at(time + step)[0] - at(time - step)[0]) / (2.0 * step)
        assert rate == pytest.approx(difference, abs=1e-7)


def test_a_factor_on_the_waves_takes_slope_and_elevation_along() -> None:
    storm = Storm(replace(GALE, heading=math.radians(60.0)), elevation=True)
    times = np.linspace(0.0, 900.0, 301)
    one, twice = (
        states(with_storm(CALM, storm, 3, 5, (factor, 1.0)), times) for factor in (1.0, 2.0)
    )
    for a, b in zip(one, twice, strict=True):
        assert np.std(a) > 0.0
        assert b == pytest.approx(2.0 * a, rel=1e-12)


def test_a_sea_that_does_not_act_is_no_sea() -> None:
    """From ahead nothing heels her; without levers in waves the elevation is nobody's matter."""
    ahead = replace(GALE, heading=math.pi)
    c = with_storm(CALM, Storm(ahead), 3, 5, (1.0, 1.0))
    assert c.slope_grid.size == c.elevation_grid.size == c.waves.size == 0
    felt = with_storm(CALM, Storm(ahead, elevation=True), 3, 5, (1.0, 1.0))
    assert felt.slope_bound == 0.0
    assert np.std(states(felt, np.linspace(0.0, 900.0, 301))[2]) > 0.1
