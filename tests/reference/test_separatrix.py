"""Motion on the edge between staying and going over: exact courses, and both sides of them.

Whatever error there is grows exponentially on the way to a hilltop, so this is a hard test.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from reference_runs import (
    KG,
    Ship,
    limit_by_bisection,
    polynomial_ship,
    release,
    wall_sided_ship,
)

from rollsim.engines.limits import Tolerances
from rollsim.ship.levers import Gravity, Levers

FINEST = Tolerances("DOP853", 1e-12, 1e-14)


def test_softening_course_to_the_hilltop() -> None:
    # Exact: φ = φv tanh(ω0 t/√2) from upright with ω0 φv/√2, GZ = GM φ(1 − (φ/φv)²).
    ship = polynomial_ship(1.0, 0.0, -1.0)
    motion = release(ship, 0.0, math.sqrt(0.5), duration=8.0, tolerances=FINEST)
    exact = np.tanh(motion.times / math.sqrt(2.0))
    growth = np.exp(math.sqrt(2.0) * motion.times)
    assert np.max(np.abs(motion.roll - exact) / growth) < 1e-12


def test_pendulum_course_to_the_hilltop() -> None:
    # Exact: φ = 2 atan(sinh ω0 t) from upright with 2 ω0, GZ = GM sin φ.
    ship = Ship(Levers(-math.pi, math.pi, sine=KG + 1.0), Gravity(KG))
    motion = release(ship, 0.0, 2.0, duration=10.0, tolerances=FINEST)
    exact = 2.0 * np.arctan(np.sinh(motion.times))
    assert np.max(np.abs(motion.roll - exact) / np.exp(motion.times)) < 5e-12


def test_loll_course_to_upright() -> None:
    # Exact: φ = √2 φL sech(√a t) let go at √2 φL, φ″ = a φ − b φ³, φL = √(a/b).
    ship = polynomial_ship(-1.0, 0.0, 1.0)
    motion = release(ship, math.sqrt(2.0), duration=10.0, tolerances=FINEST)
    exact = math.sqrt(2.0) / np.cosh(motion.times)
    assert np.max(np.abs(motion.roll - exact) / np.exp(motion.times)) < 5e-12


# Exact: a symmetric softening ship goes over from rates of 1/√2 on, one with GZ = φ − φ² from
# 1/√3 on (unit frequency and vanishing angle): the depth of the well, 1/4 and 1/6.
@pytest.mark.parametrize(
    ("lever", "rate"), [((1.0, 0.0, -1.0), math.sqrt(0.5)), ((1.0, -1.0), math.sqrt(1.0 / 3.0))]
)
def test_rate_that_takes_her_over(lever: tuple[float, ...], rate: float) -> None:
    ship = polynomial_ship(*lever)
    stays = release(ship, 0.0, rate * (1.0 - 1e-9), duration=50.0)
    assert stays.survived
    # At the hilltop the energy lacking is that of a displacement δ: δ² is twice that energy share.
    assert 1.0 - 1e-4 < stays.solution.roll_max < 1.0
    assert not release(ship, 0.0, rate * (1.0 + 1e-9), duration=50.0).survived


def test_rate_that_takes_her_over_found() -> None:
    ship = polynomial_ship(1.0, 0.0, -1.0)
    found = limit_by_bisection(
        lambda rate: release(ship, 0.0, rate, duration=40.0).survived, 0.5, 1.0, 1e-8
    )
    assert found == pytest.approx(math.sqrt(0.5), abs=2e-8)


# Exact: from rest at √2 φL (double well) or at cos φ = cos² φL (wall-sided) she just reaches
# upright: a little more and she changes sides for good, a little less and she never does.
@pytest.mark.parametrize(
    ("ship", "edge", "duration"),
    [
        (polynomial_ship(-1.0, 0.0, 1.0), math.sqrt(2.0), 60.0),
        (wall_sided_ship(-0.1, 3.0), math.acos(1.0 / (1.0 + 0.2 / 3.0)), 600.0),
    ],
)
def test_changing_sides(ship: Ship, edge: float, duration: float) -> None:
    inner, outer = (
        release(ship, edge * (1.0 + share), duration=duration).solution for share in (-1e-8, 1e-8)
    )
    assert 0.0 < inner.roll_min < 1e-3
    assert outer.roll_min == pytest.approx(-edge, rel=1e-7)
