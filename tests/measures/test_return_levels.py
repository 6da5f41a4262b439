"""The law of the greatest rolls against scipy's, closed forms, and the truth it was drawn from."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import stats
from scipy.optimize import approx_fprime

from rollsim.measures.extremes.gev import Law, Sample, fitted, level_limits, log_likelihood
from rollsim.measures.extremes.goodness import anderson_darling, goodness
from rollsim.measures.extremes.levels import FEWEST, FURTHEST, extremes, return_periods

Floats = NDArray[np.float64]
NONE = np.zeros(0)
CEILING = 90.0


def drawn(shape: float, size: int, seed: int = 1) -> Floats:
    """Values of the law about 20 with scale 4."""
    generator = np.random.default_rng(seed)
    return np.asarray(stats.genextreme.rvs(-shape, 20.0, 4.0, size, random_state=generator))


def all_known(values: Floats) -> Sample:
    """A sample of which every value is seen."""
    return Sample(values, NONE)


@pytest.mark.parametrize("shape", [-0.3, -1e-5, 0.0, 5e-5, 2e-4, 0.3])
def test_the_likelihood_is_scipys_and_its_slope_its_own(shape: float) -> None:
    sample = Sample(drawn(-0.3, 40), np.array([24.0, 31.0]))
    at = np.array([19.0, math.log(5.0), shape])
    law = stats.genextreme(-shape, 19.0, 5.0)
    whole = law.logpdf(sample.seen).sum() + law.logsf(sample.beyond).sum()
    value, gradient = log_likelihood(sample, at)
    assert value == pytest.approx(whole, rel=1e-7)
    slope = approx_fprime(at, lambda x: log_likelihood(sample, x)[0], 1e-7)
    assert gradient == pytest.approx(slope, rel=1e-4, abs=1e-4)


def test_a_value_that_no_law_of_the_kind_reaches_has_no_likelihood() -> None:
    value, _ = log_likelihood(all_known(np.array([31.0])), np.array([20.0, math.log(4.0), -0.4]))
    assert value == -math.inf


@pytest.mark.parametrize("shape", [-0.2, 0.0, 0.2])
def test_the_fit_is_scipys_own(shape: float) -> None:
    values = drawn(shape, 400)
    law = fitted(all_known(values))
    c, location, scale = stats.genextreme.fit(values)
    assert (law.location, law.scale) == pytest.approx((location, scale), rel=1e-4)
    assert law.shape == pytest.approx(-c, abs=1e-4)
    assert law.log_likelihood == pytest.approx(law.frozen.logpdf(values).sum(), rel=1e-9)


def test_the_fit_goes_with_the_unit() -> None:
    values = drawn(0.1, 200)
    one, other = fitted(all_known(values)), fitted(all_known(1e-3 * values + 5.0))
    assert other.location == pytest.approx(1e-3 * one.location + 5.0, rel=1e-6)
    assert (other.scale, other.shape) == pytest.approx((1e-3 * one.scale, one.shape), rel=1e-3)


def test_values_known_to_lie_beyond_a_bound_do_not_bend_the_law() -> None:
    """4000 values, those above 28 known to be above it alone: the same law within 3 errors."""
    values = drawn(-0.1, 4000)
    over = values > 28.0
    whole = fitted(all_known(values))
    cut = fitted(Sample(values[~over], np.full(int(over.sum()), 28.0)))
    assert 0.05 < over.mean() < 0.15
    assert (cut.location, cut.scale) == pytest.approx((whole.location, whole.scale), rel=0.01)
    assert cut.shape == pytest.approx(whole.shape, abs=0.05)
    left_out = fitted(all_known(values[~over]))
    assert abs(left_out.level(100.0) - whole.level(100.0)) > 3.0
    assert cut.level(100.0) == pytest.approx(whole.level(100.0), abs=1.0)


def test_a_level_is_passed_once_in_so_many_runs() -> None:
    """Exact, Gumbel: location − scale log(−log(1 − 1/N))."""
    law = Law(20.0, 4.0, 0.0, 0.0)
    assert law.level(100.0) == pytest.approx(20.0 - 4.0 * math.log(-math.log(0.99)), rel=1e-12)


def test_limits_hold_the_level_and_narrow_with_the_sample() -> None:
    widths = []
    for size in (100, 10000):
        sample = all_known(drawn(-0.1, size))
        law = fitted(sample)
        low, high = level_limits(sample, law, 100, CEILING)
        assert low < law.level(100) < high
        assert high - law.level(100) > law.level(100) - low
        widths.append(high - low)
    assert widths[0] / widths[1] == pytest.approx(10.0, rel=0.5)


def test_a_limit_beyond_the_ceiling_is_infinite() -> None:
    sample = all_known(drawn(0.3, 40))
    law = fitted(sample)
    _, high = level_limits(sample, law, 100, 1e3)
    assert level_limits(sample, law, 100, high - 0.01)[1] == math.inf
    assert level_limits(sample, law, 100, high + 0.01)[1] == pytest.approx(high, abs=1e-3)


def test_anderson_and_darlings_sum_is_their_integral() -> None:
    """Exact without bounds: A² = −n − Σ (2i − 1)(ln u_i + ln(1 − u_(n+1−i)))/n."""
    values, law = drawn(0.0, 50), Law(19.0, 5.0, 0.1, 0.0)
    u, i = np.sort(law.frozen.cdf(values)), np.arange(1, 51)
    exact = -50.0 - float(np.mean((2 * i - 1) * (np.log(u) + np.log1p(-u[::-1]))))
    assert anderson_darling(all_known(values), law) == pytest.approx(exact, rel=1e-12)


def test_the_integral_ends_where_values_are_only_known_to_lie_beyond() -> None:
    """By hand: of 2 values one at u = ½, one beyond ¾: F_n is 0 up to ½ and ½ up to ¾."""
    law = Law(20.0, 4.0, 0.1, 0.0)
    middle, bound = law.frozen.ppf([0.5, 0.75])
    low = -math.log(0.5) - 0.5
    high = 0.25 * math.log(0.75 / 0.5) - 0.25 * math.log(0.25 / 0.5) - 0.25
    reached = anderson_darling(Sample(np.array([middle]), np.array([bound])), law)
    assert reached == pytest.approx(2.0 * (low + high), rel=1e-9)


def test_what_is_no_such_law_is_found_out() -> None:
    generator = np.random.default_rng(3)
    two = np.concatenate([generator.normal(10.0, 1.0, 100), generator.normal(30.0, 1.0, 100)])
    found = extremes(two, np.zeros(200, dtype=bool), CEILING)
    assert found.goodness < 0.01
    assert found.levels == ()
    assert found.reason == "the law does not fit"


def test_the_goodness_is_the_same_every_time() -> None:
    sample = all_known(drawn(0.0, 60))
    assert goodness(sample, fitted(sample)) == goodness(sample, fitted(sample)) > 0.05


@pytest.mark.parametrize(
    ("greatest", "capsized", "reason"),
    [
        (drawn(0.0, FEWEST - 1), [False] * (FEWEST - 1), "fewer than 20 runs that did not"),
        (np.full(30, 90.0), [True] * 30, "fewer than 20 runs that did not capsize"),
        (np.full(30, 12.0), [False] * 30, "every run rolls alike"),
        (np.zeros(30), [False] * 30, "every run rolls alike"),
    ],
)
def test_too_little_gives_no_law_and_says_why(
    greatest: Floats, capsized: list[bool], reason: str
) -> None:
    found = extremes(greatest, capsized, CEILING)
    assert (found.law, found.levels, found.rivals) == (None, (), {})
    assert reason in found.reason


def test_levels_go_no_further_than_the_data_carry() -> None:
    assert return_periods(16) == (10, 30)
    assert return_periods(1000) == (10, 30, 100, 300, 1000, 3000)
    values = drawn(-0.1, 100)
    found = extremes(values, np.zeros(100, dtype=bool), CEILING)
    assert [level.runs for level in found.levels] == [10, 30, 100, 300]
    assert found.levels[-1].runs <= FURTHEST * 100
    assert all(level.lower < level.value < level.upper for level in found.levels)


def test_nothing_is_said_beyond_the_capsize_angle() -> None:
    """Of 300 runs those above 30° capsized there: once in 300 lies beyond, and is not given."""
    values = drawn(-0.1, 300)
    over = values > 30.0
    found = extremes(np.minimum(values, 30.0), over, 30.0)
    assert found.capsized == over.sum() > 5
    assert found.levels
    for level in found.levels:
        assert level.lower < 30.0
        assert level.value == math.inf or level.value < 30.0
    assert found.levels[-1].runs < 300


def test_rivals_are_fitted_by_likelihood_and_compared_by_it() -> None:
    """Exact: a Rayleigh scale² is half the mean square; the truth has the least AIC of the two."""
    values = np.random.default_rng(4).rayleigh(10.0, 500)
    found = extremes(values, np.zeros(500, dtype=bool), CEILING)
    rayleigh, weibull = found.rivals["rayleigh"], found.rivals["weibull"]
    assert rayleigh.scale**2 == pytest.approx(np.mean(values**2) / 2.0, rel=1e-6)
    assert weibull.shape == pytest.approx(2.0, abs=0.2)
    assert rayleigh.aic_more < weibull.aic_more < 0.0
    exact = [rayleigh.scale * math.sqrt(2.0 * math.log(level.runs)) for level in found.levels]
    assert rayleigh.levels == pytest.approx(exact, rel=1e-9)


@pytest.mark.slow
@pytest.mark.parametrize(("shape", "least"), [(-0.2, 0.92), (0.1, 0.92)])
def test_the_limits_hold_the_truth_as_often_as_they_say(shape: float, least: float) -> None:
    """Of 400 samples of 100, once in 100: 95 % by the theory of large samples, counted here."""
    truth = float(stats.genextreme.isf(0.01, -shape, 20.0, 4.0))
    held = 0
    for seed in range(400):
        sample = all_known(drawn(shape, 100, seed))
        low, high = level_limits(sample, fitted(sample), 100, 1e3)
        held += low <= truth <= high
    assert least < held / 400 < 0.98


@pytest.mark.slow
@pytest.mark.parametrize("bound", [math.inf, 27.0])
def test_a_true_law_is_found_wanting_as_seldom_as_the_test_says(bound: float) -> None:
    """Of 80 true samples about one in twenty falls below 0.05, seen whole or up to a bound."""
    below = 0
    for seed in range(80):
        values = drawn(-0.1, 60, seed)
        over = values > bound
        sample = Sample(values[~over], np.full(int(over.sum()), bound))
        below += goodness(sample, fitted(sample)) < 0.05
    assert 1 <= below <= 10
