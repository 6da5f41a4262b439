"""Levers that change with the wave: small rolls in head seas are Mathieu's equation.

φ″ + b1 φ′ + ω0² (1 + h cos(ω_e t + ε)) φ = 0 with h = gm_per_m a f / GM, f Grim's share of the
wave. In z = ω_e t / 2 it is y″ + (A − 2 q cos 2z) y = 0 with A = 4 ω0²/ω_e² and |q| = A h / 2; the
principal tongue is b1(q) < A < a1(q) of its characteristic numbers (Abramowitz and Stegun 20.1).
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from numpy.typing import NDArray
from reference_runs import Ship, moved, polynomial_ship
from scipy.integrate import solve_ivp
from scipy.optimize import brentq
from scipy.special import mathieu_a, mathieu_b

from rollsim.constants import GRAVITY
from rollsim.forcing.single import with_storm
from rollsim.forcing.storm import Storm
from rollsim.motion.coefficients import Coefficients, calm_coefficients
from rollsim.motion.timeline import Base, timeline
from rollsim.ship.damping import Damping
from rollsim.ship.inertia import natural_frequency
from rollsim.weather.sea import RegularWave, SeaState

Floats = NDArray[np.float64]

GM, GYRADIUS, LENGTH = 0.8, 5.6, 100.0
NATURAL = natural_frequency(GYRADIUS, GM)
GM_PER_M = -0.1
OWN_LENGTH = math.sqrt(math.tau * GRAVITY / LENGTH)
"""Frequency [rad/s] of the wave of her length."""
PHASE = 0.7
SMALL = 1e-5
"""Roll [rad] so small that sin ψ is ψ."""


def ship(linear: float = 0.0) -> Ship:
    """GZ = GM φ in calm water."""
    return polynomial_ship(GM, damping=Damping(linear), gyradius=GYRADIUS)


def in_sea(she: Ship, wave: RegularWave, heading: float, speed: float) -> Coefficients:
    """Her coefficients in a regular sea from ahead or astern."""
    calm = calm_coefficients(she.levers, GYRADIUS**2 / GRAVITY, she.damping, gm_per_m=GM_PER_M)
    sea = SeaState(wave, LENGTH, 15.0, 6.0, 15.0, 1.0, heading=heading, speed=speed)
    return with_storm(calm, Storm(sea, elevation=True), 1, 0, (1.0, 1.0))


def in_head_sea(she: Ship, met: float, modulation: float) -> Coefficients:
    """In waves of her own length that she meets at `met` [rad/s] and that change GM by the share
    `modulation`: of a wave of her length all of its height is felt. h is −modulation."""
    wave = RegularWave(2.0 * modulation * GM / abs(GM_PER_M), math.tau / OWN_LENGTH, PHASE)
    return in_sea(she, wave, math.pi, (met - OWN_LENGTH) * GRAVITY / OWN_LENGTH**2)


def over_one_period(linear: float, met: float, modulation: float) -> Floats:
    """Her state after one period of encounter from (SMALL, 0) and (0, SMALL), per SMALL: (2, 2)."""
    she = ship(linear)
    waters = in_head_sea(she, met, modulation)
    period = math.tau / met
    segments = timeline(period, Base(she.gravity))
    columns = []
    for start in ((SMALL, 0.0), (0.0, SMALL)):
        found = moved(waters, segments, start, period, she.levers.heel_max).solution
        assert not found.message
        columns.append([found.roll[-1] / SMALL, found.rate[-1] / SMALL])
    return np.array(columns).T


def by_floquet(linear: float, met: float, modulation: float) -> Floats:
    """The same matrix by integrating Mathieu's equation, here."""

    def rates(time: float, state: Floats) -> Floats:
        stiffness = NATURAL**2 * (1.0 - modulation * math.cos(met * time + PHASE))
        return np.array([state[1], -linear * state[1] - stiffness * state[0]])

    span = (0.0, math.tau / met)
    ends = [
        solve_ivp(rates, span, start, "DOP853", rtol=1e-12, atol=1e-14).y[:, -1]
        for start in np.eye(2)
    ]
    return np.array(ends).T


def greatest_multiplier(matrix: Floats) -> float:
    return float(np.max(np.abs(np.linalg.eigvals(matrix))))


@pytest.mark.parametrize("tuning", [1.7, 1.9, 2.0, 2.1, 2.5])
@pytest.mark.parametrize("modulation", [0.1, 0.4])
@pytest.mark.parametrize("zeta", [0.0, 0.03])
def test_multipliers_are_those_of_mathieu_s_equation(
    tuning: float, modulation: float, zeta: float
) -> None:
    linear, met = 2.0 * zeta * NATURAL, tuning * NATURAL
    found, exact = (f(linear, met, modulation) for f in (over_one_period, by_floquet))
    assert found == pytest.approx(exact, abs=1e-7)
    # Abel: what the damping takes from an area in a period.
    assert np.linalg.det(found) == pytest.approx(math.exp(-linear * math.tau / met), rel=1e-7)


# At the edges the solution has twice the period of the wave: both multipliers are −1.
@pytest.mark.parametrize("modulation", [0.05, 0.2, 0.5])
@pytest.mark.parametrize("edge", [mathieu_a, mathieu_b], ids=["a1", "b1"])
def test_the_principal_tongue_ends_at_the_characteristic_numbers(
    modulation: float, edge: Callable[[int, float], float]
) -> None:
    def beside(met: float) -> float:
        square = 4.0 * NATURAL**2 / met**2
        return square - float(edge(1, 0.5 * square * modulation))

    met = float(brentq(beside, 1.3 * NATURAL, 3.5 * NATURAL, xtol=1e-13))
    assert np.trace(over_one_period(0.0, met, modulation)) == pytest.approx(-2.0, abs=2e-7)
    inside = 1.0 if edge is mathieu_a else -1.0
    within, without = (met * (1.0 + side * inside * 0.01) for side in (1.0, -1.0))
    assert greatest_multiplier(over_one_period(0.0, within, modulation)) > 1.01
    outside = greatest_multiplier(over_one_period(0.0, without, modulation))
    assert outside == pytest.approx(1.0, abs=1e-6)


@pytest.mark.parametrize("zeta", [0.01, 0.03])
def test_damping_sets_the_threshold(zeta: float) -> None:
    """At twice her natural frequency she grows from h = 4 ζ on (to first order in ζ)."""
    linear, met = 2.0 * zeta * NATURAL, 2.0 * NATURAL
    grows = greatest_multiplier(over_one_period(linear, met, 4.0 * zeta * 1.03))
    dies = greatest_multiplier(over_one_period(linear, met, 4.0 * zeta * 0.97))
    assert dies < 1.0 < grows


def test_the_growth_of_a_long_run() -> None:
    """Thirty periods from SMALL: the roll grows by the greatest multiplier each, side by side."""
    met, modulation, periods = 2.0 * NATURAL, 0.2, 30
    she = ship()
    waters = in_head_sea(she, met, modulation)
    period = math.tau / met
    segments = timeline(periods * period, Base(she.gravity))
    motion = moved(waters, segments, (SMALL, 0.0), period, she.levers.heel_max)
    factor = motion.roll[-1] / motion.roll[-2]
    expected = -greatest_multiplier(by_floquet(0.0, met, modulation))
    assert abs(motion.roll[-1]) > 50.0 * SMALL
    assert factor == pytest.approx(expected, rel=1e-4)
    # First order in h: e^(π h / 4) a period of encounter.
    assert -expected == pytest.approx(math.exp(math.pi * modulation / 4.0), rel=0.01)


def on_wave(she: Ship, height: float, phase: float) -> Coefficients:
    """Running with the wave of her length as fast as it does: she stays at its `phase`."""
    wave = RegularWave(height, math.tau / OWN_LENGTH, phase)
    return in_sea(she, wave, 0.0, GRAVITY / OWN_LENGTH)


@pytest.mark.parametrize(("phase", "gm"), [(0.0, GM - 0.3), (math.pi, GM + 0.3)])
def test_on_a_crest_she_has_less_gm_and_in_a_trough_more(phase: float, gm: float) -> None:
    """GM + gm_per_m ζ with ζ = ±3 m for as long as she keeps up with the wave."""
    she = ship()
    waters, segments = on_wave(she, 6.0, phase), timeline(200.0, Base(she.gravity))
    motion = moved(waters, segments, (1e-3, 0.0), 0.1, she.levers.heel_max)
    assert motion.period() == pytest.approx(math.tau / natural_frequency(GYRADIUS, gm), rel=1e-5)


def test_a_crest_that_takes_all_gm_lets_her_fall() -> None:
    """GM 0.8 − 0.1 · 10 = −0.2 m: from rest φ goes as cosh(√(0.2 / GM) ω0 t) while it is small."""
    she = ship()
    waters, segments = on_wave(she, 20.0, 0.0), timeline(20.0, Base(she.gravity))
    motion = moved(waters, segments, (SMALL, 0.0), 0.5, she.levers.heel_max)
    rate = NATURAL * math.sqrt(0.2 / GM)
    assert motion.roll == pytest.approx(SMALL * np.cosh(rate * motion.times), rel=1e-5)
