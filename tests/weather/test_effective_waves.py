"""What of a wave reaches a ship of length, beam and draught: effective slope and elevation."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from weather_samples import GALE, SWELL, history, themselves

from rollsim.constants import GRAVITY
from rollsim.weather.effective import effective_elevation, effective_elevations, section_coefficient
from rollsim.weather.sea import RegularWave, realise, slope_coefficients

BEAM_SEA = 0.5 * math.pi


def frequency_of(wave_length: float) -> float:
    """Frequency [rad/s] of a deep-water wave by its length [m]."""
    return math.sqrt(math.tau * GRAVITY / wave_length)


# Slope coefficient


@settings(deadline=None, max_examples=40)
@given(
    st.floats(0.2, 2.5),
    st.floats(5.0, 30.0),
    st.floats(1.0, 10.0),
    st.floats(10.0, 150.0),
    st.floats(0.0, math.tau),
)
def test_section_is_the_mean_pressure_gradient(
    omega: float, beam: float, draught: float, length: float, heading: float
) -> None:
    # The wave's horizontal push per unit weight of displaced water, e^(κz) cos(κ (y |sin χ| +
    # x |cos χ|)), averaged over the box by a Gauss-Legendre rule in each of x, y and z.
    node, weight = np.polynomial.legendre.leggauss(60)
    number = omega**2 / GRAVITY
    y = number * abs(math.sin(heading)) * 0.5 * beam * node
    x = number * abs(math.cos(heading)) * 0.5 * length * node
    level = 0.25 * weight @ np.cos(np.add.outer(y, x)) @ weight
    down = 0.5 * weight @ np.exp(-number * draught * 0.5 * (1.0 + node))
    r = section_coefficient(omega, length, beam, draught, heading)
    assert r == pytest.approx(level * down, abs=1e-11)


def test_section_limits() -> None:
    assert section_coefficient(0.0, 84.0, 14.0, 5.2, 1.0) == 1.0
    assert section_coefficient(1e-200, 84.0, 14.0, 5.2, 1.0) == 1.0
    assert section_coefficient(1e-4, 84.0, 14.0, 5.2, 1.0) == pytest.approx(1.0, abs=1e-8)
    assert section_coefficient(1.0, 0.0, 14.0, 0.0, 0.0) == 1.0
    assert section_coefficient(1.0, 0.0, 14.0, 1e-12, 0.0) == pytest.approx(1.0, abs=1e-12)


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
        gravity = section_coefficient(math.tau / period, 84.0, beam, draught, 0.5 * math.pi)
        assert gravity == pytest.approx(-f1, rel=1e-12)
        assert 0.485 < buoyancy < gravity < 0.955
        assert gravity == pytest.approx(buoyancy, rel=0.10 if period > 5.6 else 0.113)


@pytest.mark.parametrize("period", [4.0, 6.0, 9.0, 14.0])
def test_a_beam_sea_does_not_feel_the_length(period: float) -> None:
    omega = math.tau / period
    short, long = (
        section_coefficient(omega, length, 14.0, 5.2, BEAM_SEA) for length in (1.0, 300.0)
    )
    assert short == pytest.approx(long, rel=1e-15)


@pytest.mark.parametrize(
    ("heading_deg", "period", "share"), [(45.0, 7.0, 0.5), (60.0, 6.0, 0.5), (120.0, 7.0, 0.7)]
)
def test_an_oblique_sea_feels_the_length(heading_deg: float, period: float, share: float) -> None:
    """Crests and troughs along her take from each other, for the same section two to five times."""
    heading, omega = math.radians(heading_deg), math.tau / period
    whole = section_coefficient(omega, 84.0, 14.0, 5.2, heading)
    slice_of_her = section_coefficient(omega, 1e-3, 14.0, 5.2, heading)
    assert abs(whole) < share * slice_of_her


def test_a_wave_whose_length_along_her_is_her_own_has_no_slope_in_the_mean() -> None:
    """v = π: a whole wave stands along the keel; past it the sign turns over."""
    heading = math.radians(45.0)
    omega = frequency_of(84.0 * math.cos(heading))
    assert section_coefficient(omega, 84.0, 14.0, 5.2, heading) == pytest.approx(0.0, abs=1e-15)
    assert section_coefficient(1.1 * omega, 84.0, 14.0, 5.2, heading) < 0.0
    assert section_coefficient(0.9 * omega, 84.0, 14.0, 5.2, heading) > 0.0


def test_a_number_holds_for_every_wave() -> None:
    sea = replace(GALE, slope_coefficient=0.73)
    assert np.array_equal(slope_coefficients(sea, np.array([0.3, 2.0])), [0.73, 0.73])
    waves = themselves(GALE, 1, 0)
    expected = 0.73 * waves.frequency**2 / GRAVITY * waves.elevation
    assert realise(sea, 1, 0).slope == pytest.approx(expected, rel=1e-14)


# Effective elevation


def fitted(wave_length: float, length: float, heading: float) -> float:
    """Amplitude of c cos(2π x / L) that fits cos(κ |cos χ| x) on [−L/2, L/2] by least squares.

    The constant is left free beside it, as the mean draught is. Orthogonal there, so it falls out.
    """
    node, weight = np.polynomial.legendre.leggauss(120)
    x = 0.5 * length * node
    wave = np.cos(math.tau / wave_length * math.cos(heading) * x)
    shape = np.column_stack([np.cos(math.tau / length * x), np.ones_like(x)])
    root = np.sqrt(weight)[:, None]
    return float(np.linalg.lstsq(root * shape, root[:, 0] * wave, rcond=None)[0][0])


# Least-squares fit of a harmonic wave by cos(2πx/L) on [−L/2, L/2], computed apart from this code.
@pytest.mark.parametrize(
    ("ratio", "amplitude"),
    [(0.5, 0.0), (0.8, 1.000351), (1.0, 1.0), (1.2, 0.868118), (2.0, 0.424413), (4.0, 0.120042)],
)
@pytest.mark.parametrize("heading", [0.0, math.pi])
def test_grim_s_effective_wave(ratio: float, amplitude: float, heading: float) -> None:
    length = 100.0
    found = effective_elevation(frequency_of(ratio * length), length, heading)
    assert found == pytest.approx(amplitude, abs=6e-7)
    assert found == pytest.approx(fitted(ratio * length, length, heading), abs=1e-12)


@settings(deadline=None, max_examples=60)
@given(ratio=st.floats(0.15, 20.0), length=st.floats(20.0, 300.0), heading=st.floats(0.0, math.tau))
def test_the_effective_elevation_is_the_best_fit(
    ratio: float, length: float, heading: float
) -> None:
    found = effective_elevation(frequency_of(ratio * length), length, heading)
    assert found == pytest.approx(fitted(ratio * length, length, heading), abs=1e-9)


def test_the_sign_is_kept() -> None:
    """Waves shorter than half the ship can leave a trough amidships under a crest."""
    assert effective_elevation(frequency_of(40.0), 100.0, math.pi) < -0.2
    assert fitted(40.0, 100.0, math.pi) < -0.2


@pytest.mark.parametrize("offset", [0.0, 1e-9, -1e-9, 9.9e-5, -9.9e-5, 1.01e-4, -1.01e-4])
def test_nothing_jumps_where_both_parts_of_the_fraction_vanish(offset: float) -> None:
    """v = π + offset: 2 v sin v / (π² − v²) by its exact series 1 + 2 (v − π) / 4π + .."""
    length = 100.0
    omega = math.sqrt(2.0 * GRAVITY * (math.pi + offset) / length)
    expected = 1.0 + 0.5 * offset / math.pi
    assert effective_elevation(omega, length, 0.0) == pytest.approx(expected, abs=1e-8)


def test_on_a_crest_she_is_raised() -> None:
    """Head sea of her own length: the effective elevation is the wave's own, crest for crest."""
    swell = RegularWave(3.0, math.tau / frequency_of(84.0), 0.4)
    waves = realise(replace(SWELL, waves=swell, heading=math.pi, speed=5.0), 1, 0)
    t = np.linspace(0.0, 30.0, 61)
    elevation, slope = history(waves, t)
    met = frequency_of(84.0) + frequency_of(84.0) ** 2 * 5.0 / GRAVITY
    assert elevation == pytest.approx(1.5 * np.cos(met * t + 0.4), abs=1e-11)
    assert not slope.any()


def test_many_are_each() -> None:
    omega = np.linspace(0.0, 3.0, 50)
    found = effective_elevations(omega, 84.0, 2.5)
    assert np.array_equal(found, [effective_elevation(w, 84.0, 2.5) for w in omega])


def test_a_storm_s_elevation_is_its_waves_each_times_its_share() -> None:
    sea = replace(GALE, heading=math.radians(150.0))
    waves, own = realise(sea, 6, 1), themselves(sea, 6, 1)
    expected = own.elevation * effective_elevations(own.frequency, 84.0, sea.heading)
    assert waves.elevation == pytest.approx(expected, rel=1e-12, abs=1e-15)
