"""Levers that come at once or slowly: how far she goes, and the least that takes her over."""

from __future__ import annotations

import math

import numpy as np
import pytest
from reference_runs import (
    KG,
    Motion,
    Ship,
    limit_by_bisection,
    polynomial_ship,
    release,
    sine_ship,
    wall_sided_ship,
)

from rollsim.motion.timeline import Change
from rollsim.ship.damping import Damping, from_critical_fraction
from rollsim.ship.equilibria import equilibria
from rollsim.ship.levers import Gravity
from rollsim.ship.righting import Heeling, RightingCurve
from rollsim.ship.statics import greatest_lever, static_heel


def struck(ship: Ship, lever: float, over: float = 0.0, duration: float = 50.0) -> Motion:
    """Upright at rest, a constant heeling `lever` [m] that comes at t = 0 within `over` [s]."""
    return release(ship, 0.0, duration=duration, changes=[Change(0.0, over, lever=lever)])


def test_linear_ship_swings_to_twice_the_static_heel() -> None:
    # Exact: a sudden lever on a linear ship without damping.
    motion = struck(polynomial_ship(0.8), 0.1)
    assert motion.solution.roll_max == pytest.approx(2.0 * 0.1 / 0.8, rel=1e-9)
    assert motion.solution.roll_min == pytest.approx(0.0, abs=1e-9)


# Exact: overshoot 1 + exp(−πζ/√(1−ζ²)) of a linear ship damped at ζ of critical.
@pytest.mark.parametrize(
    ("zeta", "factor"), [(0.02, 1.93909), (0.05, 1.85447), (0.1, 1.72925), (0.2, 1.52662)]
)
def test_damped_overshoot(zeta: float, factor: float) -> None:
    ship = polynomial_ship(1.0, damping=Damping(from_critical_fraction(zeta, 1.0)))
    reached = struck(ship, 0.1).solution.roll_max
    exact = 1.0 + math.exp(-math.pi * zeta / math.sqrt(1.0 - zeta**2))
    assert reached == pytest.approx(0.1 * exact, rel=1e-9)
    assert exact == pytest.approx(factor, abs=5e-6)


def test_limit_on_a_sine_curve() -> None:
    # Exact by equal areas: GZ = GM sin φ goes over from a sudden lever of 0.724611 GM on (static
    # 46.437°), past 133.563°; the curve is tabulated to 180°, so the run goes over in earnest.
    gm = 0.8
    ship = sine_ship(gm)
    limit = limit_by_bisection(
        lambda lever: struck(ship, lever).survived, 0.7 * gm, 0.75 * gm, 1e-9
    )
    assert limit / gm == pytest.approx(0.7246113537767084, abs=1e-8)
    curve = RightingCurve(ship.levers, ship.gravity, Heeling(lever=limit))
    stable, unstable = (e.heel for e in equilibria(curve) if e.heel > 0.0)
    assert math.degrees(stable) == pytest.approx(46.437, abs=5e-4)
    assert math.degrees(unstable) == pytest.approx(133.5634733532786, abs=1e-4)
    reached = struck(ship, limit * (1.0 - 1e-8)).solution.roll_max
    assert reached == pytest.approx(unstable, abs=1e-3)
    assert reached < unstable


def test_limit_on_a_cubic_curve() -> None:
    # Exact: GZ = GM φ(1 − (φ/φv)²) goes over from h = (√(2/3)/3) GM φv on, 1/√2 of the greatest
    # static lever 2/(3√3) GM φv.
    gm, vanishing = 0.8, math.radians(60.0)
    ship = polynomial_ship(gm, 0.0, -gm / vanishing**2)
    unit = gm * vanishing
    limit = limit_by_bisection(
        lambda lever: struck(ship, lever).survived, 0.25 * unit, 0.3 * unit, 1e-9
    )
    assert limit / unit == pytest.approx(math.sqrt(2.0 / 3.0) / 3.0, abs=1e-8)
    greatest = greatest_lever(RightingCurve(ship.levers, ship.gravity))[1]
    assert greatest / unit == pytest.approx(0.3849001794597505, rel=1e-12)
    assert limit / greatest == pytest.approx(math.sqrt(0.5), abs=1e-7)


def test_slow_lever_takes_nearly_the_static_limit() -> None:
    # Exact bounds: between the sudden limit 0.272166 and the static 0.384900, and within 1 % of the
    # static when it comes over a hundred natural periods.
    ship = polynomial_ship(1.0, 0.0, -1.0, damping=Damping(0.1))
    for share, survives in ((0.99, True), (1.01, False)):
        lever = share * 0.3849001794597505
        assert struck(ship, lever, 200.0 * math.pi, 260.0 * math.pi).survived is survives
        assert not struck(ship, lever).survived


# Exact by energy without damping: 3/16 for φ − φ² (three quarters of the static 1/4), √(2/3)/3
# for φ − φ³; with b1 0.1 found apart from this code by bisection.
@pytest.mark.parametrize(
    ("lever", "damping", "limit", "digits"),
    [
        ((1.0, -1.0), 0.0, 3.0 / 16.0, 1e-8),
        ((1.0, -1.0), 0.1, 0.201138, 1e-6),
        ((1.0, 0.0, -1.0), 0.0, math.sqrt(2.0 / 3.0) / 3.0, 1e-8),
        ((1.0, 0.0, -1.0), 0.1, 0.291266, 1e-6),
    ],
)
def test_limits_of_the_escape_equations(
    lever: tuple[float, ...], damping: float, limit: float, digits: float
) -> None:
    ship = polynomial_ship(*lever, damping=Damping(damping))
    assert struck(ship, limit - digits).survived
    assert not struck(ship, limit + digits).survived


# Exact by energy: a wall-sided ship (BM 3) whose weight moves across at once from upright, lever
# GG1 cos φ; static heel and swing.
@pytest.mark.parametrize(
    ("gm", "static_deg", "swing_deg"), [(0.5, 10.3113, 19.2705), (-0.1, 24.7022, 37.6148)]
)
def test_sudden_shift_of_weight(gm: float, static_deg: float, swing_deg: float) -> None:
    ship = wall_sided_ship(gm, 3.0)
    shift = Change(0.0, 0.0, across_moment=0.1)
    motion = release(ship, 0.0, duration=60.0, changes=[shift])
    curve = RightingCurve(ship.levers, Gravity(KG, 0.1))
    assert math.degrees(static_heel(curve, 0.0)) == pytest.approx(static_deg, abs=5e-5)
    assert math.degrees(motion.solution.roll_max) == pytest.approx(swing_deg, abs=5e-5)
    assert curve.potential(motion.solution.roll_max) == pytest.approx(0.0, abs=1e-9)


def test_sudden_change_in_the_middle_of_a_run() -> None:
    # Exact: the same lever later, on a ship at rest, gives the same swing later.
    ship = polynomial_ship(1.0)
    at_once = struck(ship, 0.1, duration=20.0)
    later = release(ship, 0.0, duration=27.3, changes=[Change(7.3, 0.0, lever=0.1)])
    assert np.all(later.roll[:73] == 0.0)
    assert later.roll[73:] == pytest.approx(at_once.roll, abs=1e-9)
