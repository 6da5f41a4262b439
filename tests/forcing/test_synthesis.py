"""Channels of a block of runs: every lane is the storm of its own run, whatever its company."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from forcing_samples import CALM, GALE, Floats, direct, states

from rollsim.forcing.interpolation import TAPS, band_for, weights
from rollsim.forcing.single import with_storm
from rollsim.forcing.storm import Storm
from rollsim.forcing.synthesis import BAND, LEAD, Channel, channels
from rollsim.motion.moments import fluctuation
from rollsim.weather.sea import RegularWave, SeaState, component_grid, parts_of, realise
from rollsim.weather.wind import davenport, wind_lines

SEED = 11
RUNS = np.array([0, 5, 2, 5], dtype=np.uint64)
SEAS = {
    "no speed": replace(GALE, heading=math.radians(60.0)),
    "quartering, she overtakes": replace(GALE, heading=math.radians(30.0), speed=12.0),
    "bow, parted": replace(GALE, heading=math.radians(150.0), speed=12.0),
    "bow, short": replace(GALE, heading=math.radians(135.0), speed=8.0, duration=75.0),
}
every_sea = pytest.mark.parametrize("sea", SEAS.values(), ids=SEAS.keys())


def at_rows(channel: Channel, rows: Floats) -> Floats:
    return np.asarray(channel.step * (np.arange(rows.shape[0]) - LEAD), dtype=np.float64)


def between_rows(channel: Channel, rows: Floats, times: Floats) -> tuple[Floats, Floats]:
    """Value and rate (times, lanes) as the block engine finds them between the rows."""
    first, weight = weights(times, channel.step, channel.band)
    near = rows[first[:, None] + np.arange(TAPS)]
    return (
        np.einsum("tk,tkl->tl", weight[:, :TAPS], near),
        np.einsum("tk,tkl->tl", weight[:, TAPS:], near),
    )


def test_the_seas_are_what_their_names_say() -> None:
    parts = {name: parts_of(sea) for name, sea in SEAS.items()}
    expected = {"no speed": 1, "quartering, she overtakes": 3, "bow, parted": 5, "bow, short": 1}
    assert parts == expected
    assert realise(SEAS["quartering, she overtakes"], SEED, 0).frequency.min() < 0.0


@every_sea
def test_the_rows_are_the_sum_over_the_run_s_own_components(sea: SeaState) -> None:
    made = channels(Storm(sea, elevation=True))
    assert made.slope is not None
    assert made.elevation is not None
    slopes, heights = (each.rows(SEED, RUNS, np.float64) for each in (made.slope, made.elevation))
    times = at_rows(made.slope, slopes)
    inside = times <= sea.duration
    for lane, run in enumerate(RUNS):
        waves = realise(sea, SEED, int(run))
        slope, _, elevation = direct(waves, times[inside])
        assert np.max(np.abs(slopes[inside, lane] - slope)) < 1e-6 * np.sum(np.abs(waves.slope))
        error = np.max(np.abs(heights[inside, lane] - elevation))
        assert error < 1e-6 * np.sum(np.abs(waves.elevation))


@every_sea
def test_block_and_single_run_meet_the_same_sea(sea: SeaState) -> None:
    """Slope, rate and elevation between the rows, in single and double precision.

    What is left is the interpolator's error, 2e-4 of a wave at the edge of its band.
    """
    storm = Storm(sea, elevation=True)
    made = channels(storm)
    assert made.slope is not None
    assert made.elevation is not None
    times = np.random.default_rng(3).uniform(0.0, sea.duration, 200)
    single = [with_storm(CALM, storm, SEED, int(run), (1.0, 1.0)) for run in RUNS]
    slope, rate, elevation = np.array([states(c, times) for c in single]).transpose(1, 2, 0)
    for kind in (np.float64, np.float32):
        rows = made.slope.rows(SEED, RUNS, kind)
        assert rows.dtype == kind
        value, slope_rate = between_rows(made.slope, rows, times)
        assert np.max(np.abs(value - slope)) < 2e-4 * np.std(slope)
        assert np.max(np.abs(slope_rate - rate)) < 2e-3 * np.std(rate)
        value, _ = between_rows(made.elevation, made.elevation.rows(SEED, RUNS, kind), times)
        assert np.max(np.abs(value - elevation)) < 2e-4 * np.std(elevation)


@every_sea
def test_a_lane_does_not_depend_on_its_company(sea: SeaState) -> None:
    channel = channels(Storm(sea)).slope
    assert channel is not None
    rows = channel.rows(SEED, RUNS, np.float64)
    assert np.array_equal(rows[:, 1], rows[:, 3])
    alone = channel.rows(SEED, np.full(4, 5, dtype=np.uint64), np.float64)
    assert np.array_equal(alone[:, 0], rows[:, 1])


@pytest.mark.parametrize("duration", [60.0, 900.0])
def test_block_and_single_run_meet_the_same_wind(duration: float) -> None:
    sea = replace(GALE, waves=None, duration=duration)
    storm = Storm(sea, wind=wind_lines(davenport(20.0, 0.003), duration))
    made = channels(storm)
    assert made.slope is made.elevation is None
    assert made.wind is not None
    times = np.random.default_rng(3).uniform(0.0, duration, 200)
    rows = made.wind.rows(SEED, RUNS, np.float64)
    value, _ = between_rows(made.wind, rows, times)
    for lane, run in enumerate(RUNS):
        c = with_storm(CALM, storm, SEED, int(run), (1.0, 1.0))
        found = np.array([fluctuation(time, c) for time in times])
        assert np.max(np.abs(value[:, lane] - found)) < 1e-4 * np.std(found)


def test_what_does_not_act_has_no_channel() -> None:
    ahead = replace(GALE, heading=math.pi)
    assert channels(Storm(ahead)) == (None, None, None)
    made = channels(Storm(ahead, elevation=True))
    assert made.slope is None
    assert made.elevation is not None
    made = channels(Storm(GALE))
    assert made.slope is not None
    assert made.elevation is None
    assert channels(Storm(replace(GALE, waves=None), elevation=True)) == (None, None, None)


# Between the rows


@pytest.mark.parametrize(
    ("accuracy_deg", "in_roll"), [(0.3, 1.0), (0.01, 1.0), (0.01, 30.0), (0.001, 1.0), (1e-4, 1.0)]
)
def test_the_weights_reach_all_over_their_band(accuracy_deg: float, in_roll: float) -> None:
    """cos and sin of every frequency to the band's edge, value and rate, at any place.

    The error grows towards the edge; it falls with the twelfth power of the band, which leaves room
    for what it weighs in the roll.
    """
    band = band_for(math.radians(accuracy_deg), in_roll)
    assert band <= BAND
    step = 0.7
    times = step * np.linspace(3.0, 4.0, 41)
    first, weight = weights(times, step, band)
    place = first[:, None] + np.arange(TAPS) - LEAD
    worst = np.zeros(2)
    for share in np.linspace(0.01, 1.0, 100):
        omega = share * band / step
        for phase in (0.0, 0.5 * math.pi):
            near = np.cos(omega * step * place + phase)
            value = np.sum(weight[:, :TAPS] * near, axis=1) - np.cos(omega * times + phase)
            rate = np.sum(weight[:, TAPS:] * near, axis=1)
            rate += omega * np.sin(omega * times + phase)
            worst = np.maximum(worst, [np.max(np.abs(value)), np.max(np.abs(rate)) * step])
    print(f"band {band:.3f}: value off by {worst[0]:.1e}, rate by {worst[1]:.1e} per row")
    # The share of the accuracy, but for a part that least squares spreads otherwise.
    share = min(1.0, accuracy_deg / 0.01) / in_roll
    assert worst[0] < 3e-4 * share
    assert worst[1] < 1e-3 * share


@pytest.mark.parametrize(
    ("period", "heading_deg", "speed"),
    [(8.0, 80.0, 0.0), (5.0, 150.0, 9.0), (8.0, 0.0, 12.0), (9.0, 20.0, 14.05)],
)
def test_a_regular_sea_sits_well_inside_the_band(
    period: float, heading_deg: float, speed: float
) -> None:
    """One frequency at a third of the band, where the weights are at their best."""
    heading = math.radians(heading_deg)
    sea = replace(
        GALE, waves=RegularWave(3.0, period, 0.4), heading=heading, speed=speed, duration=200.0
    )
    storm = Storm(sea, elevation=True)
    made = channels(storm)
    waves = realise(sea, 0, 0)
    assert made.elevation is not None
    assert abs(waves.frequency[0]) * made.elevation.step <= made.elevation.band / 3.0 + 1e-12
    times = np.random.default_rng(4).uniform(0.0, 200.0, 300)
    slope, rate, elevation = direct(waves, times)
    value, _ = between_rows(made.elevation, made.elevation.rows(SEED, RUNS, np.float64), times)
    assert np.max(np.abs(value[:, 0] - elevation)) < 5e-6 * abs(waves.elevation[0])
    if made.slope is None:
        assert not slope.any()
        return
    value, found = between_rows(made.slope, made.slope.rows(SEED, RUNS, np.float64), times)
    height, frequency = abs(float(waves.slope[0])), abs(float(waves.frequency[0]))
    assert np.max(np.abs(value[:, 0] - slope)) < 5e-6 * height
    # Where she keeps up with the wave its rate is small against that of one row.
    assert np.max(np.abs(found[:, 0] - rate)) < 3e-5 * height * frequency


# What is random


def test_what_is_random() -> None:
    swell, calm = RegularWave(3.0, 8.0), replace(GALE, waves=None)
    lines = wind_lines(davenport(20.0, 0.003), 900.0)
    still = wind_lines(davenport(20.0, 0.003, intensity=0.0), 900.0)
    assert Storm(GALE).random
    assert not Storm(replace(GALE, waves=swell)).random
    assert not Storm(calm).random
    assert not Storm(replace(GALE, heading=0.0)).random
    assert Storm(replace(GALE, heading=0.0), elevation=True).random
    assert not Storm(replace(GALE, slope_coefficient=0.0)).random
    assert not Storm(replace(GALE, shortest_wave=5000.0)).random
    assert Storm(calm, wind=lines).random
    assert not Storm(calm, wind=still).random


def test_waves_from_abeam_do_not_raise_her() -> None:
    """No crest lies along her: the effective elevation is zero, not a rounding error."""
    assert not component_grid(GALE).elevation.any()
    assert not Storm(GALE, elevation=True).raised
    assert not Storm(replace(GALE, slope_coefficient=0.0), elevation=True).random
