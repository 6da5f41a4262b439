"""The fragility: a distribution of severity factors with its band and a lognormal beside it."""

from __future__ import annotations

import math

import numpy as np
import pytest

from rollsim.measures.fragility import Lognormal, fragility, lognormal
from rollsim.measures.probability import clopper_pearson

TRIED = (0.5, 2.5)


def test_the_share_is_that_of_the_storms_with_no_greater_factor() -> None:
    curve = fragility([-math.inf, 0.8, 1.2, math.inf], [0.5, 0.8, 1.0, 1.2, 2.5])
    assert curve.share.tolist() == [0.25, 0.5, 0.5, 0.75, 0.75]
    lower, upper = clopper_pearson([1, 2, 2, 3, 3], 4)
    assert curve.lower.tolist() == lower.tolist()
    assert curve.upper.tolist() == upper.tolist()
    assert np.isnan(fragility([], [1.0]).share).all()


@pytest.mark.parametrize("median", [1.3, 2.3, 0.55])
def test_the_lognormal_is_found_where_much_of_it_is_censored(median: float) -> None:
    sample = median * np.exp(np.random.default_rng(3).normal(0.0, 0.3, 4000))
    seen = np.where(sample > TRIED[1], math.inf, np.where(sample <= TRIED[0], -math.inf, sample))
    law = lognormal(seen, TRIED)
    assert law is not None
    assert law.median == pytest.approx(median, rel=0.02)
    assert law.deviation == pytest.approx(0.3, rel=0.05)


def test_a_lognormal_is_refused_where_the_storms_do_not_carry_it() -> None:
    assert lognormal([1.0, 1.1, 1.2, 1.3], TRIED) is None
    assert lognormal([1.0, 1.1, 1.2, 1.3, 1.4] + [math.inf] * 6, TRIED) is None
    assert lognormal([1.0] * 9, TRIED) is None


def test_the_lognormal_is_one_half_at_its_median() -> None:
    law = Lognormal(1.4, 0.2)
    assert law.share(1.4) == pytest.approx(0.5)
    assert law.share(1.4 * math.exp(0.2)) == pytest.approx(0.8413447)
