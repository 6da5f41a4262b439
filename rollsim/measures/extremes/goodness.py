"""Whether a sample may come from the law that was fitted to it: Anderson and Darling's test."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from rollsim.measures.extremes.gev import Floats, Law, Sample, fitted

DRAWS = 199
"""Samples drawn from the law: p is known to half a per cent."""
MOST = 200
"""The size of a drawn sample, where the real one is larger: the law of A² hardly changes then."""
SEED = 20


def anderson_darling(sample: Sample, law: Law) -> float:
    """A² = n ∫ (F_n − F)²/(F (1 − F)) dF, up to the least of the bounds beyond which values lie.

    T. W. Anderson and D. A. Darling, "Asymptotic theory of certain goodness of fit criteria based
    on stochastic processes", Annals of Mathematical Statistics 23, 1952; here the integral itself,
    from step to step of the counted F_n, so that it may end anywhere.
    """
    end = 1.0
    values = np.sort(sample.seen)
    if sample.beyond.size:
        bound = float(sample.beyond.min())
        values, end = values[values < bound], float(law.frozen.cdf(bound))
    inner = np.clip(law.frozen.cdf(values), 1e-300, 1.0 - 1e-16)
    lower, upper = np.concatenate(([0.0], inner)), np.concatenate((inner, [end]))
    counted = np.arange(values.size + 1) / sample.size

    def integral(u: Floats) -> Floats:
        with np.errstate(divide="ignore", invalid="ignore"):
            first = np.where(counted > 0.0, counted**2 * np.log(u), 0.0)
            last = np.where(counted < 1.0, (1.0 - counted) ** 2 * np.log1p(-u), 0.0)
        return np.asarray(first - last - u)

    return float(sample.size * np.sum(integral(upper) - integral(lower)))


def goodness(sample: Sample, law: Law) -> float:
    """How often a sample of the law itself fits worse than this one does, by A².

    Each drawn sample has its own fit, as this one has (parametric bootstrap): without that the
    test would find almost everything good. The draws are the same every time.
    """
    generator = np.random.default_rng(SEED)
    size = min(sample.size, MOST)
    bound = float(sample.beyond.min()) if sample.beyond.size else math.inf
    reached = anderson_darling(sample, law)
    worse = sum(_drawn(law, size, bound, generator.random) >= reached for _ in range(DRAWS))
    return (1 + worse) / (1 + DRAWS)


def _drawn(law: Law, size: int, bound: float, uniform: Callable[[int], Floats]) -> float:
    """A² of a sample drawn from the law, whose values beyond `bound` are not seen."""
    values = law.frozen.ppf(uniform(size))
    out = values >= bound
    drawn = Sample(values[~out], np.full(int(out.sum()), bound))
    return anderson_darling(drawn, fitted(drawn, law))
