"""Driven escape and cross-well motion: thresholds of the classical equations.

Absolute excitation of unit ships, so that the slope is the force: F sin ωt or F cos ωt. Figures
without another source were computed apart from this code, by fixed-step Runge-Kutta.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from reference_runs import Motion, Ship, polynomial_ship, release

from rollsim.ship.damping import Damping
from rollsim.weather.sea import Components


def driven(
    ship: Ship, roll: float, force: float, frequency: float, cycles: int, phase: float = 0.0
) -> Motion:
    """Let go at rest under force · sin(ωt + phase), for so many cycles."""
    waves = Components(*np.array([[frequency], [0.0], [-force], [phase]]))
    duration = cycles * math.tau / frequency
    waters = ship.among(waves, duration)._replace(relative=False, absolute_gm=1.0)
    step = math.tau / frequency / 40.0
    return release(ship, roll, duration=duration, step=step, waters=waters)


# x″ + 0.1 x′ + x − x² = F sin ωt (Thompson's equation, from memory) from rest: the least F of a
# grid of 0.0005 that takes her over within 32 cycles.
@pytest.mark.parametrize(
    ("frequency", "force"),
    [
        (0.70, 0.1480),
        (0.75, 0.1185),
        (0.80, 0.0920),
        (0.85, 0.0745),
        (0.90, 0.0875),
        (0.95, 0.1090),
        (1.00, 0.1215),
    ],
)
def test_transient_escape_of_a_listed_ship(frequency: float, force: float) -> None:
    ship = polynomial_ship(1.0, -1.0, damping=Damping(0.1))
    assert driven(ship, 0.0, force - 0.0005, frequency, 32).survived
    assert not driven(ship, 0.0, force, frequency, 32).survived


def test_steady_roll_of_a_listed_ship() -> None:
    # The same equation at ω 0.85: on the small orbit of F 0.06 she is at (−0.041499, 0.207342)
    # whenever the force is at phase 0.
    ship = polynomial_ship(1.0, -1.0, damping=Damping(0.1))
    solution = driven(ship, 0.0, 0.06, 0.85, 40).solution
    assert solution.roll[-1] == pytest.approx(-0.041499, abs=1e-6)
    assert solution.rate[-1] == pytest.approx(0.207342, abs=1e-6)


# x″ + 0.25 x′ − x + x³ = F cos t (Guckenheimer and Holmes, from memory) from x = 1: no change of
# well at 0.24, above the Melnikov threshold 4 d cosh(πω/2)/(3√2 π ω) = 0.188255 all the same; at
# 0.50 she goes across and back every cycle.
@pytest.mark.parametrize(("force", "changes"), [(0.15, 0), (0.24, 0), (0.50, 100)])
def test_changes_of_well(force: float, changes: int) -> None:
    ship = polynomial_ship(-1.0, 0.0, 1.0, damping=Damping(0.25))
    motion = driven(ship, 1.0, force, 1.0, 70, phase=0.5 * math.pi)
    late = motion.crossings()[motion.crossings() > 20.0 * math.tau]
    assert late.size == changes
    assert motion.survived
