"""The margin to the limits by hand, and the energy of a roll."""

from __future__ import annotations

import numpy as np
import pytest

from rollsim.measures.margins import escape_rate, limit_margin, roll_energy


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
