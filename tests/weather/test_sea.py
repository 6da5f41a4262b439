"""Waves at the ship: signs, encounter, the section's coefficient, the statistics of storms."""

from __future__ import annotations

import math
import pickle
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy import integrate, stats

from rollsim.constants import GRAVITY
from rollsim.weather.sea import (
    Components,
    RegularWave,
    SeaState,
    cut_frequency,
    encounter_frequency,
    highest_frequency,
    realise,
    repeat_time,
    section_coefficient,
    slope_coefficients,
    variance_left_out,
    wave_frequencies,
)
from rollsim.weather.spectra import bretschneider, jonswap, pierson_moskowitz

GALE = SeaState(
    bretschneider(6.0, peak_period=11.0), beam=14.0, draught=5.2, shortest_wave=14.0, duration=600.0
)
SWELL = replace(GALE, waves=RegularWave(height=3.0, period=9.0, phase=0.4))

headings = st.floats(0.0, math.tau)
speeds = st.floats(0.0, 15.0)


def history(waves: Components, t: NDArray[np.float64]) -> tuple[NDArray[np.float64], ...]:
    """Elevation and effective slope by the contract's sums."""
    angle = np.outer(t, waves.frequency) + waves.phase
    return np.cos(angle) @ waves.elevation, -np.sin(angle) @ waves.slope


def long_record(waves: Components, minutes: int) -> NDArray[np.float64]:
    """The same two sums at every second, by products of exponentials of minutes and seconds."""
    whole = np.exp(1j * np.outer(60.0 * np.arange(minutes), waves.frequency))
    within = np.exp(1j * (np.outer(waves.frequency, np.arange(60.0)) + waves.phase[:, None]))
    elevation = (whole * waves.elevation) @ within
    slope = (whole * waves.slope) @ within
    return np.array([elevation.real.ravel(), -slope.imag.ravel()])


# Signs


def test_beam_sea_from_port_travels_to_starboard() -> None:
    # The surface across the ship: a cos(wt - k y + ε), y to starboard. The slope that a ship
    # follows with her starboard side down is minus its gradient at y = 0.
    waves = realise(replace(SWELL, slope_coefficient=1.0), 1, 0)
    t = np.linspace(0.0, 20.0, 41)
    omega = math.tau / 9.0
    number = omega**2 / GRAVITY
    step = 1e-3

    def surface(y: float) -> NDArray[np.float64]:
        return 1.5 * np.cos(omega * t - number * y + 0.4)

    elevation, slope = history(waves, t)
    assert elevation == pytest.approx(surface(0.0), abs=1e-12)
    gradient = (surface(step) - surface(-step)) / (2.0 * step)
    assert slope == pytest.approx(-gradient, abs=1e-9)


def test_contract_formula_with_speed() -> None:
    sea = replace(SWELL, heading=math.radians(120.0), speed=6.0)
    omega = math.tau / 9.0
    encounter = omega - omega**2 * 6.0 * math.cos(math.radians(120.0)) / GRAVITY
    r = section_coefficient(omega, 14.0, 5.2, math.radians(120.0))
    t = np.linspace(0.0, 50.0, 101)
    elevation, slope = history(realise(sea, 1, 0), t)
    assert elevation == pytest.approx(1.5 * np.cos(encounter * t + 0.4), abs=1e-12)
    height = 1.5 * r * omega**2 / GRAVITY * math.sin(math.radians(120.0))
    assert slope == pytest.approx(-height * np.sin(encounter * t + 0.4), abs=1e-13)


@settings(deadline=None)
@given(headings, st.sampled_from([GALE, SWELL]), st.integers(0, 1000))
def test_other_side_opposite_slope(heading: float, sea: SeaState, seed: int) -> None:
    one = realise(replace(sea, heading=heading, speed=5.0), seed, 0)
    other = realise(replace(sea, heading=-heading, speed=5.0), seed, 0)
    assert np.array_equal(one.slope, -other.slope)
    assert np.array_equal(one.frequency, other.frequency)
    assert np.array_equal(one.elevation, other.elevation)
    assert np.array_equal(one.phase, other.phase)


def test_quarters_are_exact() -> None:
    port, starboard = (
        realise(replace(GALE, heading=math.radians(deg), speed=8.0), 3, 4) for deg in (90.0, 270.0)
    )
    assert np.array_equal(port.slope, -starboard.slope)
    assert np.array_equal(port.frequency, realise(GALE, 3, 4).frequency)
    for deg in (0.0, 180.0, 360.0):
        assert not realise(replace(GALE, heading=math.radians(deg)), 3, 4).slope.any()


# Encounter


def test_encounter_published_example() -> None:
    # Head sea, 16 s, 10 kn: 0.473597 rad/s (class rule's formula, exact figure).
    omega = np.array([math.tau / 16.0])
    knots = 10.0 * 1852.0 / 3600.0
    assert encounter_frequency(omega, knots, math.pi) == pytest.approx([0.473597], abs=5e-7)


# Exact roots of w - 10 w^2 / g = ±w_e.
@pytest.mark.parametrize(
    ("met", "waves"),
    [
        (0.1, [0.11302697319678712, 0.8676380268032128, 1.0721335489473611]),
        (0.2, [0.27987357156917764, 0.7007914284308223, 1.1510585858754179]),
    ],
)
def test_three_waves_in_a_following_sea(met: float, waves: list[float]) -> None:
    found = wave_frequencies(met, 10.0, 0.0)
    assert found == pytest.approx(waves, rel=1e-12)
    assert encounter_frequency(found, 10.0, 0.0) == pytest.approx([met, met, -met], abs=1e-12)


def test_turn_of_the_encounter() -> None:
    # Exact: greatest overtaking encounter g/4U = 0.24516625 at w = g/2U; none at w = g/U.
    assert wave_frequencies(0.24516625 * (1.0 - 1e-9), 10.0, 0.0).size == 3
    assert wave_frequencies(0.24516625 * (1.0 + 1e-9), 10.0, 0.0).size == 1
    special = encounter_frequency(np.array([0.4903325, 0.980665]), 10.0, 0.0)
    assert special == pytest.approx([0.24516625, 0.0], abs=1e-12)


@settings(deadline=None)
@given(st.floats(0.01, 5.0), st.just(0.0) | st.floats(0.01, 15.0), headings)
def test_wave_frequencies_invert_the_encounter(met: float, speed: float, heading: float) -> None:
    waves = wave_frequencies(met, speed, heading)
    assert waves.size in (1, 3)
    assert (waves > 0.0).all()
    assert (np.diff(waves) >= 0.0).all()
    # The shorter waves' own rounding is what remains where the ship hardly moves.
    noise = 1e-13 * (1.0 + waves)
    assert (np.abs(np.abs(encounter_frequency(waves, speed, heading)) - met) <= noise * 10).all()


@settings(deadline=None)
@given(headings, st.integers(0, 100))
def test_no_speed_no_shift(heading: float, realisation: int) -> None:
    waves = realise(replace(GALE, heading=heading), 5, realisation)
    spacing = math.tau / repeat_time(GALE.duration)
    index = np.rint(waves.frequency / spacing)
    assert np.array_equal(waves.frequency, index * spacing)


# Slope coefficient


@settings(deadline=None, max_examples=40)
@given(st.floats(0.2, 2.5), st.floats(5.0, 30.0), st.floats(1.0, 10.0), headings)
def test_section_is_the_mean_pressure_gradient(
    omega: float, beam: float, draught: float, heading: float
) -> None:
    # The wave's horizontal push per unit weight of displaced water, e^(κz) cos(κ y |sin χ|),
    # averaged over the rectangle by Gauss-Legendre rules.
    node, weight = np.polynomial.legendre.leggauss(40)
    number = omega**2 / GRAVITY
    across = 0.5 * weight @ np.cos(number * abs(math.sin(heading)) * 0.5 * beam * node)
    down = 0.5 * weight @ np.exp(-number * draught * 0.5 * (1.0 + node))
    r = section_coefficient(omega, beam, draught, heading)
    assert r == pytest.approx(across * down, abs=1e-12)


def test_section_limits() -> None:
    assert section_coefficient(0.0, 14.0, 5.2, 1.0) == 1.0
    assert section_coefficient(1e-200, 14.0, 5.2, 1.0) == 1.0
    assert section_coefficient(1e-4, 14.0, 5.2, 1.0) == pytest.approx(1.0, abs=1e-8)
    assert section_coefficient(1.0, 14.0, 0.0, 0.0) == 1.0
    assert section_coefficient(1.0, 14.0, 1e-12, 0.0) == pytest.approx(1.0, abs=1e-12)


def test_section_against_the_buoyancy_part() -> None:
    # Rectangle 14 m by 5.2 m: the factors that the buoyancy and the gravity part of the lever
    # see, 0.49 to 0.95 at wave periods of 5 to 15 s; within 10 % of each other from 5.6 s on,
    # 11.3 % apart at 5 s. Pressure integrals K1, K2, F1 of the formula in MSC.1/Circ.1627 (from
    # memory, derived again).
    beam, draught = 14.0, 5.2
    for period in np.linspace(5.0, 15.0, 21):
        k = (math.tau / period) ** 2 / GRAVITY
        u, decay = 0.5 * k * beam, math.exp(-k * draught)
        across = math.sin(u) / u
        k1 = across * ((1.0 + k * draught) * decay - 1.0) / (k**2 * draught)
        k2 = -decay / (k**2 * draught) * (math.cos(u) - across)
        f1 = -across * (1.0 - decay) / (k * draught)
        buoyancy = (k1 + k2 - draught * f1) / (0.5 * draught + beam**2 / (12.0 * draught))
        gravity = section_coefficient(math.tau / period, beam, draught, 0.5 * math.pi)
        assert gravity == pytest.approx(-f1, rel=1e-12)
        assert 0.485 < buoyancy < gravity < 0.955
        assert gravity == pytest.approx(buoyancy, rel=0.10 if period > 5.6 else 0.113)


def test_a_number_holds_for_every_wave() -> None:
    sea = replace(GALE, slope_coefficient=0.73)
    assert np.array_equal(slope_coefficients(sea, np.array([0.3, 2.0])), [0.73, 0.73])
    waves = realise(sea, 1, 0)
    expected = 0.73 * waves.frequency**2 / GRAVITY * waves.elevation
    assert waves.slope == pytest.approx(expected, rel=1e-14)


# Storms


def test_calm_and_regular() -> None:
    calm = realise(replace(GALE, waves=None), 1, 0)
    assert [part.size for part in calm] == [0, 0, 0, 0]
    assert highest_frequency(calm) == 0.0
    swell = realise(SWELL, 1, 0)
    assert swell.elevation == pytest.approx([1.5])
    assert highest_frequency(swell) == pytest.approx(math.tau / 9.0)
    assert variance_left_out(SWELL) == 0.0
    assert variance_left_out(replace(GALE, waves=None)) == 0.0


def test_band() -> None:
    waves = realise(GALE, 1, 0)
    spacing = math.tau / repeat_time(GALE.duration)
    cut = math.sqrt(math.tau * GRAVITY / 14.0)
    assert cut_frequency(GALE) == pytest.approx(cut)
    assert cut - spacing < highest_frequency(waves) <= cut
    assert np.diff(waves.frequency) == pytest.approx(spacing)
    assert variance_left_out(GALE) == pytest.approx(
        -math.expm1(-1.25 * (math.tau / 11.0 / cut) ** 4)
    )
    # All of these are shorter than what is kept: a calm, without a fuss.
    assert realise(replace(GALE, shortest_wave=5000.0), 1, 0).frequency.size == 0


def test_following_sea_highest_frequency_is_of_overtaken_waves() -> None:
    waves = realise(replace(GALE, heading=0.0, speed=15.0), 1, 0)
    assert waves.frequency.min() < 0.0 < waves.frequency.max()
    assert highest_frequency(waves) == -waves.frequency.min()


@pytest.mark.parametrize("duration", [1.0, 600.0, 3600.0, 10800.0])
def test_no_repetition_within_a_run(duration: float) -> None:
    assert duration < repeat_time(duration) < 1.25 * duration + 350.0


@settings(deadline=None)
@given(headings, speeds, st.floats(0.5, 15.0), st.floats(5.0, 18.0), st.integers(0, 2**64 - 1))
def test_the_storm_belongs_to_seed_and_realisation(
    heading: float, speed: float, height: float, period: float, seed: int
) -> None:
    spectrum = jonswap(height, peak_period=period)
    still = replace(GALE, waves=spectrum)
    moved = replace(still, heading=heading, speed=speed, slope_coefficient=0.8)
    one, other = realise(still, seed, 3), realise(moved, seed, 3)
    assert np.array_equal(one.phase, other.phase)
    assert np.array_equal(one.elevation, other.elevation)
    # A component's numbers are those of its place on the grid, whatever the spectrum.
    base = realise(GALE, seed, 3)
    spacing = math.tau / repeat_time(GALE.duration)
    _, here, there = np.intersect1d(
        np.rint(one.frequency / spacing), np.rint(base.frequency / spacing), return_indices=True
    )
    assert here.size > 100
    assert np.array_equal(one.phase[here], base.phase[there])
    relative = [
        waves.elevation[kept] / np.sqrt(sea.density(waves.frequency[kept]))
        for waves, kept, sea in [
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
    assert high.elevation == pytest.approx(factor * low.elevation, rel=1e-12)
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
def test_asked_height_comes_back(waves: object) -> None:
    # In the mean over storms, within three standard errors; what the cut leaves out is missing.
    sea = replace(GALE, waves=waves)  # type: ignore[arg-type]
    variances = [0.5 * np.sum(realise(sea, 11, run).elevation ** 2) for run in range(400)]
    asked = sea.waves.variance * (1.0 - variance_left_out(sea))  # type: ignore[union-attr]
    assert abs(np.mean(variances) - asked) < 3.0 * stats.sem(variances)


def test_amplitudes_are_rayleigh_and_phases_uniform() -> None:
    sea = replace(GALE, duration=10800.0)
    waves = realise(sea, 4, 2)
    spacing = math.tau / repeat_time(sea.duration)
    scale = np.sqrt(sea.waves.density(waves.frequency) * spacing)  # type: ignore[union-attr]
    assert waves.elevation.size > 3000
    assert stats.kstest(waves.elevation / scale, "rayleigh").pvalue > 0.01
    assert stats.kstest(waves.phase / math.tau, "uniform").pvalue > 0.01
    correlation = np.corrcoef(waves.elevation / scale, waves.phase)[0, 1]
    assert abs(correlation) < 4.0 / math.sqrt(waves.phase.size)


def test_variance_scatter_of_short_records() -> None:
    # Gaussian theory: the variance of a record of length T scatters with the coefficient
    # sqrt(2π ∫S² dw / T) / m0 (exact for long records); fixed amplitudes would give less.
    records = [np.mean(long_record(realise(GALE, 21, run), 10)[0] ** 2) for run in range(400)]
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
    asked = math.radians(6.496392 * 9.81 / GRAVITY) ** 2
    assert abs(np.mean(variances) - asked) < 3.0 * stats.sem(variances)
    spacing = math.tau / repeat_time(2000.0)
    omega = np.arange(1, math.floor(10.0 / spacing) + 1) * spacing
    gain = 1.0 / ((1.0 - (omega / natural) ** 2) ** 2 + (0.1 * omega / natural) ** 2)
    slopes = (0.75 * omega**2 / GRAVITY) ** 2 * bretschneider(
        5.0, zero_crossing_period=8.0
    ).density(omega)
    assert np.sum(gain * slopes) * spacing == pytest.approx(asked, rel=1e-5)


@pytest.mark.parametrize("seed", [1, 2, 3])
@pytest.mark.parametrize(
    "sea",
    [
        GALE,
        replace(GALE, waves=jonswap(6.0, peak_period=11.0)),
        replace(GALE, waves=jonswap(4.0, peak_period=9.0), heading=math.radians(225.0), speed=5.0),
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


def test_travels_between_processes() -> None:
    assert pickle.loads(pickle.dumps(GALE)) == GALE
    assert pickle.loads(pickle.dumps(SWELL)) == SWELL
