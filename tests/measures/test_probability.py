"""Limits of a probability against known values; loadings compared storm by storm."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binomtest

from rollsim.measures.probability import Pair, chance, clopper_pearson, pairs

# The project's reference collection, part D: checked numerically there, no document behind them.
KNOWN = [
    (0, 100, 0.0, 0.036217),
    (0, 1000, 0.0, 0.003682),
    (1, 1000, 2.5e-5, 0.005559),
    (10, 1000, 0.004806, 0.018313),
    (5, 100, 0.016432, 0.112835),
]


@pytest.mark.parametrize(("k", "n", "lower", "upper"), KNOWN)
def test_limits_meet_the_reference_collection(k: int, n: int, lower: float, upper: float) -> None:
    got = clopper_pearson(k, n)
    assert np.allclose(got, (lower, upper), rtol=0, atol=5.1e-7)


def test_no_event_has_the_exact_upper_limit() -> None:
    """Exact: with no event in n trials the upper limit solves (1 - p)^n = 0.025."""
    n = np.array([1, 7, 50, 3000])
    assert np.allclose(clopper_pearson(0, n)[1], 1.0 - 0.025 ** (1.0 / n), rtol=1e-12)


@given(st.integers(1, 400).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))))
def test_limits_agree_with_an_independent_routine_and_mirror(counts: tuple[int, int]) -> None:
    k, n = counts
    lower, upper = clopper_pearson(k, n)
    other = binomtest(k, n).proportion_ci(0.95, "exact")
    assert np.allclose((lower, upper), (other.low, other.high), rtol=1e-9, atol=1e-12)
    assert lower <= k / n <= upper
    assert np.allclose(clopper_pearson(n - k, n), (1.0 - upper, 1.0 - lower), atol=1e-12)


def test_no_trial_gives_no_limits_and_arrays_broadcast() -> None:
    lower, upper = clopper_pearson([0, 0, 5], [0, 5, 5])
    assert np.isnan(lower[0])
    assert np.isnan(upper[0])
    assert lower[1] == 0.0
    assert upper[2] == 1.0


def test_more_events_than_trials_are_refused() -> None:
    with pytest.raises(ValueError, match="between 0 and the number of trials"):
        clopper_pearson(3, 2)


def test_pairs_count_every_storm_once() -> None:
    #    survived, roll limit, flooded, capsized, not run, not solved, survived
    a = [1, 2, 3, 4, 0, 5, 1]
    b = [1, 1, 4, 1, 4, 1, 2]
    assert pairs(a, b) == Pair(only_a=2, only_b=1, both=1, neither=1, left_out=2)


def test_pairs_of_capsizes_leave_other_failures_out() -> None:
    a = [1, 2, 3, 4, 0, 5, 1]
    b = [1, 1, 4, 1, 4, 1, 2]
    assert pairs(a, b, "capsize") == Pair(only_a=1, only_b=1, both=0, neither=3, left_out=2)


def test_a_chance_is_the_share_of_the_solved_runs() -> None:
    """By hand: of four solved runs one capsized and three failed; nothing else counts."""
    outcome = [[1, 2, 3, 4, 0, 5], [1, 1, 1, 1, 1, 1]]
    assert chance(outcome, "capsize").value.tolist() == [0.25, 0.0]
    failure = chance(outcome, "failure")
    assert failure.value.tolist() == [0.75, 0.0]
    assert (failure.lower[0], failure.upper[0]) == clopper_pearson(3, 4)


def test_nothing_is_a_chance_where_nothing_is_random_or_solved() -> None:
    outcome = [[4, 4], [5, 0], [4, 1]]
    seen = chance(outcome, "capsize", [False, True, True])
    assert np.isfinite(seen.value).tolist() == [False, False, True]
    assert np.isfinite(seen.lower).tolist() == [False, False, True]


@given(st.lists(st.tuples(st.integers(0, 5), st.integers(0, 5)), max_size=60))
def test_pairs_sum_up_and_swap(storms: list[tuple[int, int]]) -> None:
    a = np.array([first for first, _ in storms], dtype=np.int8)
    b = np.array([second for _, second in storms], dtype=np.int8)
    pair, swapped = pairs(a, b), pairs(b, a)
    assert sum(pair) == len(storms)
    assert (swapped.only_a, swapped.only_b) == (pair.only_b, pair.only_a)


def test_pairs_need_the_same_storms() -> None:
    with pytest.raises(ValueError, match="same realisations"):
        pairs([1, 2], [1])
