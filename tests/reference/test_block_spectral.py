"""Linear roll in storms of the block engine against the spectral integral."""

from __future__ import annotations

import math

import numpy as np
import pytest
from block_runs import blocks, case_of, mean_and_error, stepper_of
from scipy.integrate import quad

from rollsim.constants import GRAVITY
from rollsim.motion.coefficients import calm_coefficients
from rollsim.ship.damping import Damping
from rollsim.ship.levers import Gravity, Levers, polynomial
from rollsim.weather.sea import SeaState
from rollsim.weather.spectra import bretschneider

NATURAL, LINEAR = math.tau / 12.0, 0.1 * math.tau / 12.0
"""ω₀ [rad/s] and b1 = 2 ζ ω₀ [1/s] at ζ = 0.05."""
HEIGHT, ZERO_CROSSING, COEFFICIENT, CUT = 5.0, 8.0, 0.75, 3.0
GM, KG = 0.7, 5.0
DURATION, SETTLE, OUTPUT = 1000.0, 400.0, 2.0


def by_spectrum(absolute: bool, power: int) -> float:
    """Exact ∫ω^power |H|² r² (ω²/g)² S dω to the cut, S = A ω⁻⁵ e^(−B ω⁻⁴) by Hs and Tz."""
    b = (math.tau / ZERO_CROSSING) ** 4 / math.pi

    def density(omega: float) -> float:
        along = 1j * LINEAR * omega
        top = NATURAL**2 + (0.0 if absolute else along)
        gain = abs(top / (NATURAL**2 - omega**2 + along))
        elevation = 0.25 * HEIGHT**2 * b * omega**-5 * math.exp(-b * omega**-4)
        return float(omega**power * (gain * COEFFICIENT * omega**2 / GRAVITY) ** 2 * elevation)

    return float(quad(density, 0.1, CUT, points=[0.4, NATURAL, 0.7, 1.5], limit=200)[0])


@pytest.mark.parametrize("absolute", [True, False])
@pytest.mark.parametrize("runs", [512, pytest.param(10_000, marks=pytest.mark.slow)])
def test_variance_of_linear_roll(absolute: bool, runs: int) -> None:
    levers: Levers = polynomial([GM], KG, math.radians(170.0))
    calm = calm_coefficients(levers, GM / NATURAL**2, Damping(LINEAR))
    state = SeaState(
        bretschneider(HEIGHT, zero_crossing_period=ZERO_CROSSING),
        length=84.0,
        beam=14.0,
        draught=5.2,
        shortest_wave=math.tau * GRAVITY / CUT**2,
        duration=DURATION,
        slope_coefficient=COEFFICIENT,
    )
    case = case_of(
        levers,
        Gravity(KG),
        calm._replace(relative=not absolute, absolute_gm=GM if absolute else 0.0),
        (DURATION, OUTPUT),
        waves=state,
        seed=3,
    )
    # At rest at first; e^(−ζω₀t) of it is left at SETTLE, 3e-5. The mean is 0 exactly.
    settled = round(SETTLE / OUTPUT)
    squares = [
        np.mean(found.histories[:2, settled:].astype(np.float64) ** 2, axis=1)
        for found in blocks(stepper_of(case, 0.25), runs, histories=True)
    ]
    variance, error = mean_and_error(np.concatenate(squares, axis=-1))
    exact = np.array([by_spectrum(absolute, power) for power in (0, 2)])
    away = (variance - exact) / error
    print(
        f"{runs} storms, {'absolute' if absolute else 'relative'}: variances of roll and rate "
        f"{variance / exact - 1.0} from the integral, ± {error / exact}, that is {away}"
    )
    # A record of 600 s has a scatter of 0.27 of its variance (√(2π ∫S² dω/T)/m0).
    assert np.all(error < 0.3 / math.sqrt(runs) * exact)
    assert np.all(np.abs(away) < 3.0)
