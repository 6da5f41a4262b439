"""Failure rates against known limits, exact identities and simulated failures."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import chi2

from rollsim.measures.outcome import Event
from rollsim.measures.rates import (
    MeanTime,
    censored_rate,
    exposure,
    hourly,
    mean_time,
    poisson_limits,
)

# The project's reference collection, part D: checked numerically there, no document behind them.
KNOWN = [
    (0, 0.0, 3.688879),
    (1, 0.025318, 5.571643),
    (5, 1.623486, 11.668332),
    (10, 4.795389, 18.390356),
    (20, 12.216520, 30.888378),
    (100, 81.363991, 121.626794),
]


@pytest.mark.parametrize(("k", "lower", "upper"), KNOWN)
def test_limits_meet_the_reference_collection(k: int, lower: float, upper: float) -> None:
    assert np.allclose(poisson_limits(k), (lower, upper), rtol=0, atol=5.1e-7)


@given(st.integers(0, 5000), st.sampled_from([0.5, 0.9, 0.95, 0.99]))
def test_limits_are_half_the_quantiles_of_chi_square(k: int, level: float) -> None:
    lower, upper = poisson_limits(k, level)
    tail = (1.0 - level) / 2.0
    expected = chi2.ppf(tail, 2 * k) / 2.0 if k else 0.0
    assert lower == pytest.approx(expected, rel=1e-9)
    assert upper == pytest.approx(chi2.ppf(1.0 - tail, 2 * k + 2) / 2.0, rel=1e-9)
    assert lower <= k <= upper


def test_a_negative_count_is_refused() -> None:
    with pytest.raises(ValueError, match="cannot be negative"):
        poisson_limits([3, -1])


#           survived, roll limit, capsized, not run, not solved, early, capsized early
OUTCOME = [1, 2, 4, 0, 5, 3, 4]
EARLY = [0, 0, 0, 0, 0, 1, 1]
FAILURE = [np.nan, 40.0, 70.0, np.nan, np.nan, 5.0, 4.0]
END = [100.0, 100.0, 90.0, np.nan, 33.0, 100.0, 8.0]


def test_exposure_to_failure_counts_runs_that_had_not_failed_by_settle() -> None:
    """By hand, from settle = 10 s: to the first passing, or to the end."""
    exposed = exposure("failure", OUTCOME, EARLY, FAILURE, END, 10.0)
    assert [int(exposed.events), float(exposed.time)] == [2, (100 - 10) + (40 - 10) + (70 - 10)]


def test_exposure_to_capsize_counts_all_runs_that_still_went_on_at_settle() -> None:
    """By hand: the run that passed another limit early can still capsize, the capsized cannot."""
    exposed = exposure("capsize", OUTCOME, EARLY, FAILURE, END, 10.0)
    assert [int(exposed.events), float(exposed.time)] == [1, 90 + 90 + 80 + 90]


@pytest.mark.parametrize("event", ["capsize", "failure"])
def test_a_run_that_ends_at_settle_itself_stands_no_chance(event: Event) -> None:
    exposed = exposure(event, [4], [0], [10.0], [10.0], 10.0)
    assert [int(exposed.events), float(exposed.time)] == [0, 0.0]


def test_every_case_of_an_array_has_its_own_exposure_and_rate() -> None:
    outcome, end = [[1, 4], [1, 1]], [[3600.0, 1800.0], [3600.0, 3600.0]]
    failure = [[np.nan, 1800.0], [np.nan, np.nan]]
    exposed = exposure("capsize", outcome, np.zeros((2, 2)), failure, end, 0.0)
    rate = hourly(exposed, [True, True])
    assert rate.rate.tolist() == [1 / 1.5, 0.0]
    assert rate.lower[0] == pytest.approx(0.025318 / 1.5, abs=1e-6)
    assert rate.upper[1] == pytest.approx(3.688879 / 2.0, rel=1e-6)
    assert np.isnan(hourly(exposed, [False, True]).rate).tolist() == [True, False]


def test_a_run_shorter_than_its_settling_stands_no_time() -> None:
    exposed = exposure("failure", [1], [0], [np.nan], [60.0], 100.0)
    assert [int(exposed.events), float(exposed.time)] == [0, 0.0]


def test_rate_and_mean_time_are_each_other_upside_down() -> None:
    rate = censored_rate(5, 20.0)
    assert rate == pytest.approx((0.25, 1.623486 / 20, 11.668332 / 20), rel=1e-6)
    time = mean_time(rate)
    assert time == pytest.approx((4.0, 1 / rate.upper, 1 / rate.lower))


def test_without_a_failure_there_is_still_a_least_mean_time() -> None:
    time = mean_time(censored_rate(0, 100.0))
    assert time.mean == math.inf
    assert time.lower == pytest.approx(100.0 / 3.688879, rel=1e-6)
    assert time.upper == math.inf


def test_without_time_nothing_is_known() -> None:
    assert all(np.isnan(censored_rate(0, 0.0)))
    assert all(np.isnan(mean_time(censored_rate(0, 0.0))))
    assert isinstance(mean_time(censored_rate(0, 0.0)), MeanTime)


@pytest.mark.parametrize("duration", [0.2, 1.0, 4.0])
def test_rate_of_cut_exponential_times_is_right_and_its_limits_hold_it(duration: float) -> None:
    """Times to failure of rate 1, cut at the duration: a naive mean of them would be far too low.

    4000 studies of 60 runs; the limits must hold the truth in about 95 % or a little more.
    """
    times = np.random.default_rng(5).exponential(1.0, (4000, 60))
    failed = times < duration
    outcome, end = np.where(failed, 4, 1), np.minimum(times, duration)
    rates = []
    for row, stop in zip(outcome, end, strict=True):
        found = exposure("failure", row, np.zeros(60), stop, stop, 0.0)
        rates.append(censored_rate(found.events, found.time))
    held = np.mean([rate.lower <= 1.0 <= rate.upper for rate in rates])
    assert np.mean([rate.rate for rate in rates]) == pytest.approx(1.0, abs=0.03)
    assert 0.945 <= held <= 0.985
