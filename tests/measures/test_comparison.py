"""Paired comparison: exact coverage of the interval, the exact test, many comparisons at once."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binomtest, multinomial

from rollsim.measures.comparison import compare, discordant_test, holm, paired_interval
from rollsim.measures.probability import Pair

STORMS = 100

counts = st.tuples(st.integers(0, 60), st.integers(0, 60), st.integers(0, 60), st.integers(0, 60))


@given(st.integers(0, 300), st.integers(0, 300))
def test_discordant_test_agrees_with_an_independent_routine(a: int, b: int) -> None:
    expected = binomtest(a, a + b).pvalue if a + b else 1.0
    assert discordant_test(a, b) == pytest.approx(expected, rel=1e-9)


def test_87_of_90_discordant_storms_are_no_chance() -> None:
    """Exact: twice the sum of C(90, i) / 2^90 for i up to 3."""
    exact = 2.0 * sum(math.comb(90, i) for i in range(4)) / 2.0**90
    assert discordant_test(3, 87) == pytest.approx(exact, rel=1e-9)


def test_no_discordant_storm_gives_the_interval_of_the_score_test() -> None:
    """Exact: with no discordant storm (nδ)² = z² (n δ(1 - δ) + n ...) solves to z²/(n + z²)."""
    z2 = 1.959963984540054**2
    lower, upper = paired_interval(0, 0, 100)
    assert upper == pytest.approx(z2 / (100.0 + z2), rel=1e-9)
    assert lower == pytest.approx(-upper, rel=1e-9)


@given(counts.filter(lambda held: sum(held) > 0), st.sampled_from([0.8, 0.95, 0.99]))
def test_interval_holds_the_difference_and_turns_with_the_names(
    held: tuple[int, int, int, int], level: float
) -> None:
    a, b, both, neither = held
    found = compare(Pair(a, b, both, neither, 0), level)
    turned = compare(Pair(b, a, both, neither, 0), level)
    assert -1.0 <= found.lower <= found.difference <= found.upper <= 1.0
    assert (turned.lower, turned.upper) == pytest.approx((-found.upper, -found.lower), abs=1e-9)
    assert turned.p_value == found.p_value


def splits() -> np.ndarray:
    """Every count of storms in which only A and only B failed; (n, 2)."""
    a, b = np.meshgrid(*[np.arange(STORMS + 1)] * 2)
    return np.stack([a, b], axis=-1)[a + b <= STORMS]


@pytest.fixture(scope="module")
def limits() -> np.ndarray:
    """The interval of every split; (n, 2)."""
    return np.array([paired_interval(int(a), int(b), STORMS) for a, b in splits()])


# P(only A fails) and P(only B fails) in one storm.
COMMON = [(0.2, 0.1), (0.25, 0.02), (0.4, 0.1), (0.25, 0.25), (0.1, 0.05)]
RARE = [(0.02, 0.01), (0.04, 0.02), (0.01, 0.01), (0.04, 0.0)]


@pytest.mark.parametrize(("only_a", "only_b"), COMMON + RARE)
def test_interval_covers_the_truth_as_often_as_it_says(
    only_a: float, only_b: float, limits: np.ndarray
) -> None:
    """Exact coverage: all splits of the storms, each with its multinomial probability.

    Near 95 % for common failures; for rare ones mostly above, never below 93 %.
    """
    rest = STORMS - splits().sum(axis=1, keepdims=True)
    probabilities = [only_a, only_b, 1.0 - only_a - only_b]
    chance = multinomial.pmf(np.hstack([splits(), rest]), STORMS, probabilities)
    truth = only_a - only_b
    held = (limits[:, 0] <= truth + 1e-12) & (truth - 1e-12 <= limits[:, 1])
    covered = float(chance[held].sum())
    assert covered >= 0.93
    if (only_a, only_b) in COMMON:
        assert 0.94 <= covered <= 0.96


def test_without_common_storms_nothing_is_known() -> None:
    found = compare(Pair(0, 0, 0, 0, 12))
    assert np.isnan(found[:3]).all()
    assert found.p_value == 1.0


def test_comparison_says_which_of_two_failed_more() -> None:
    found = compare(Pair(3, 87, 5, 905, 0))
    assert found.difference == pytest.approx(-0.084)
    assert found.upper < 0.0
    assert found.p_value < 1e-20


def test_holm_meets_a_worked_example() -> None:
    """By hand: 4 times the least, 3 times the next, and so on, never falling, never above 1."""
    assert holm([0.01, 0.04, 0.03, 0.005]) == pytest.approx([0.03, 0.06, 0.06, 0.02])
    assert holm([0.9, 0.6]) == pytest.approx([1.0, 1.0])
    assert holm([]).size == 0


def test_holm_keeps_the_error_of_all_comparisons_together() -> None:
    """Of 20 comparisons without a difference one in twenty studies may show one, not two thirds."""
    p = np.random.default_rng(11).uniform(size=(4000, 20))
    wrong = np.mean([(holm(row) < 0.05).any() for row in p])
    assert 0.04 <= wrong <= 0.06
    assert np.mean((p < 0.05).any(axis=1)) > 0.6
