"""Undamped energy E = k²φ′²/2g + ∫GZ dφ over a thousand periods at the finest tolerance.

Exact: without damping and loads it stays what it was.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from reference_runs import Ship, polynomial_ship, release, sine_ship, wall_sided_ship

from rollsim.constants import GRAVITY
from rollsim.engines.limits import Tolerances
from rollsim.ship.equilibria import equilibria
from rollsim.ship.righting import RightingCurve

FINEST = Tolerances("DOP853", 1e-13, 1e-15)


def lost(ship: Ship, start: float, duration: float) -> float:
    """Greatest change of the energy above the lowest rest, relative to its start."""
    # An output step that is no part of a period meets her at every phase.
    motion = release(ship, start, duration=duration, step=duration / 3001.7, tolerances=FINEST)
    assert motion.survived
    curve = RightingCurve(ship.levers, ship.gravity)
    low = min(float(curve.potential(e.heel)) for e in equilibria(curve) if e.kind == "stable")
    rate = motion.solution.rate
    energy = 0.5 * ship.gyradius**2 / GRAVITY * rate**2 + curve.potential(motion.roll) - low
    return float(np.max(np.abs(energy / energy[0] - 1.0)))


def test_about_the_loll() -> None:
    # GM < 0: φ″ = φ − φ³ let go at 1.2 φL, period 4.6239052 s.
    assert lost(polynomial_ship(-1.0, 0.0, 1.0), 1.2, 1000.0 * 4.6239052218119125) < 1e-9


@pytest.mark.slow
@pytest.mark.parametrize(
    ("ship", "start_deg", "period"),
    [
        (wall_sided_ship(1.0, 3.0), 40.0, 12.7),
        (wall_sided_ship(-0.1, 3.0), 25.0, 48.0),
        (polynomial_ship(1.0, 0.0, -1.0), 55.0, 13.2),
    ],
)
def test_in_every_kind_of_well(ship: Ship, start_deg: float, period: float) -> None:
    # Stiff, across upright with GM < 0, and near the hilltop of a softening ship.
    assert lost(ship, math.radians(start_deg), 1000.0 * period) < 1e-9


@pytest.mark.slow
def test_levers_from_a_table() -> None:
    # The cubic spline's third derivative jumps at every knot, and DOP853 does not feel jumps so
    # small, whatever its tolerance: over the same thousand periods the energy drifts further.
    assert lost(sine_ship(step_deg=10.0), math.radians(60.0), 1000.0 * 6.7430) < 1e-7
