"""The generalised extreme value law of a sample some of which is only known to lie further out.

F(x) = exp(−(1 + ξ s)^(−1/ξ)), s = (x − location)/scale; ξ > 0 has a heavy tail, ξ < 0 an end. ξ is
the shape here; scipy.stats.genextreme counts it the other way round, c = −ξ. (S. Coles, An
Introduction to Statistical Modeling of Extreme Values, Springer 2001, chapter 3.)
"""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq, minimize

Floats = NDArray[np.float64]

SHAPES = (-0.5, 1.0)
"""Between these the likelihood has its usual properties (Coles, 3.3.1), and the law a mean."""
GUMBEL = 1e-4
"""Below such a shape the law is expanded about that of Gumbel, which it nears without a jump."""


class Sample(NamedTuple):
    """Values `seen`, and those `beyond` of which only a bound is known that they lie above."""

    seen: Floats
    beyond: Floats

    @property
    def size(self) -> int:
        """How many values, of either kind."""
        return self.seen.size + self.beyond.size


class Law(NamedTuple):
    """A fitted law in the unit of the sample, and the logarithm of its likelihood."""

    location: float
    scale: float
    shape: float
    log_likelihood: float

    @property
    def frozen(self) -> Any:
        """The law as scipy.stats has it."""
        from scipy import stats  # slow to import: tables of other things must not wait for it

        return stats.genextreme(-self.shape, self.location, self.scale)

    def level(self, runs: float) -> float:
        """What is passed on average once in so many runs."""
        return float(self.frozen.isf(1.0 / runs))


def log_likelihood(sample: Sample, parameters: Floats) -> tuple[float, Floats]:
    """log L at (location, log scale, shape) and its gradient; −inf where the law does not reach."""
    location, scale, shape = parameters[0], math.exp(parameters[1]), parameters[2]
    total, gradient = -sample.seen.size * parameters[1], np.zeros(3)
    gradient[1] = -sample.seen.size
    for values, counted in ((sample.seen, True), (sample.beyond, False)):
        s = (values - location) / scale
        t = 1.0 + shape * s
        if values.size and not t.min() > 0.0:
            return -math.inf, np.zeros(3)
        w, bent = _reduced(s, t, shape)
        v = np.exp(np.minimum(-w, 700.0))
        if counted:
            total -= float((1.0 + shape) * w.sum() + v.sum())
            by_w = v - (1.0 + shape)
            gradient[2] -= w.sum()
        else:
            total += float(np.log(-np.expm1(-v)).sum())
            by_w = -v / np.expm1(np.minimum(v, 700.0))
        gradient += [-(by_w / t).sum() / scale, -(by_w * s / t).sum(), (by_w * bent).sum()]
    return float(total), gradient


def _reduced(s: Floats, t: Floats, shape: float) -> tuple[Floats, Floats]:
    """The reduced variate w = log(1 + ξ s)/ξ and its slope over ξ."""
    if abs(shape) < GUMBEL:
        return s * (1.0 - shape * s * (0.5 - shape * s / 3.0)), s * s * (2.0 * shape * s / 3 - 0.5)
    w = np.log(t) / shape
    return w, (s / t - w) / shape


def fitted(sample: Sample, first: Law | None = None) -> Law:
    """The likeliest law; `first` a guess of it.

    The shape is kept within SHAPES: one that comes to an end of them is not to be relied on.
    """
    if first is None:
        every = np.concatenate(sample)
        scale = max(float(np.std(every)), 1e-12) * math.sqrt(6.0) / math.pi
        first = Law(float(np.mean(every)) - 0.5772 * scale, scale, 0.1, math.nan)

    def less(x: Floats) -> tuple[float, Floats]:
        if _outside(log_scale + x[1], x[2]):
            return math.inf, np.zeros(3)
        value, gradient = log_likelihood(
            sample, np.array([first.location + first.scale * x[0], log_scale + x[1], x[2]])
        )
        return -value, -gradient * (first.scale, 1.0, 1.0)

    log_scale = math.log(first.scale)
    best = _least(less, np.array([0.0, 0.0, first.shape]), sample.size)
    return Law(
        first.location + first.scale * float(best.x[0]),
        first.scale * math.exp(float(best.x[1])),
        float(best.x[2]),
        -float(best.fun),
    )


def _outside(log_scale: float, shape: float) -> bool:
    """Whether no law is looked for there; a step of the search may land anywhere."""
    return not (SHAPES[0] < shape < SHAPES[1] and abs(log_scale) < 300.0)


def _least(function: Any, start: Floats, size: int) -> Any:
    """Where a function with its gradient is least; it may be infinite outside.

    In steps of 1/√size, the scatter of an estimate, in which every direction bends about alike.
    """
    step = 1.0 / math.sqrt(size)

    def scaled(y: Floats) -> tuple[float, Floats]:
        value, gradient = function(start + step * y)
        return value, step * gradient

    with np.errstate(all="ignore"):
        best = minimize(scaled, np.zeros(start.size), jac=True, method="BFGS",
                        options={"gtol": 1e-3})  # fmt: skip
    best.x = start + step * best.x
    return best


def level_limits(
    sample: Sample, law: Law, runs: float, ceiling: float, level: float = 0.95
) -> tuple[float, float]:
    """Limits of what is passed once in so many runs, where its profile likelihood has fallen.

    It falls by half the quantile of chi-square of one degree (Coles, 2.6.6 and 3.3.3). A limit
    beyond the `ceiling` is infinite.
    """
    from scipy import stats

    fall = 0.5 * float(stats.chi2.ppf(level, 1))
    log_of = math.log(-math.log1p(-1.0 / runs))
    middle = law.level(runs)
    likeliest = middle, np.array([math.log(law.scale), law.shape])
    last = likeliest

    def beyond(z: float) -> float:
        nonlocal last

        def less(x: Floats) -> tuple[float, Floats]:
            return _at_level(sample, z, log_of, x)

        # Laws about the place of the last one; that of Gumbel reaches everywhere.
        starts = [_stretched(*each, z, log_of) for each in (last, likeliest)]
        starts += [np.array([likeliest[1][0], 0.0])]
        best = _least(less, min(starts, key=lambda x: less(x)[0]), sample.size)
        last = z, best.x
        return law.log_likelihood + float(best.fun) - fall

    low = _outward(beyond, middle, -0.25 * law.scale, -math.inf)
    last = likeliest
    return low, _outward(beyond, middle, 0.25 * law.scale, ceiling)


def _stretched(at: float, x: Floats, z: float, log_of: float) -> Floats:
    """Log scale and shape of a law with its level `at`, stretched to have it at `z`."""
    reach = math.exp(x[0]) * _above(float(x[1]), log_of)[0]
    share = (z - at + reach) / reach
    return np.array([x[0] + (math.log(share) if share > 0.0 else 0.0), x[1]])


def _above(shape: float, log_of: float) -> tuple[float, float]:
    """How many scales a level stands above the location, (e^(−ξ log_of) − 1)/ξ; its slope."""
    if abs(shape) < GUMBEL:
        return -log_of + 0.5 * shape * log_of**2, 0.5 * log_of**2
    power = math.exp(-shape * log_of)
    scales = (power - 1.0) / shape
    return scales, (-log_of * power - scales) / shape


def _at_level(sample: Sample, z: float, log_of: float, x: Floats) -> tuple[float, Floats]:
    """−log L over (log scale, shape) of the laws that have their level at `z`, and its gradient."""
    if _outside(*x):
        return math.inf, np.zeros(2)
    scale, shape = math.exp(x[0]), float(x[1])
    q, by_shape = _above(shape, log_of)
    value, (by_location, by_scale, by_own) = log_likelihood(
        sample, np.array([z - scale * q, x[0], shape])
    )
    gradient = [by_scale - scale * q * by_location, by_own - scale * by_shape * by_location]
    return -value, -np.array(gradient)


def _outward(beyond: Any, middle: float, step: float, end: float) -> float:
    """Where `beyond` turns positive on the way out from `middle`; infinite past the `end`."""
    inner, outer = middle, middle
    for _ in range(60):
        if step > 0.0 and outer >= end:
            return math.inf
        inner, outer = outer, min(outer + step, end) if step > 0.0 else outer + step
        if beyond(outer) > 0.0:
            return float(brentq(beyond, inner, outer, xtol=1e-4 * abs(step)))
        step *= 1.5
    return math.copysign(math.inf, step)
