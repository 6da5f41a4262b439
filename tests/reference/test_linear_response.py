"""Steady roll of a linear ship in regular waves: amplitude and phase against the exact response.

The exact response to a slope α = −Σ s sin(ω_e t + ε): with H(ω) of the forms below,
φ = −Im(H(ω_e) s e^(i(ω_e t + ε))), for ω_e of either sign.
"""

from __future__ import annotations

import cmath
import math
from dataclasses import replace

import numpy as np
import pytest
from reference_runs import Ship, harmonic, polynomial_ship, release

from rollsim.constants import GRAVITY
from rollsim.ship.damping import Damping, from_critical_fraction
from rollsim.weather.sea import Components, RegularWave, SeaState, realise

NATURAL = math.tau / 10.0
GREATEST_SLOPE = 0.01
COEFFICIENT = 0.8
PHASE = 0.7
SETTLED = 52
"""Natural periods after which free roll at 0.05 of critical damping is down to 1e-7."""


def linear_ship(zeta: float) -> Ship:
    """GZ = GM φ with a natural period of 10 s, damped at the fraction `zeta` of critical."""
    damping = Damping(from_critical_fraction(zeta, NATURAL))
    return polynomial_ship(0.7, damping=damping, gyradius=math.sqrt(0.7 * GRAVITY) / NATURAL)


def wave(frequency: float, heading_deg: float, speed: float = 0.0) -> SeaState:
    """A regular wave of the greatest effective slope 0.01 rad, were it from abeam."""
    height = 2.0 * GREATEST_SLOPE * GRAVITY / (COEFFICIENT * frequency**2)
    return SeaState(
        RegularWave(height, math.tau / frequency, PHASE),
        length=84.0,
        beam=14.0,
        draught=5.0,
        shortest_wave=14.0,
        duration=1.0,
        heading=math.radians(heading_deg),
        speed=speed,
        slope_coefficient=COEFFICIENT,
    )


def response(encounter: float, zeta: float, absolute: bool) -> complex:
    """Exact H(ω) of φ″ + 2ζω0 φ′ + ω0² φ = ω0² α (absolute) or with φ − α for φ (relative)."""
    along = 2j * zeta * NATURAL * encounter
    top = NATURAL**2 if absolute else NATURAL**2 + along
    return top / (NATURAL**2 - encounter**2 + along)


def simulated(ship: Ship, sea: SeaState, encounter: float, absolute: bool) -> complex:
    """h of the steady roll φ = −Im(h s e^(i(ω_e t + ε))), s = 0.01 rad, let go upright."""
    settle = SETTLED * math.tau / NATURAL
    duration = settle + 5.0 * math.tau / abs(encounter)
    waters = ship.among(realise(sea, 1, 0), duration, absolute)
    step = math.tau / abs(encounter) / 40.0
    motion = release(ship, 0.0, duration=duration, step=step, waters=waters)
    late = motion.times >= settle
    found = harmonic(motion.times[late], motion.roll[late], encounter)
    # Re(c e^(iωt)) = −Im(h s e^(i(ωt + ε))) for c = i h s e^(iε).
    return found / (1j * GREATEST_SLOPE * cmath.exp(1j * PHASE))


# Exact: gain and lag [deg] of absolute excitation at r = ω/ω0: 1/√((1−r²)² + (2ζr)²) and
# atan2(2ζr, 1−r²); greatest at r = √(1−2ζ²).
ABSOLUTE = [
    (0.05, 0.5, 1.3303802104754787, 3.8140748342903543),
    (0.05, 0.9, 4.756514941544942, 25.3461759419467),
    (0.05, math.sqrt(1.0 - 2.0 * 0.05**2), 10.012523, 87.130425),
    (0.05, 1.0, 10.0, 90.0),
    (0.05, 1.1, 4.218245406095975, 152.35402463626133),
    (0.05, 2.0, 0.3325950526188697, 176.18592516570965),
    (0.1, 0.5, 1.321637, 7.595),
    (0.1, 0.9, 3.820804, 43.452),
    (0.1, 1.0, 5.0, 90.0),
    (0.1, 1.1, 3.287980, 133.668),
    (0.1, 2.0, 0.330409, 172.405),
]
# Exact: of relative excitation, √((1 + (2ζr)²)/((1−r²)² + (2ζr)²)) and
# atan2(2ζr³, 1−r² + (2ζr)²).
RELATIVE = [
    (0.05, 0.5, 1.332042, 0.952),
    (0.05, 0.9, 4.775740, 20.203),
    (0.05, 1.0, 10.049876, 84.289),
    (0.05, 1.1, 4.243689, 146.077),
    (0.05, 2.0, 0.339182, 164.876),
]
CASES = [(True, *row) for row in ABSOLUTE] + [(False, *row) for row in RELATIVE]


@pytest.mark.parametrize(("absolute", "zeta", "ratio", "gain", "lag_deg"), CASES)
def test_beam_sea(absolute: bool, zeta: float, ratio: float, gain: float, lag_deg: float) -> None:
    frequency = ratio * NATURAL
    found = simulated(linear_ship(zeta), wave(frequency, 90.0), frequency, absolute)
    assert abs(found) == pytest.approx(gain, abs=1e-6)
    assert -math.degrees(cmath.phase(found)) == pytest.approx(lag_deg, abs=6e-4)
    assert found == pytest.approx(response(frequency, zeta, absolute), rel=2e-6)


@pytest.mark.parametrize("absolute", [True, False])
@pytest.mark.parametrize("heading_deg", [90.0, 270.0])
@pytest.mark.parametrize("speed", [0.0, 7.0])
def test_sea_from_either_side(absolute: bool, heading_deg: float, speed: float) -> None:
    # From starboard all roll is the other way; on the beam speed changes nothing.
    frequency, zeta = 0.8 * NATURAL, 0.05
    sea = wave(frequency, heading_deg, speed)
    found = simulated(linear_ship(zeta), sea, frequency, absolute)
    side = 1.0 if heading_deg == 90.0 else -1.0
    assert found == pytest.approx(side * response(frequency, zeta, absolute), rel=2e-6)


# With speed: the encounter ω − ω² U cos χ/g (from memory; class rules print its magnitude); in
# the last two she overtakes the waves.
@pytest.mark.parametrize("absolute", [True, False])
@pytest.mark.parametrize(
    ("frequency", "heading_deg", "speed"),
    [(0.5, 135.0, 6.0), (0.6, 300.0, 8.0), (1.2, 45.0, 16.0), (1.3, 330.0, 12.0)],
)
def test_with_speed(absolute: bool, frequency: float, heading_deg: float, speed: float) -> None:
    heading, zeta = math.radians(heading_deg), 0.05
    encounter = frequency - frequency**2 * speed * math.cos(heading) / GRAVITY
    assert (encounter < 0.0) == (frequency > 1.0)
    sea = wave(frequency, heading_deg, speed)
    found = simulated(linear_ship(zeta), sea, encounter, absolute)
    exact = math.sin(heading) * response(encounter, zeta, absolute)
    assert found == pytest.approx(exact, rel=2e-6)


def test_slope_as_the_section_feels_it() -> None:
    # The contract's r(ω) of the equivalent rectangle, (sin u/u)(1 − e^(−κd))/(κd), by hand.
    frequency = 1.1 * NATURAL
    number = frequency**2 / GRAVITY
    u, depth = 0.5 * number * 14.0, number * 5.0
    share = math.sin(u) / u * (1.0 - math.exp(-depth)) / depth
    sea = replace(wave(frequency, 90.0), slope_coefficient=None)
    found = simulated(linear_ship(0.05), sea, frequency, absolute=False)
    exact = share / COEFFICIENT * response(frequency, 0.05, absolute=False)
    assert found == pytest.approx(exact, rel=2e-6)


def test_very_long_waves_carry_her_along() -> None:
    # In the limit of long waves either form heels with the slope.
    frequency = 0.01 * NATURAL
    for absolute in (True, False):
        found = response(frequency, 0.05, absolute)
        assert found == pytest.approx(1.0, abs=2e-3)
        ship, sea = linear_ship(0.05), wave(frequency, 90.0)
        assert simulated(ship, sea, frequency, absolute) == pytest.approx(found, rel=2e-5)


def test_resonance_builds_up_linearly() -> None:
    # Exact without damping, absolute excitation at the natural frequency from rest:
    # φ = ½ s (sin τ − τ cos τ), τ = ω0 t, for α = s sin τ: a growth of π s a period.
    ship = linear_ship(0.0)
    waves = Components(*np.array([[NATURAL], [1.0], [-GREATEST_SLOPE], [0.0]]))
    motion = release(ship, 0.0, duration=100.0, waters=ship.among(waves, 100.0, absolute=True))
    turn = NATURAL * motion.times
    exact = 0.5 * GREATEST_SLOPE * (np.sin(turn) - turn * np.cos(turn))
    assert motion.roll == pytest.approx(exact, abs=1e-10)
