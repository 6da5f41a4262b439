"""Turbulent wind: Davenport's spectrum, its lines, and what is left out of it."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from rollsim.weather.draws import repeat_time
from rollsim.weather.wind import TURBULENCE, Turbulence, davenport, share_below, wind_lines

SPEEDS = [8.0, 20.0, 35.0]


def published(f: float, speed: float, drag: float) -> float:
    """One-sided spectrum [m²/s² per Hz]: f S = 4 κ V² X² / (1 + X²)^(4/3), X = 1200 f / V.

    Davenport, "The spectrum of horizontal gustiness near the ground in high winds" (1961), from
    memory.
    """
    x = 1200.0 * f / speed
    return float(4.0 * drag * speed**2 * x**2 / (1.0 + x**2) ** (4.0 / 3.0) / f)


def between(low: float, high: float, speed: float, drag: float = 0.003) -> float:
    """Variance [m²/s²] between two frequencies [Hz], by quadrature over the decades."""
    points = np.linspace(math.log(max(low, 1e-9)), math.log(high), 30)
    value = sum(
        quad(lambda t: math.exp(t) * published(math.exp(t), speed, drag), a, b, epsabs=0.0)[0]
        for a, b in pairwise(points)
    )
    return float(value)


# The figures were computed apart from this code: intensity √(6 κ).
@pytest.mark.parametrize(
    ("drag", "intensity"), [(0.0025, 0.122474), (0.003, 0.134164), (0.005, 0.173205)]
)
def test_the_variance_is_the_spectrum_s_own_integral(drag: float, intensity: float) -> None:
    wind = davenport(20.0, drag)
    assert math.sqrt(wind.variance) / 20.0 == pytest.approx(intensity, abs=6e-7)
    # The tail beyond 1e6 Hz falls as f^(−2/3): some 1e-5 of the whole.
    assert wind.variance == pytest.approx(between(0.0, 1e6, 20.0, drag), rel=1e-4)


@pytest.mark.parametrize("speed", SPEEDS)
@pytest.mark.parametrize("duration", [60.0, 600.0, 3600.0])
def test_every_line_has_the_variance_of_its_cell(speed: float, duration: float) -> None:
    """Half its square is the integral of the published spectrum from cell's edge to edge."""
    lines = wind_lines(davenport(speed, 0.003), duration)
    spacing = 1.0 / lines.repeat
    assert lines.place[0] == 1
    assert lines.place[-1] == math.floor(lines.repeat)
    for i in (0, 1, 5, lines.place.size // 2, lines.place.size - 1):
        low = (lines.place[i] - 0.5) * spacing if i else 0.0
        cell = between(low, (lines.place[i] + 0.5) * spacing, speed)
        assert 0.5 * lines.amplitude[i] ** 2 == pytest.approx(cell, rel=1e-6)


@pytest.mark.parametrize("speed", SPEEDS)
def test_only_what_lies_above_one_hertz_is_left_out(speed: float) -> None:
    lines = wind_lines(davenport(speed, 0.003), 600.0)
    made = 0.5 * float(np.sum(lines.amplitude**2))
    assert made == pytest.approx(between(0.0, 1.0, speed), rel=1e-3)
    left_out = 1.0 - made / (6.0 * 0.003 * speed**2)
    assert left_out == pytest.approx((1.0 + (1200.0 / speed) ** 2) ** (-1.0 / 3.0), rel=1e-3)
    print(f"V {speed:g} m/s: {left_out:.3f} of the variance is above 1 Hz")
    assert left_out < 0.1


@settings(deadline=None, max_examples=30)
@given(frequency=st.floats(1e-6, 10.0), speed=st.floats(1.0, 60.0))
def test_the_share_below_is_the_integral(frequency: float, speed: float) -> None:
    wind = davenport(speed, 0.003)
    share = float(share_below(wind, np.array([frequency]))[0])
    assert share * wind.variance == pytest.approx(between(0.0, frequency, speed), rel=1e-6)
    assert float(share_below(wind, np.array([0.0]))[0]) == 0.0


def test_the_intensity_takes_the_place_of_the_variance() -> None:
    """σ = intensity V, whatever the surface drag; the shape stays."""
    wind = davenport(20.0, 0.003, intensity=0.2)
    assert wind == Turbulence(16.0, 20.0)
    assert davenport(20.0, 0.01, intensity=0.2) == wind
    own, scaled = (wind_lines(each, 600.0) for each in (davenport(20.0, 0.003), wind))
    ratio = 0.2 / math.sqrt(6.0 * 0.003)
    assert scaled.amplitude == pytest.approx(ratio * own.amplitude, rel=1e-12)


@pytest.mark.parametrize("duration", [1.0, 600.0, 10800.0])
def test_the_lines_do_not_come_round_within_a_run(duration: float) -> None:
    lines = wind_lines(davenport(20.0, 0.003), duration)
    assert lines.repeat == repeat_time(duration) > duration


def test_spectra_by_name() -> None:
    assert TURBULENCE["davenport"] is davenport
