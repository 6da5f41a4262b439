"""Severity factors: the grid, where the first failure lies, quantiles and ratios with limits."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import stats

from rollsim.measures.severity import (
    PARTS,
    REFINEMENTS,
    bracket,
    extended,
    factors_tried,
    quantile,
    ranks,
    ratio,
)
from rollsim.names import Outcome, SeverityFound

Floats = NDArray[np.float64]
TRIED = (0.5, 2.5)
S, F, C, U = Outcome.SURVIVED, Outcome.ROLL_LIMIT, Outcome.CAPSIZED, Outcome.NOT_SOLVED


@pytest.mark.parametrize("ends", [(0.5, 2.5), (1.0, 3.0), (0.2, 1.0), (1.2, 1.3), (0.9, 1.1)])
def test_the_grid_is_finer_than_five_percent_and_its_parts_than_a_third(
    ends: tuple[float, float],
) -> None:
    grid = factors_tried(*ends)
    steps = grid[1:] / grid[:-1]
    assert (grid[0], grid[-1]) == ends
    assert np.all((steps > 1.0) & (steps < 1.05))
    assert np.max(steps) ** (1.0 / PARTS**REFINEMENTS) < 1.003
    assert (1.0 in grid) == (ends[0] <= 1.0 <= ends[1])


@pytest.mark.parametrize(
    ("codes", "found", "first", "islands"),
    [
        ([S, S, F, F, C], SeverityFound.FOUND, 2, 0),
        ([S, F, S, S, F], SeverityFound.FOUND, 1, 1),
        ([S, F, S, F, S], SeverityFound.FOUND, 1, 2),
        ([F, S, S, F, F], SeverityFound.ALREADY_AT_FROM, 0, 1),
        ([S, S, S, S, S], SeverityFound.NONE_UP_TO, 5, 0),
        ([S, U, S, F, F], SeverityFound.NOT_SOLVED, 3, 0),
        ([S, S, S, U, S], SeverityFound.NOT_SOLVED, 5, 0),
        ([S, F, U, F, F], SeverityFound.FOUND, 1, 0),
        ([S, F, S, U, S], SeverityFound.FOUND, 1, 1),
        ([U, F, F, F, F], SeverityFound.NOT_SOLVED, 1, 0),
    ],
)
def test_the_first_failure_and_the_islands_above_it(
    codes: list[int], found: int, first: int, islands: int
) -> None:
    one = bracket(np.array(codes)[:, None], "failure")
    assert (one.found[0], one.first[0], one.islands[0]) == (found, first, islands)


def test_a_limit_is_no_capsize() -> None:
    codes = np.array([S, F, F, C])[:, None]
    assert bracket(codes, "capsize").first[0] == 3
    assert bracket(codes, "failure").first[0] == 1


def test_beyond_the_range_is_never_left_out_and_without_answer_never_counts() -> None:
    factor = np.array([1.2, np.nan, np.nan, np.nan, np.nan])
    found = np.array([1, 2, 3, 4, 0])
    assert extended(factor, found).tolist() == [1.2, math.inf, -math.inf]


def test_the_lower_limit_of_the_twentieth_needs_72_storms() -> None:
    # Exact: 0.95^71 = 0.0262 > 0.025 > 0.95^72 = 0.0249.
    assert ranks(71, 0.05)[0] == 0
    assert ranks(72, 0.05)[0] == 1
    assert math.isnan(quantile(np.arange(71.0), 0.05).lower)
    assert quantile(np.arange(72.0), 0.05).lower == 0.0


@pytest.mark.parametrize(("size", "lower", "upper"), [(6, 1, 6), (16, 4, 13), (100, 40, 61)])
def test_limits_of_the_median_are_those_of_the_sign_test(size: int, lower: int, upper: int) -> None:
    # Exact: of 16, P(B ≤ 3) = 0.0106 and P(B ≤ 4) = 0.0384, B binomial with 1/2.
    assert ranks(size, 0.5) == (lower, upper)


@pytest.mark.parametrize("share", [0.05, 0.5])
@pytest.mark.parametrize("size", [5, 16, 72, 200])
def test_limits_of_quantiles_hold_at_least_as_often_as_they_say(size: int, share: float) -> None:
    lower, upper = ranks(size, share)
    count = stats.binom(size, share)
    assert count.cdf(lower - 1) <= 0.025  # the limit lies above the quantile
    assert count.sf(upper - 1) <= 0.025
    assert lower == 0 or count.cdf(lower) > 0.025  # and no nearer one would do
    assert upper > size or count.sf(upper - 2) > 0.025


def test_quantiles_of_censored_samples() -> None:
    sample = [-math.inf, 1.0, 1.2, 1.4, math.inf, math.inf, math.inf]
    middle = quantile(sample, 0.5)
    assert middle.value == 1.4
    assert (middle.lower, middle.upper) == (-math.inf, math.inf)
    assert quantile([1.0, 2.0, 3.0, 5.0], 0.5).value == 2.5
    assert quantile([1.0, math.inf], 0.5).value == math.inf
    assert quantile([-math.inf, math.inf], 0.5).value == -math.inf
    assert all(math.isnan(value) for value in quantile([], 0.5))


def censored(value: Floats) -> tuple[Floats, NDArray[np.int8]]:
    """Factors as a search between the ends of TRIED finds them."""
    found = np.full(value.shape, SeverityFound.FOUND, dtype=np.int8)
    found[value > TRIED[1]] = SeverityFound.NONE_UP_TO
    found[value <= TRIED[0]] = SeverityFound.ALREADY_AT_FROM
    return np.where(found == SeverityFound.FOUND, value, np.nan), found


def pairs(
    random: np.random.Generator, middle: float, true: float, size: int = 16
) -> tuple[Floats, Floats]:
    """Factors of two loadings in common storms, the median of their ratio `true`."""
    storm = random.normal(0.0, 0.25, size)
    second = middle * np.exp(storm + random.normal(0.0, 0.05, size))
    return second * true * np.exp(random.standard_t(4, size) * 0.08), second


@pytest.mark.parametrize("middle", [1.2, 2.2, 0.6, 3.5])
def test_limits_of_the_ratio_cover_it_also_where_factors_are_censored(middle: float) -> None:
    """Exactly 97.9 % at 16 pairs without censoring (sign test), more with it."""
    random = np.random.default_rng(5)
    true, held, repeats = 1.15, 0, 1500
    for _ in range(repeats):
        first, second = pairs(random, middle, true)
        got = ratio(censored(first), censored(second), TRIED)
        held += not got.lower > true and not got.upper < true
    assert held / repeats > 0.979 - 3.5 * math.sqrt(0.979 * 0.021 / repeats)
    if middle == 1.2:
        assert held / repeats < 0.979 + 3.5 * math.sqrt(0.979 * 0.021 / repeats)


def test_a_pair_beyond_the_range_counts_as_all_that_it_may_be() -> None:
    both_above = ratio(censored(np.full(9, 3.0)), censored(np.full(9, 3.0)), TRIED)
    assert math.isnan(both_above.value)
    assert (both_above.least, both_above.most) == (0.0, math.inf) or both_above.least < 1.0
    one_above = ratio(censored(np.full(9, 3.0)), censored(np.full(9, 1.25)), TRIED)
    assert one_above.least == pytest.approx(2.0)
    assert one_above.most == math.inf
    assert one_above.lower == pytest.approx(2.0)
    assert math.isnan(one_above.upper)
    assert one_above.shown


def test_a_storm_without_an_answer_is_no_pair() -> None:
    first = np.array([1.5, np.nan, 1.5]), np.array([1, 4, 1])
    second = np.array([1.0, 1.0, np.nan]), np.array([1, 1, 0])
    got = ratio(first, second, TRIED)
    assert (got.pairs, got.value) == (1, 1.5)
    assert ratio(first, (second[0], np.zeros(3)), TRIED).pairs == 0
