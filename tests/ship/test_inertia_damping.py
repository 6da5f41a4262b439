"""Gyradius and damping from what people give: period, critical fraction, extinction curve."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rollsim.constants import GRAVITY
from rollsim.ship.damping import Damping, from_critical_fraction, from_extinction
from rollsim.ship.inertia import gyradius_from_period, natural_frequency


@settings(deadline=None)
@given(period=st.floats(1.0, 60.0), gm=st.floats(0.01, 10.0))
def test_the_gyradius_gives_the_period_back(period: float, gm: float) -> None:
    frequency = natural_frequency(gyradius_from_period(period, gm), gm)
    assert math.tau / frequency == pytest.approx(period, rel=1e-13)


def test_a_gyradius_in_figures() -> None:
    """T 12 s at GM 0.8 m: k = 12 √(9.80665 · 0.8)/2π = 5.3494 m."""
    assert gyradius_from_period(12.0, 0.8) == pytest.approx(5.3494, abs=5e-5)
    assert natural_frequency(5.0, 0.8) == pytest.approx(math.sqrt(GRAVITY * 0.8) / 5.0)


def test_a_critical_fraction_is_that_of_the_linear_oscillator() -> None:
    assert from_critical_fraction(0.05, 0.6) == pytest.approx(0.06, rel=1e-15)


def test_extinction_coefficients_in_figures() -> None:
    """b1 = 2aω₀/π, b2 = ¾ (180/π) b (Froude)."""
    damping = from_extinction(0.1, 0.02, 0.6)
    assert damping == pytest.approx(Damping(0.0381972, 0.8594367, 0.0), abs=5e-8)


def test_damping_is_none_unless_given() -> None:
    assert Damping() == (0.0, 0.0, 0.0)
