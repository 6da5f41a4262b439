"""Resonance in a beam sea with quadratic damping: the three-step formula, absolute excitation."""

from __future__ import annotations

import math

import numpy as np
import pytest
from reference_runs import Motion, harmonic, polynomial_ship, release

from rollsim.constants import GRAVITY
from rollsim.ship.damping import Damping, from_extinction
from rollsim.weather.sea import RegularWave, SeaState, realise

GM = 1.42


def rolled(n: float, r: float, steepness: float, period: float, tuning: float = 1.0) -> Motion:
    """The last ten of sixty rolls in a regular beam sea of `steepness` at `tuning` × resonance."""
    natural = math.tau / period
    wave_period = period / tuning
    damping = from_extinction(0.0, n, natural)
    assert damping == pytest.approx(Damping(0.0, 135.0 * n / math.pi, 0.0), rel=1e-12)
    ship = polynomial_ship(GM, damping=damping, gyradius=math.sqrt(GM * GRAVITY) / natural)
    length = GRAVITY * wave_period**2 / math.tau
    sea = SeaState(
        RegularWave(steepness * length, wave_period),
        length=170.0,
        beam=25.0,
        draught=6.6,
        shortest_wave=25.0,
        duration=1.0,
        slope_coefficient=r,
    )
    duration = 60.0 * wave_period
    waters = ship.among(realise(sea, 1, 0), duration, absolute=True)
    return release(ship, 0.0, duration=duration, step=0.005 * wave_period, waters=waters)


def amplitudes(motion: Motion, frequency: float) -> tuple[float, float]:
    """First harmonic and peak [deg] of the last ten rolls."""
    late = motion.times >= 5.0 / 6.0 * motion.times[-1]
    first = abs(harmonic(motion.times[late], motion.roll[late], frequency))
    return math.degrees(first), math.degrees(float(np.abs(motion.turns()[-10:]).max()))


# Published procedure (MSC.1/Circ.1200, three steps; the formula from memory, and exact by harmonic
# balance): φ = √(90 π r s/N) degrees, N in 1/deg, b2 = 135 N/π. With it the first harmonic and peak
# of the same equation, computed apart from this code.
@pytest.mark.parametrize(
    ("n", "r", "steepness", "period", "first", "peak"),
    [
        (0.02, 1.0, 0.0383, 17.9, 23.279668566999998, 23.3096),
        (0.0109, 0.75, 0.0383, 17.9, 27.301994690144788, 27.3166),
        (0.02, 0.8, 0.02, 12.0, 15.0427, 15.0509),
    ],
)
def test_resonance(
    n: float, r: float, steepness: float, period: float, first: float, peak: float
) -> None:
    formula = math.sqrt(90.0 * math.pi * r * steepness / n)
    motion = rolled(n, r, steepness, period)
    found_first, found_peak = amplitudes(motion, math.tau / period)
    assert found_first == pytest.approx(formula, rel=6e-4)
    assert found_peak == pytest.approx(formula, rel=2e-3)
    assert found_first == pytest.approx(first, abs=1e-4)
    assert found_peak == pytest.approx(peak, abs=2e-4)


def test_published_model_test() -> None:
    # Published: the RoPax model of MSC.1/Circ.1227 (period 17.70 s at full size) rolled 27.6° at
    # steepness 1/26.1; r/N = 70.344 deg follows from the formula, so only the solution and the
    # place of the peak are checked: 27.62° at resonance, 27.85° at 0.975 of it, the greatest of the
    # test frequencies of MSC.1/Circ.1200 (computed apart from this code).
    n = 0.75 / 70.344
    peaks = {
        tuning: amplitudes(rolled(n, 0.75, 1.0 / 26.1, 17.7, tuning), tuning * math.tau / 17.7)[1]
        for tuning in (0.8, 0.9, 0.95, 0.975, 1.0, 1.05, 1.2)
    }
    assert peaks[1.0] == pytest.approx(27.6, abs=0.05)
    assert peaks[1.0] == pytest.approx(27.62, abs=0.005)
    assert peaks[0.975] == pytest.approx(27.85, abs=0.005)
    assert max(peaks, key=peaks.__getitem__) == 0.975
