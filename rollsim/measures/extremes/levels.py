"""What the greatest roll of a run says of runs that were not made: return levels, within a rule.

The rule: a law is fitted from FEWEST runs on that did not capsize; levels are given up to once in
FURTHEST times as many runs as there are, where the law fits, and none beyond the angle at which a
run ends as capsized, for there the rolls of such runs are at an end.
"""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from rollsim.measures.extremes.gev import SHAPES, Law, Sample, fitted, level_limits
from rollsim.measures.extremes.goodness import goodness

FEWEST = 20
FURTHEST = 3
FITS = 0.05
"""A law whose goodness of fit is below this is taken for none of the sample's."""


class Level(NamedTuple):
    """What is passed on average once in so many runs, with limits; infinite past the capsize."""

    runs: int
    value: float
    lower: float
    upper: float


class Rival(NamedTuple):
    """Another law beside: its parameters, how much more its AIC is, its levels without limits."""

    scale: float
    shape: float
    aic_more: float
    levels: tuple[float, ...]
    frozen: Any
    """The law as scipy.stats has it."""


class Extremes(NamedTuple):
    """The generalised extreme value law of the greatest roll in a run, and what it gives.

    `reason` says why there are no levels, and is empty where there are; `law` is None where none
    can be fitted. `rivals` by name. Angles in the unit of the sample.
    """

    runs: int
    capsized: int
    law: Law | None
    goodness: float
    levels: tuple[Level, ...]
    rivals: dict[str, Rival]
    reason: str


def extremes(greatest: ArrayLike, capsized: ArrayLike, ceiling: float) -> Extremes:
    """Of runs (n,) whose greatest |roll| is known, capsized ones up to where they ended.

    Those would have rolled further: they count as bounds, not as values. `ceiling` is the capsize
    angle, in the same unit.
    """
    roll, over = np.asarray(greatest, dtype=np.float64), np.asarray(capsized, dtype=np.bool_)
    sample = Sample(roll[~over], roll[over])
    none = Extremes(roll.size, int(over.sum()), None, math.nan, (), {}, "")
    if sample.seen.size < FEWEST:
        return none._replace(reason=f"fewer than {FEWEST} runs that did not capsize")
    if np.ptp(sample.seen) < 1e-6 * np.max(np.abs(sample.seen), initial=1e-300):
        return none._replace(reason="every run rolls alike")
    law = fitted(sample)
    fits = goodness(sample, law)
    known = none._replace(law=law, goodness=fits)
    if fits < FITS:
        return known._replace(reason="the law does not fit")
    if not SHAPES[0] + 0.01 < law.shape < SHAPES[1] - 0.01:
        return known._replace(reason="the shape lies where limits by likelihood do not hold")
    periods = return_periods(roll.size)
    every = (_level(sample, law, runs, ceiling) for runs in periods)
    # Of one that lies beyond the capsize with its limits nothing is said.
    levels = tuple(level for level in every if level.lower < ceiling)
    periods = tuple(level.runs for level in levels)
    rivals = {name: _rival(name, sample, law, periods, ceiling) for name in RIVALS}
    return known._replace(levels=levels, rivals=rivals)


def return_periods(runs: int) -> tuple[int, ...]:
    """10, 30, 100, .. runs, as far as so many runs carry."""
    steps = (m * 10**e for e in range(1, 12) for m in (1, 3))
    return tuple(step for step in steps if step <= FURTHEST * runs)


def _level(sample: Sample, law: Law, runs: int, ceiling: float) -> Level:
    value = law.level(runs)
    return Level(runs, _within(value, ceiling), *level_limits(sample, law, runs, ceiling))


def _within(value: float, ceiling: float) -> float:
    return value if value < ceiling else math.inf


RIVALS = {"weibull": "weibull_min", "rayleigh": "rayleigh"}
"""Laws from zero upward, as scipy.stats calls them; the Rayleigh law is that of single peaks, a
Weibull law of shape 2."""


def _rival(name: str, sample: Sample, law: Law, periods: tuple[int, ...], ceiling: float) -> Rival:
    """A law of RIVALS beside that of the extreme values, by its likelihood as well."""
    from scipy import stats

    family = getattr(stats, RIVALS[name])
    data = stats.CensoredData(uncensored=sample.seen, right=sample.beyond)
    *shape, _, scale = family.fit(data, floc=0.0)
    own = family(*shape, scale=scale)
    log_likelihood = own.logpdf(sample.seen).sum() + own.logsf(sample.beyond).sum()
    aic = 2.0 * (len(shape) + 1) - 2.0 * float(log_likelihood)
    levels = tuple(_within(float(own.isf(1.0 / runs)), ceiling) for runs in periods)
    more = aic - (6.0 - 2.0 * law.log_likelihood)
    return Rival(float(scale), float(shape[0]) if shape else math.nan, more, levels, own)
