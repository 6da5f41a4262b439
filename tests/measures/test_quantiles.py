"""The median's limits against hand counts and by their coverage."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rollsim.measures.quantiles import median


def test_limits_are_the_order_statistics_of_a_hand_count() -> None:
    """By hand: with n = 6 the ends fail with 3.1 %, with n = 10 the second ones with 2.1 %."""
    assert median([6.0, 1.0, 2.0, 5.0, 4.0, 3.0]) == (3.5, 1.0, 6.0)
    assert median(np.arange(10.0)) == (4.5, 1.0, 8.0)


def test_a_sample_too_small_has_no_limits() -> None:
    assert median([1.0, 2.0, 3.0]) == (2.0, -math.inf, math.inf)
    assert np.isnan(median([])).all()


@given(st.integers(1, 300))
def test_rank_is_the_greatest_that_the_level_allows(n: int) -> None:
    found = median(np.arange(n, dtype=float))
    r = 0 if found.lower == -math.inf else int(found.lower) + 1
    tail = [sum(math.comb(n, i) for i in range(k)) * 40 for k in (r, r + 1)]
    assert tail[0] <= 2**n < tail[1]


def test_limits_hold_the_median_as_often_as_they_say() -> None:
    """4000 samples of 50 from an exponential distribution, whose median is ln 2."""
    samples = np.random.default_rng(8).exponential(size=(4000, 50))
    found = [median(sample) for sample in samples]
    held = np.mean([m.lower <= math.log(2.0) <= m.upper for m in found])
    assert 0.95 <= held <= 0.975
    assert np.mean([m.value for m in found]) == pytest.approx(math.log(2.0), abs=0.02)
