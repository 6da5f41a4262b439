"""Time to capsize in narrow-banded noise by the block engine: exponential once settled.

Failures that are rare and far apart are a Poisson flow, so the time to one is exponential: its
coefficient of variation is 1, and what has been stood says nothing of what will be. The ship is
the soft cubic φ″ + 2ζ φ′ + φ − φ³ = f, lost where φ passes the hilltop for good; f is white noise
through f″ + 2 z w f′ + w² f = s ξ.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from block_runs import GaussianSea, blocks, case_of, stepper_of
from numpy.typing import NDArray

from rollsim.engines.block.stepper import Stepper
from rollsim.engines.limits import Limits
from rollsim.measures.rates import censored_rate
from rollsim.motion.coefficients import calm_coefficients
from rollsim.ship.damping import Damping
from rollsim.ship.levers import Gravity, Levers

Floats = NDArray[np.float64]

ZETA = 0.05
FILTER_ZETA, FILTER, NOISE = 0.2, 1.2, 0.09
CUT, STEP = 5.0, 0.125
LOST = 1.3
"""Heel [rad] beyond the hilltop at 1 from which none comes back."""
SETTLE = 150.0
"""By when the start at rest is forgotten [s]: e^(−ζ SETTLE) is 5e-4."""


def filtered_noise(duration: float) -> GaussianSea:
    """One-sided spectrum (s²/π) / |w² − ω² + 2i z w ω|²."""
    frequency, length, step = GaussianSea.frequencies(CUT, duration)
    gain = 1.0 / np.abs(FILTER**2 - frequency**2 + 2j * FILTER_ZETA * FILTER * frequency) ** 2
    inside = (frequency > 0.0) & (frequency <= CUT)
    return GaussianSea(np.where(inside, NOISE**2 / math.pi * gain, 0.0), length, step)


def soft_cubic(duration: float, seed: int) -> Stepper:
    """The ship from rest, k²/g = 1 and an absolute excitation of GM 1 m: f is the slope."""
    levers = Levers(-1.5, 1.5, powers=np.array([1.0, 0.0, -1.0]))
    calm = calm_coefficients(levers, 1.0, Damping(2.0 * ZETA))
    case = case_of(
        levers,
        Gravity(0.0),
        calm._replace(relative=False, absolute_gm=1.0),
        (duration, 1.0),
        limits=Limits(capsize=LOST),
        seed=seed,
    )
    return stepper_of(case, STEP, filtered_noise(duration))


def lives(duration: float, seed: int, runs: int) -> Floats:
    """Times from SETTLE to the capsize [s] of all that stood till then; infinite where none."""
    found = []
    for block in blocks(soft_cubic(duration, seed), runs, histories=False):
        lost = block.passed[2, : block.end_time.size]
        found.append(np.where(np.isnan(lost), np.inf, lost) - SETTLE)
    times = np.concatenate(found)
    return times[times > 0.0]


@pytest.mark.parametrize("runs", [320, pytest.param(3008, marks=pytest.mark.slow)])
def test_time_to_capsize_is_exponential(runs: int) -> None:
    times = lives(12_000.0, 2, runs)
    # All run to their end: to leave out the longest would lower the coefficient of variation.
    assert np.all(np.isfinite(times))
    n, mean = times.size, float(np.mean(times))
    variation = float(np.std(times, ddof=1)) / mean
    beyond = float(np.mean(times > 2.0 * mean))
    print(f"{n} runs, mean time {mean:.1f} s, cv {variation:.4f}, beyond twice it {beyond:.4f}")
    assert abs(variation - 1.0) < 3.5 / math.sqrt(n)
    assert abs(beyond - math.exp(-2.0)) < 3.5 * math.sqrt(math.exp(-2.0) / n)

    # The same rate from other storms, most of them cut off before anything happens.
    watched = 0.3 * mean
    short = lives(SETTLE + watched, 3, 2 * runs)
    lost = np.isfinite(short)
    total = float(np.sum(np.minimum(short, watched)))
    rate = censored_rate(int(np.count_nonzero(lost)), total, level=0.999)
    naive = float(np.mean(short[lost]))
    print(
        f"cut off at {watched:.0f} s: {np.count_nonzero(lost)} of {short.size} capsized, mean time "
        f"{1.0 / rate.rate:.1f} s ({1.0 / rate.upper:.1f} to {1.0 / rate.lower:.1f}), "
        f"over the capsized alone {naive:.1f} s"
    )
    # The first estimate has an error of its own, mean/√n.
    spread = 3.3 / math.sqrt(n)
    assert rate.lower * (1.0 - spread) < 1.0 / mean < rate.upper * (1.0 + spread)
    assert naive < 0.5 * watched
