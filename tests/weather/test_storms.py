"""Storms: whose they are, and that they are Gaussian seas of the requested spectrum."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import integrate, stats
from weather_samples import GALE, history, long_record, themselves

from rollsim.constants import GRAVITY
from rollsim.weather.draws import repeat_time
from rollsim.weather.sea import SeaState, realise, variance_left_out
from rollsim.weather.spectra import Spectrum, bretschneider, jonswap, pierson_moskowitz


@pytest.mark.parametrize("duration", [1.0, 600.0, 3600.0, 10800.0])
def test_no_repetition_within_a_run(duration: float) -> None:
    assert duration < repeat_time(duration) < 1.25 * duration + 350.0


@settings(deadline=None)
@given(
    st.floats(0.0, math.tau), st.floats(0.5, 15.0), st.floats(5.0, 18.0), st.integers(0, 2**64 - 1)
)
def test_the_storm_belongs_to_seed_and_realisation(
    heading: float, height: float, period: float, seed: int
) -> None:
    spectrum = jonswap(height, peak_period=period)
    moved = replace(GALE, waves=spectrum, heading=heading, slope_coefficient=0.8)
    one, other = themselves(moved, seed, 3), realise(moved, seed, 3)
    assert np.array_equal(one.phase, other.phase)
    across = math.sin(heading)
    assert other.slope == pytest.approx(0.8 * across * one.slope, abs=1e-12)
    # A component's numbers are those of its place on the grid, whatever the spectrum.
    base = themselves(GALE, seed, 3)
    spacing = math.tau / repeat_time(GALE.duration)
    _, here, there = np.intersect1d(
        np.rint(one.frequency / spacing), np.rint(base.frequency / spacing), return_indices=True
    )
    assert here.size > 100
    assert np.array_equal(one.phase[here], base.phase[there])
    relative = [
        waves.elevation[kept] / np.sqrt(density.density(waves.frequency[kept]))
        for waves, kept, density in [
            (one, here, spectrum),
            (base, there, bretschneider(6.0, peak_period=11.0)),
        ]
    ]
    assert relative[0] == pytest.approx(relative[1], rel=1e-12)


@settings(deadline=None)
@given(st.floats(0.5, 15.0), st.floats(1.1, 4.0))
def test_amplitude_goes_with_height(height: float, factor: float) -> None:
    low, high = (
        realise(replace(GALE, waves=jonswap(h, peak_period=10.0)), 2, 9)
        for h in (height, height * factor)
    )
    assert high.slope == pytest.approx(factor * low.slope, rel=1e-12)
    assert np.array_equal(high.phase, low.phase)


def test_long_record_is_the_sum() -> None:
    waves = realise(replace(GALE, heading=math.radians(60.0), speed=4.0), 6, 1)
    direct = np.array(history(waves, np.arange(300.0)))
    assert long_record(waves, 5) == pytest.approx(direct, abs=1e-11)


def test_storms_differ() -> None:
    first = realise(GALE, 1, 0)
    for seed, realisation in [(2, 0), (1, 1)]:
        other = realise(GALE, seed, realisation)
        assert abs(np.corrcoef(first.phase, other.phase)[0, 1]) < 4.0 / math.sqrt(first.phase.size)


@pytest.mark.parametrize(
    "waves",
    [
        bretschneider(6.0, peak_period=11.0),
        jonswap(4.0, zero_crossing_period=8.0),
        pierson_moskowitz(5.0),
    ],
)
def test_requested_height_comes_back(waves: object) -> None:
    # In the mean over storms, within three standard errors; what the cut leaves out is missing.
    sea = replace(GALE, waves=waves)  # type: ignore[arg-type]
    variances = [0.5 * np.sum(themselves(sea, 11, run).elevation ** 2) for run in range(400)]
    requested = sea.waves.variance * (1.0 - variance_left_out(sea))  # type: ignore[union-attr]
    assert abs(np.mean(variances) - requested) < 3.0 * stats.sem(variances)


def test_amplitudes_are_rayleigh_and_phases_uniform() -> None:
    sea = replace(GALE, duration=10800.0)
    waves = themselves(sea, 4, 2)
    spacing = math.tau / repeat_time(sea.duration)
    assert isinstance(sea.waves, Spectrum)
    scale = np.sqrt(sea.waves.density(waves.frequency) * spacing)
    assert waves.elevation.size > 3000
    assert stats.kstest(waves.elevation / scale, "rayleigh").pvalue > 0.01
    assert stats.kstest(waves.phase / math.tau, "uniform").pvalue > 0.01
    correlation = np.corrcoef(waves.elevation / scale, waves.phase)[0, 1]
    assert abs(correlation) < 4.0 / math.sqrt(waves.phase.size)


def test_variance_scatter_of_short_records() -> None:
    # Gaussian theory: the variance of a record of length T scatters with the coefficient
    # sqrt(2π ∫S² dw / T) / m0 (exact for long records); fixed amplitudes would give less.
    records = [np.mean(long_record(themselves(GALE, 21, run), 10)[0] ** 2) for run in range(400)]
    grid = np.linspace(0.2, 2.1, 2000)
    squared = integrate.simpson(bretschneider(6.0, peak_period=11.0).density(grid) ** 2, x=grid)
    theory = math.sqrt(math.tau * squared / 600.0) / 2.25
    # The scatter of 400 records is itself known to 1 / sqrt(2 * 400) = 3.5 %.
    assert np.std(records) / np.mean(records) == pytest.approx(theory, rel=0.1)


def test_linear_roll_spectrum() -> None:
    # Bretschneider Hs 5 m, Tz 8 s; roll period 12 s, damping 0.05 of critical, r 0.75, absolute:
    # 6.496392 deg with g 9.81 and the cut at 10 rad/s (computed apart from this code).
    sea = SeaState(
        bretschneider(5.0, zero_crossing_period=8.0),
        length=84.0,
        beam=14.0,
        draught=5.2,
        shortest_wave=math.tau * GRAVITY / 100.0,
        duration=2000.0,
        slope_coefficient=0.75,
    )
    natural = math.tau / 12.0
    variances = []
    for run in range(300):
        waves = realise(sea, 5, run)
        x = waves.frequency / natural
        gain = 1.0 / ((1.0 - x**2) ** 2 + (0.1 * x) ** 2)
        variances.append(0.5 * np.sum(gain * waves.slope**2))
    requested = math.radians(6.496392 * 9.81 / GRAVITY) ** 2
    assert abs(np.mean(variances) - requested) < 3.0 * stats.sem(variances)
    spacing = math.tau / repeat_time(2000.0)
    omega = np.arange(1, math.floor(10.0 / spacing) + 1) * spacing
    gain = 1.0 / ((1.0 - (omega / natural) ** 2) ** 2 + (0.1 * omega / natural) ** 2)
    slopes = (0.75 * omega**2 / GRAVITY) ** 2 * bretschneider(
        5.0, zero_crossing_period=8.0
    ).density(omega)
    assert np.sum(gain * slopes) * spacing == pytest.approx(requested, rel=1e-5)


@pytest.mark.parametrize("seed", [1, 2, 3])
@pytest.mark.parametrize(
    "sea",
    [
        replace(GALE, heading=2.0),
        replace(GALE, waves=jonswap(6.0, peak_period=11.0), heading=1.0),
        replace(GALE, waves=jonswap(4.0, peak_period=9.0), heading=2.5, speed=12.0),
    ],
)
def test_a_long_record_does_not_repeat(seed: int, sea: SeaState) -> None:
    # Autocorrelation of elevation and slope over three hours at 1 s, from 2 minutes on. A ship
    # that runs with the waves is left out: many waves then share one encounter frequency, and a
    # record with so narrow a spectrum is truly like itself for longer.
    waves = realise(replace(sea, duration=10800.0), seed, 0)
    for record in long_record(waves, 180):
        centred = record - record.mean()
        transform = np.fft.rfft(centred, 2 * centred.size)
        correlation = np.fft.irfft(np.abs(transform) ** 2)[: centred.size]
        assert np.abs(correlation[120:] / correlation[0]).max() < 0.2
