"""The sum of the moments is the design's equation, term by term."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from motion_samples import DAMPING, INERTIA, KINDS, direct, sea

from rollsim.forcing.single import with_waves
from rollsim.motion.coefficients import Coefficients, calm_coefficients, pack
from rollsim.motion.equation import acceleration, derivative, levers_along
from rollsim.motion.timeline import Change, loading_at, timeline
from rollsim.ship.damping import Damping
from rollsim.ship.levers import Gravity, Levers
from rollsim.ship.righting import Heeling, RightingCurve
from rollsim.weather.wind import Gust

WAVES = sea(4)
TABLE = KINDS["table"]
CHANGES = [Change(5.0, 20.0, 0.1, 0.9, 0.2), Change(10.0, 0.0, lever=0.05)]
SEGMENTS = timeline(40.0, Gravity(5.2, 0.02), CHANGES, 20.0, (Gust(12.0, 4.0, 10.0, 1.4),))


def in_waves(relative: bool, heel_law: str = "cos2") -> Coefficients:
    calm = calm_coefficients(TABLE, INERTIA, DAMPING, 0.1, 2e-4, heel_law)
    return with_waves(calm._replace(relative=relative, absolute_gm=0.36), WAVES, 40.0)


def by_hand(time: float, roll: float, rate: float, relative: bool) -> float:
    """The design's equation in plain Python, in moments per unit weight at t = 0."""
    slope, slope_rate = (float(value[0]) for value in direct(WAVES, np.array([time])))
    grown = min(max((time - 5.0) / 20.0, 0.0), 1.0)
    mass = 1.0 + 0.1 * grown
    kg = (5.2 + 0.9 * grown) / mass + 0.1
    off_centre = (0.02 + 0.2 * grown) / mass
    speed = 20.0 * (1.0 + 0.4 * min(max((time - 12.0) / 4.0, 0.0), 1.0))
    heel, heel_rate = (roll - slope, rate - slope_rate) if relative else (roll, rate)
    gz = float(TABLE.kn(heel)) - kg * math.sin(heel) - off_centre * math.cos(heel)
    lever = 2e-4 * speed**2 * math.cos(roll) ** 2 / mass + (0.05 if time >= 10.0 else 0.0)
    if not relative:
        lever += 0.36 * slope
    b1, b2, b3 = DAMPING
    drag = b1 * heel_rate + b2 * abs(heel_rate) * heel_rate + b3 * heel_rate**3
    return (lever - gz) / INERTIA - drag


@pytest.mark.parametrize("relative", [True, False])
@settings(deadline=None)
@given(time=st.floats(0.0, 25.0), roll=st.floats(-1.2, 1.2), rate=st.floats(-1.0, 1.0))
def test_the_acceleration_is_the_equation_by_hand(
    relative: bool, time: float, roll: float, rate: float
) -> None:
    c = in_waves(relative)
    segment = next(s for s in SEGMENTS if s[0] <= time < s[1])
    expected = by_hand(time, roll, rate, relative)
    assert acceleration(time, roll, rate, c, segment) == pytest.approx(expected, abs=1e-12)
    found = derivative(time, np.array([roll, rate]), *pack(c), segment)
    assert found == pytest.approx([rate, expected], abs=1e-12)


@pytest.mark.parametrize("levers", KINDS.values(), ids=KINDS.keys())
@pytest.mark.parametrize("law", ["constant", "cos", "cos2"])
def test_without_damping_the_force_is_the_slope_of_the_statics_potential(
    levers: Levers, law: str
) -> None:
    """The energy of statics and the equation of motion are of one piece."""
    gravity, speed = Gravity(5.1, 0.03, 0.08), 25.0
    c = calm_coefficients(levers, INERTIA, Damping(), gravity.free_surface, 2e-4, law)
    segment = timeline(10.0, gravity, [Change(0.0, 0.0, lever=-0.02)], speed)[0]
    curve = RightingCurve(levers, gravity, Heeling(2e-4 * speed**2, law, -0.02))
    step = 1e-5
    for roll in np.linspace(levers.heel_min + 0.01, levers.heel_max - 0.01, 23):
        force = INERTIA * acceleration(3.0, roll, 0.4, c, segment)
        slope = (curve.potential(roll + step) - curve.potential(roll - step)) / (2.0 * step)
        assert force == pytest.approx(-float(slope), abs=1e-9)
        assert force == pytest.approx(-float(curve.value(roll)), abs=1e-13)


def test_the_water_damps_and_the_earth_does_not() -> None:
    """With relative excitation a ship that goes with the water is not braked."""
    c = in_waves(relative=True)
    slope, rate = direct(WAVES, np.array([3.0]))
    with_water = acceleration(3.0, slope[0], rate[0], c, SEGMENTS[0])
    undamped = c._replace(linear=0.0, quadratic=0.0, cubic=0.0)
    assert with_water == pytest.approx(
        acceleration(3.0, slope[0], rate[0], undamped, SEGMENTS[0]), abs=1e-13
    )
    assert acceleration(3.0, slope[0], rate[0] + 0.1, c, SEGMENTS[0]) < with_water


@pytest.mark.parametrize("law", ["constant", "cos2"])
def test_the_levers_of_a_history(law: str) -> None:
    c = in_waves(relative=True, heel_law=law)
    times = np.arange(0.0, 40.1, 2.5)
    rolls = 0.3 * np.sin(times)
    slope, rate, lever = levers_along(times, rolls, loading_at(times, SEGMENTS), c)
    assert slope == pytest.approx(direct(WAVES, times)[0], abs=1e-14)
    assert rate == pytest.approx(direct(WAVES, times)[1], abs=1e-14)
    mass, _, _, event, speed = loading_at(times, SEGMENTS).T
    power = 0 if law == "constant" else 2
    assert lever == pytest.approx(
        2e-4 * speed**2 * np.cos(rolls) ** power / mass + event, abs=1e-14
    )
