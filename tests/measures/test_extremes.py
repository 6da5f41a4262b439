"""Exceedance of the greatest roll against hand counts and a known distribution."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rollsim.measures.extremes.counted import exceedance, greatest_roll
from rollsim.measures.probability import clopper_pearson


def test_greatest_roll_is_to_either_side_and_a_capsize_beyond_every_angle() -> None:
    found = greatest_roll([10.0, 3.0, 91.0], [-4.0, -12.0, -5.0], [False, False, True])
    assert np.array_equal(found, [10.0, 12.0, np.inf])


def test_curve_counts_runs_strictly_beyond_each_angle() -> None:
    curve = exceedance([10.0, 20.0, 20.0, np.inf], [0.0, 10.0, 20.0, 1000.0])
    assert np.array_equal(curve.probability, [1.0, 0.75, 0.25, 0.25])
    assert np.array_equal((curve.lower, curve.upper), clopper_pearson([4, 3, 1, 1], 4))


def test_without_runs_there_is_no_curve() -> None:
    curve = exceedance([], [0.0, 5.0])
    assert all(np.isnan(part).all() for part in curve[1:])


def test_a_missing_roll_is_refused() -> None:
    with pytest.raises(ValueError, match="every run needs its greatest roll"):
        exceedance([1.0, np.nan], [0.5])


@given(st.lists(st.floats(0.0, 90.0), min_size=1, max_size=40))
def test_curve_falls_and_its_limits_hold_it(rolls: list[float]) -> None:
    curve = exceedance(rolls, np.linspace(0.0, 90.0, 31))
    assert (np.diff(curve.probability) <= 0.0).all()
    assert (curve.lower <= curve.probability).all()
    assert (curve.probability <= curve.upper).all()


def test_limits_hold_the_exact_rayleigh_curve_as_often_as_they_say() -> None:
    """Exact: a Rayleigh maximum exceeds x with probability exp(-x²/2); 2000 studies of 50 runs."""
    rng = np.random.default_rng(3)
    angle = np.array([0.5, 1.0, 2.0, 3.0])
    curves = [exceedance(rng.rayleigh(1.0, 50), angle) for _ in range(2000)]
    exact = np.exp(-(angle**2) / 2.0)
    held = np.mean([(c.lower <= exact) & (exact <= c.upper) for c in curves], axis=0)
    assert (held >= 0.945).all()
    assert np.mean([c.probability for c in curves], axis=0) == pytest.approx(exact, abs=0.006)
