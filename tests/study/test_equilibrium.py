"""Where many cases rest, found together, against each by itself; arrays made as they are read."""

from __future__ import annotations

import math

import numpy as np
import pytest
from batch_samples import KN_LEVERS, WIND, WINDAGE, plan_of

from rollsim.motion.timeline import loading_at
from rollsim.ship import statics
from rollsim.ship.righting import RightingCurve
from rollsim.study.at_rest import of_cases
from rollsim.study.equilibrium import about_static_heel, angles
from rollsim.study.plan import Plan
from rollsim.study.shared import Shared

KGS = [4.8, 5.3, 5.6, 5.659, 5.7, 5.9]
SWEEP = (
    f'[sweep]\n"ship.gravity.kg_m" = {KGS}\n"ship.gravity.off_centre_m" = [0.0, 0.02]\n'
    '"start.roll_deg" = [-40.0, 0.0, 10.0]\n'
)
TABLES = {"ship.levers": KN_LEVERS, "ship.gravity": "kg_m = 5.0", "limits": "capsize_deg = 80.0"}


@pytest.fixture(scope="module", params=["", f"{WIND}\n"])
def plan(request: pytest.FixtureRequest) -> Plan:
    """Ships with GM above, at and below zero, with and without wind."""
    wind = {"wind": request.param, "ship.windage": WINDAGE} if request.param else {}
    return plan_of(TABLES | wind, SWEEP)


def same(found: float, expected: float) -> bool:
    """Equal to a root's accuracy, or both missing."""
    return bool(np.isclose(found, expected, rtol=0.0, atol=1e-7, equal_nan=True))


def test_many_cases_rest_where_each_does(plan: Plan) -> None:
    start = np.array([case.start[0] for case in plan.cases])
    which = np.arange(len(plan.cases))
    found = angles(plan.cases) | about_static_heel(plan.cases, which, start)
    for i, case in enumerate(plan.cases):
        vanishing = np.degrees(statics.vanishing_angles(case.levers, case.gravity))
        assert same(found["vanishing_angle"][i], vanishing[0])
        assert same(found["vanishing_angle_port"][i], vanishing[1])
        heel = math.degrees(statics.static_heel(case.curve, case.start[0]))
        assert same(found["static_heel"][i], heel), (i, case.gravity, case.start)


def test_loll_is_missing_where_she_stays_upright(plan: Plan) -> None:
    found = angles(plan.cases)
    for i, case in enumerate(plan.cases):
        if case.gravity.kg < 5.65:
            assert np.isnan(found["loll_angle"][i])
        if case.gravity.kg > 5.66:
            starboard, port = np.degrees(statics.loll_angles(case.levers, case.gravity))
            assert same(found["loll_angle"][i], starboard)
            assert same(found["loll_angle_port"][i], port)


def test_the_period_of_small_rolls_is_that_of_the_slope() -> None:
    plan = plan_of(TABLES, f'[sweep]\n"ship.gravity.kg_m" = {KGS}\n')
    found = of_cases(plan, range(len(plan.cases)))
    for i, case in enumerate(plan.cases):
        gm = float(found["gm"][i])
        upright = 2.0 * math.pi * math.sqrt(case.coefficients.inertia / gm) if gm > 0 else math.nan
        assert same(found["roll_period_upright"][i], upright)
        if np.isnan(found["static_heel"][i]):
            assert np.isnan(found["roll_period"][i])
            continue
        slope = float(case.curve.slope(math.radians(float(found["static_heel"][i]))))
        about = 2.0 * math.pi * math.sqrt(case.coefficients.inertia / slope)
        if slope > 1e-6:
            assert found["roll_period"][i] == pytest.approx(about, rel=1e-6)
    assert found["loll_angle"][KGS.index(5.7)] > 0.0 > found["loll_angle_port"][KGS.index(5.7)]
    assert np.isnan(found["roll_period_upright"]).tolist() == [kg > 5.65 for kg in KGS]


def test_rows_are_made_as_they_are_read(plan: Plan) -> None:
    found = of_cases(plan, range(len(plan.cases)))
    for name in ("righting_lever", "centre_of_gravity_z", "metacentre_y", "buoyancy_z"):
        array = found[name]
        assert isinstance(array, Shared)
        whole = np.asarray(array)
        assert whole.shape == array.shape == (len(plan.cases), array.shape[1])
        np.testing.assert_array_equal(array[2:5], whole[2:5])
        np.testing.assert_array_equal(array[3], whole[3])
        np.testing.assert_array_equal(array[1:9:2, 4:7], whole[1:9:2, 4:7])
        np.testing.assert_array_equal(array[5, 4:7], whole[5, 4:7])
    case = plan.cases[4]
    lever = RightingCurve(case.levers, case.gravity).value(np.radians(plan.heel))
    np.testing.assert_allclose(found["righting_lever"][4], lever, rtol=0.0, atol=1e-12)
    np.testing.assert_allclose(
        found["steady_heeling_lever"][4],
        case.curve.heeling_lever(np.radians(plan.heel)),
        atol=1e-12,
    )


def test_the_path_of_gravity_is_that_of_the_events() -> None:
    more = (
        '[[events]]\nkind = "move-weight"\nat_s = 3.0\nover_s = 4.0\nmass_t = 20.0\n'
        "across_m = 1.5\nup_m = 0.4\n"
        '[sweep]\n"ship.gravity.kg_m" = [5.0, 5.2]\n'
    )
    plan = plan_of(None, more)
    found = of_cases(plan, [1, 0])
    for row, case in zip((0, 1), (plan.cases[1], plan.cases[0]), strict=True):
        loading = loading_at(plan.times, case.segments)
        np.testing.assert_array_equal(found["centre_of_gravity_z"][row], loading[:, 1])
        np.testing.assert_array_equal(found["centre_of_gravity_y"][row], loading[:, 2])
    assert found["centre_of_gravity_y"][0, -1] == pytest.approx(0.03)


def test_cases_of_the_same_weather_have_the_same_digest() -> None:
    more = (
        '[[conditions]]\nname = "a"\n[[conditions]]\nname = "b"\n"ship.gravity.kg_m" = 5.1\n'
        '[[conditions]]\nname = "c"\n[conditions.sea]\nkind = "regular"\nheight_m = 2.0\n'
        "period_s = 8.0\n"
    )
    plan = plan_of(None, more)
    a, b, c = of_cases(plan, range(3))["weather_digest"].tolist()
    assert a == b != c
    assert len(a) == 16
