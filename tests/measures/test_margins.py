"""The energy margin on energies made by hand, and on the energy that really goes over."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rollsim.measures.margins import energy_margin, escape_rate, limit_margin, roll_energy


def test_at_rest_the_margin_is_one() -> None:
    assert energy_margin(np.zeros(5), np.full(5, 0.2)) == 1.0


def test_the_margin_is_that_of_the_greatest_share() -> None:
    energy, height = np.array([0.1, 0.15, 0.12]), np.array([0.4, 0.5, 0.3])
    assert energy_margin(energy, height) == pytest.approx(0.6, abs=1e-15)


@pytest.mark.parametrize(("energy", "margin"), [(0.2, 0.0), (0.3, -0.5), (2.0, -9.0)])
def test_energy_enough_to_go_over_is_zero_or_less_and_not_clipped(
    energy: float, margin: float
) -> None:
    reached = energy_margin(np.array([0.0, energy, 0.1]), np.full(3, 0.2))
    assert reached == pytest.approx(margin, abs=1e-14)


def test_a_moment_without_a_well_leaves_no_margin() -> None:
    height = np.array([0.2, math.nan, 0.2])
    energy = np.array([0.1, math.nan, 0.1])
    assert math.isnan(energy_margin(energy, height))


def test_no_points_no_margin() -> None:
    assert math.isnan(energy_margin(np.zeros(0), np.zeros(0)))


@settings(deadline=None)
@given(
    energy=st.lists(st.floats(0.0, 10.0), min_size=1, max_size=9),
    height=st.floats(0.01, 10.0),
    scale=st.floats(0.1, 100.0),
)
def test_the_margin_has_no_unit(energy: list[float], height: float, scale: float) -> None:
    one = energy_margin(np.array(energy), np.full(len(energy), height))
    other = energy_margin(scale * np.array(energy), np.full(len(energy), scale * height))
    assert other == pytest.approx(one, rel=1e-12, abs=1e-12)
    assert one <= 1.0


@pytest.mark.parametrize("push", [0.999, 1.001])
@pytest.mark.parametrize("side", [1.0, -1.0])
def test_the_sign_of_the_margin_tells_who_goes_over(push: float, side: float) -> None:
    """Undamped in V = ½ φ² - ½ φ⁴: the rate whose energy is the barrier's is the separatrix."""
    barrier = 0.125
    rate = side * push * math.sqrt(2.0 * barrier)
    margin = energy_margin(np.array([0.5 * rate**2]), np.array([barrier]))
    roll, step = 0.0, 1e-3
    for _ in range(40000):
        rate -= 0.5 * step * (roll - 2.0 * roll**3)
        roll += step * rate
        rate -= 0.5 * step * (roll - 2.0 * roll**3)
        if abs(roll) > 0.99:
            break
    assert (abs(roll) > 0.99) == (margin < 0.0)
    assert margin == pytest.approx(1.0 - push**2, abs=1e-12)


def test_the_limit_margin_is_that_of_the_limit_nearest_to_being_passed() -> None:
    """By hand: 30 of 40° and 45 of 50° leave a tenth; a capsize angle of 90° at 45° leaves half."""
    assert limit_margin([30.0, -45.0, 45.0], [40.0, 50.0, 90.0]) == pytest.approx(0.1)
    assert limit_margin([44.0, 20.0], [40.0, 50.0]) == pytest.approx(-0.1)


def test_a_limit_that_is_not_set_takes_no_part() -> None:
    runs = np.array([[30.0, 60.0], [10.0, 20.0]])
    assert limit_margin(runs, [np.nan, 80.0]) == pytest.approx(np.array([0.25, 0.75]))
    assert np.isnan(limit_margin([30.0], [np.nan]))


def test_the_escape_rate_has_the_energy_that_is_missing_to_the_barrier() -> None:
    """By hand: k²p²/2g with k = 4 m and p = 0.5 rad/s is 4/(2 · 9.80665) m rad."""
    spare = 4.0 / (2.0 * 9.80665)
    assert escape_rate([spare, 0.0], 4.0) == pytest.approx([0.5, 0.0])
    assert roll_energy(escape_rate(spare, 4.0), 4.0, 0.1) == pytest.approx(0.1 + spare)
