"""Terms of the damping: which sets are tried, and the rule by which one is chosen."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

LINEAR, QUADRATIC, CUBIC = 0, 1, 2
KEYS = ("linear_per_s", "quadratic", "cubic_s")
"""The keys of [ship.damping], by the number of the term."""

Terms = tuple[int, ...]
CANDIDATES: dict[str, Terms] = {
    "linear": (LINEAR,),
    "quadratic": (QUADRATIC,),
    "linear+quadratic": (LINEAR, QUADRATIC),
    "linear+cubic": (LINEAR, CUBIC),
    "linear+quadratic+cubic": (LINEAR, QUADRATIC, CUBIC),
}
RESOLUTION = math.radians(1e-3)
"""What no record resolves [rad]."""
SLACK = 2.0
"""Difference of AICc below which the set of fewer terms is taken."""
RULE = (
    "Chosen: of the sets of terms whose coefficients all come out above 0, the one of fewest terms "
    "with AICc within 2 of the least; AICc counts only points that are independent of each other."
)


@dataclass(frozen=True)
class Estimate:
    """A coefficient with its 95 % limits, 0 the least that it can be."""

    value: float
    lower: float
    upper: float


def estimate(value: float, error: float, freedom: float) -> Estimate:
    """A value with 95 % limits from its standard error and degrees of freedom (Student's t)."""
    from scipy.stats import t

    half = float(t.ppf(0.975, max(freedom, 1.0))) * error
    return Estimate(value, max(0.0, value - half), value + half)


def corrected_aic(squares: float, points: int, independent: float, parameters: int) -> float:
    """AICc = n ln(RSS/N) + 2 k + 2 k (k + 1)/(n − k − 1) (Hurvich and Tsai 1989).

    `squares` is the sum of N `points`' squared residuals, n the `independent` ones among them, k
    the `parameters` with the variance; infinite where there are too few points. Residuals below
    RESOLUTION tell nothing apart.
    """
    k = parameters + 1
    left = independent - k - 1.0
    if left <= 0.0:
        return math.inf
    spread = math.log(squares / points + RESOLUTION**2)
    return independent * spread + 2.0 * k + 2.0 * k * (k + 1) / left


def correlation_time(residual: Floats) -> float:
    """How many neighbouring residuals say the same: 1 + 2 Σ ρ to the first ρ that is none.

    1 for white noise; at least 1.
    """
    centred = residual - residual.mean()
    power = np.abs(np.fft.rfft(centred, 2 * centred.size)) ** 2
    correlation = np.fft.irfft(power)[: centred.size]
    if not correlation[0] > 0.0:
        return 1.0
    correlation = correlation / correlation[0]
    noise = 2.0 / math.sqrt(centred.size)
    lost = np.flatnonzero(correlation < noise)
    last = int(lost[0]) if lost.size else centred.size
    return float(1.0 + 2.0 * np.sum(correlation[1:last]))


def chosen(aicc: Mapping[str, float], possible: Sequence[str]) -> str:
    """The set of terms by the rule; plain linear damping where no set is possible."""
    sound = {name: aicc[name] for name in possible if math.isfinite(aicc[name])}
    if not sound:
        return "linear"
    least = min(sound.values())
    near = [name for name, value in sound.items() if value <= least + SLACK]
    return min(near, key=lambda name: (len(CANDIDATES[name]), sound[name]))
