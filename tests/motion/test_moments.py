"""Each compiled moment gives the number of its plain formula."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from motion_samples import DAMPING, INERTIA, KINDS

from rollsim.motion import moments
from rollsim.motion.coefficients import calm_coefficients
from rollsim.ship.levers import Levers
from rollsim.ship.righting import HEELING_LAWS

every_kind = pytest.mark.parametrize("levers", KINDS.values(), ids=KINDS.keys())
TABLE = KINDS["table"]
CALM = calm_coefficients(TABLE, INERTIA, DAMPING)


@every_kind
def test_kn_is_that_of_the_levers(levers: Levers) -> None:
    c = calm_coefficients(levers, INERTIA, DAMPING)
    heels = np.union1d(np.linspace(levers.heel_min, levers.heel_max, 997), levers.knots)
    found = [moments.kn(heel, 0.0, c) for heel in heels]
    assert found == pytest.approx(levers.kn(heels), abs=2e-10)


@every_kind
def test_kn_holds_its_end_value_beyond_the_range(levers: Levers) -> None:
    c = calm_coefficients(levers, INERTIA, DAMPING)
    low, high = float(levers.kn(levers.heel_min)), float(levers.kn(levers.heel_max))
    for beyond in (1e-9, 1.0, 1e6, math.inf):
        assert moments.kn(levers.heel_max + beyond, 0.0, c) == pytest.approx(high, abs=2e-10)
        assert moments.kn(levers.heel_min - beyond, 0.0, c) == pytest.approx(low, abs=2e-10)


def test_upright_there_is_no_lever_at_all() -> None:
    for kind in ("table", "wall-sided", "polynomial"):
        c = calm_coefficients(KINDS[kind], INERTIA, DAMPING)
        assert moments.kn(0.0, 0.0, c) == 0.0
        assert moments.righting_lever(0.0, 0.0, 7.0, 0.0, c) == 0.0


@every_kind
@settings(deadline=None)
@given(share=st.floats(0.0, 1.0), kg=st.floats(2.0, 8.0), off_centre=st.floats(-0.5, 0.5))
def test_the_righting_lever_takes_gravity_off(
    levers: Levers, share: float, kg: float, off_centre: float
) -> None:
    c = calm_coefficients(levers, INERTIA, DAMPING)
    phi = levers.heel_min + share * (levers.heel_max - levers.heel_min)
    gz = float(levers.kn(phi)) - kg * math.sin(phi) - off_centre * math.cos(phi)
    found = moments.righting_lever(phi, 0.0, kg, off_centre, c)
    assert found == pytest.approx(gz, abs=2e-10)


@settings(deadline=None)
@given(rate=st.floats(-3.0, 3.0))
def test_damping_is_linear_quadratic_and_cubic(rate: float) -> None:
    expected = 0.02 * rate + 0.35 * abs(rate) * rate + 0.1 * rate**3
    assert moments.damping(rate, *DAMPING) == pytest.approx(expected, rel=1e-14, abs=1e-300)
    assert moments.damping(-rate, *DAMPING) == -moments.damping(rate, *DAMPING)


@settings(deadline=None)
@given(rate=st.floats(0.01, 3.0), side=st.sampled_from([1.0, -1.0]))
def test_the_slope_of_the_damping_is_its_derivative(rate: float, side: float) -> None:
    b1, b2, b3 = DAMPING
    step, p = 1e-6, side * rate
    difference = moments.damping(p + step, *DAMPING) - moments.damping(p - step, *DAMPING)
    slope = moments.damping_slope(p, b1, 2.0 * b2, 3.0 * b3)
    assert slope == pytest.approx(difference / (2.0 * step), rel=1e-8)


@pytest.mark.parametrize(("law", "power"), [("constant", 0), ("cos", 1), ("cos2", 2)])
@pytest.mark.parametrize("heel", [0.0, 0.6, -0.6, 1.5])
def test_the_wind_lever_grows_as_speed_squared(law: str, power: int, heel: float) -> None:
    c = calm_coefficients(TABLE, INERTIA, DAMPING, wind=-2e-4, heel_law=law)
    expected = -2e-4 * 24.0**2 * math.cos(heel) ** power
    assert moments.wind_lever(heel, 24.0, c) == pytest.approx(expected, rel=1e-14)
    assert moments.wind_lever(heel, -24.0, c) == -moments.wind_lever(heel, 24.0, c)


def test_statics_and_motion_know_the_same_heel_laws() -> None:
    for name, law in HEELING_LAWS.items():
        c = calm_coefficients(TABLE, INERTIA, DAMPING, wind=1.0, heel_law=name)
        static = law.value(np.array([0.7, -0.4]))
        moving = [moments.wind_lever(heel, 1.0, c) for heel in (0.7, -0.4)]
        assert moving == pytest.approx(static, rel=1e-15)


def test_a_calm_has_no_slope() -> None:
    assert moments.wave_state(12.3, 1.0, 0.0, CALM) == (0.0, 0.0, 0.0)


@pytest.mark.parametrize("time", [0.0, 1.0, 7.5, 14.0, 20.0])
def test_the_sea_grows_smoothly_and_its_rate_is_that_of_its_growth(time: float) -> None:
    length, step = 15.0, 1e-4
    value, rate = moments.ramp(time, length)
    before, after = (moments.ramp(max(time + by, 0.0), length)[0] for by in (-step, step))
    assert value == pytest.approx(math.sin(0.5 * math.pi * min(time / length, 1.0)) ** 2)
    assert rate == pytest.approx((after - before) / (2.0 * step), abs=1e-5)
