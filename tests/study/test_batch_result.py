"""What a study's result holds, against the rooms below asked directly."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from batch_samples import (
    CONDITIONS,
    KG,
    KN_LEVERS,
    STORM,
    WIND,
    WINDAGE,
    Arrays,
    measured,
    one,
    plan_of,
    results_of,
)

from rollsim.constants import AIR_DENSITY, GRAVITY
from rollsim.engines.limits import Limits, Tolerances
from rollsim.engines.scipy.solver import Problem, solve
from rollsim.engines.scipy.watch import ROLL_MAX, ROLL_MIN, Watched
from rollsim.forcing.single import with_storm
from rollsim.forcing.storm import Storm
from rollsim.motion.coefficients import calm_coefficients
from rollsim.motion.timeline import Base, Change, timeline
from rollsim.names import COORDINATES, SEARCHED, VARIABLES, Outcome
from rollsim.ship.damping import Damping
from rollsim.ship.levers import Gravity, from_kn_table, metacentric_height, polynomial
from rollsim.ship.metacentre import buoyancy, metacentre
from rollsim.ship.righting import Heeling, RightingCurve
from rollsim.ship.statics import loll_angles, static_heel, vanishing_angles
from rollsim.store.reading import open_result
from rollsim.study.run import run_to_file
from rollsim.study.workers import Where
from rollsim.weather.sea import SeaState
from rollsim.weather.spectra import SPECTRA
from rollsim.weather.wind import Gust

HEEL = np.radians([0, 10, 20, 30, 40, 50, 60, 75, 90])
KN = np.array([0.0, 0.983, 1.969, 2.923, 3.658, 4.160, 4.444, 4.520, 4.264])
SWEPT = '[sweep]\n"ship.gravity.kg_m" = [5.1, 5.8]\n' + CONDITIONS
TABLES = {
    "ship.levers": KN_LEVERS,
    "ship.gravity": "kg_m = 5.1\noff_centre_m = 0.02\nfree_surface_m = 0.05",
    "ship.windage": WINDAGE,
    "wind": WIND + '\nheel_law = "cos2"',
    "sea": STORM,
    "limits": "roll_deg = 35.0",
    "run": 'duration_s = 20.3\nrealisations = 3\nmethod = "DOP853"',
}


def wind_lever(speed: float) -> float:
    """Upright lever [m] of the samples' wind, for their displacement."""
    return 0.5 * AIR_DENSITY * 1.22 * 300.0 * 5.0 * speed**2 / (1e6 * GRAVITY)


@pytest.fixture(scope="module")
def found() -> Arrays:
    """Two conditions by two heights of G, three storms."""
    return results_of(plan_of(TABLES, SWEPT))


OF_SOME = {
    *SEARCHED,
    "free_surface_rise",
    "filled_lever",
    "filling_time",
    "section_y",
    "section_z",
    "water_level",
}
"""What only searches hold, ships with a hull, or tanks that fill."""


def test_every_variable_of_the_table_is_there_in_its_shape(found: Arrays) -> None:
    sizes = {"case": 4, "realisation": 3, "t": 41, "heel": 361}
    assert found.keys() == VARIABLES.keys() - OF_SOME | {"t", "heel", "condition"}
    for name, array in found.items():
        variable = VARIABLES.get(name) or COORDINATES[name]
        assert array.shape == tuple(sizes[dim] for dim in variable.dims), name
        kind = "U" if variable.dtype == "str" else np.dtype(variable.dtype)
        assert array.dtype == kind or array.dtype.kind == kind, name


def test_the_file_holds_the_same_under_the_names_of_the_table(
    found: Arrays, tmp_path: Path
) -> None:
    path = tmp_path / "result.nc"
    assert run_to_file(plan_of(TABLES, SWEPT), path, where=Where(workers=1))
    with open_result(path) as result:
        for name in VARIABLES.keys() - OF_SOME:
            variable = VARIABLES[name]
            assert result[name].dims == variable.dims
            assert result[name].attrs.get("units", "") == ("" if name in FLAGS else variable.units)
            np.testing.assert_array_equal(result[name].values, found[name], err_msg=name)
        assert list(result["condition"].values) == ["light", "light", "deep", "deep"]
        assert list(result["kg"].values) == [5.1, 5.8, 5.1, 5.8]
        assert result["kg"].attrs["units"] == "m"


FLAGS = ("outcome", "failed_before_settle")


def test_cases_come_conditions_outermost_and_last_axis_fastest() -> None:
    more = '[sweep]\n"ship.gravity.kg_m" = [4.0, 4.5]\n"wind.speed_mps" = [5, 6]\n' + CONDITIONS
    plan = plan_of({"ship.windage": WINDAGE, "wind": WIND}, more)
    order = [(c.condition, c.coordinates["kg"], c.coordinates["speed"]) for c in plan.cases]
    assert [case.index for case in plan.cases] == list(range(8))
    assert order[:4] == [("light", 4.0, 5.0), ("light", 4.0, 6.0), ("light", 4.5, 5.0),
                         ("light", 4.5, 6.0)]  # fmt: skip
    assert {condition for condition, *_ in order[4:]} == {"deep"}


@pytest.mark.parametrize(("case", "kg"), [(0, 5.1), (1, 5.8), (3, 5.8)])
def test_statics_are_those_of_the_ship_room(found: Arrays, case: int, kg: float) -> None:
    levers, gravity = from_kn_table(HEEL, KN, 5.659), Gravity(kg, 0.02, 0.05)
    curve = RightingCurve(levers, gravity, Heeling(wind_lever(20.0), "cos2"))
    loll = loll_angles(levers, gravity) if kg > 5.6 else (math.nan, math.nan)
    vanishing = vanishing_angles(levers, gravity)
    expected = {
        "gm": metacentric_height(levers, gravity),
        "loll_angle": math.degrees(loll[0]),
        "loll_angle_port": math.degrees(loll[1]),
        "vanishing_angle": math.degrees(vanishing[0]),
        "vanishing_angle_port": math.degrees(vanishing[1]),
        "static_heel": math.degrees(static_heel(curve, 0.0)),
        "gyradius": 4.0,
        "roll_limit": 35.0,
        "flooding_limit": math.nan,
        "capsize_limit": 90.0,
    }
    for name, value in expected.items():
        assert found[name][case] == pytest.approx(value, rel=1e-12, abs=1e-12, nan_ok=True), name
    assert found["excitation"][case] == "relative"


def test_curves_are_those_of_the_ship_room_at_every_heel(found: Arrays) -> None:
    levers, gravity = from_kn_table(HEEL, KN, 5.659), Gravity(5.1, 0.02, 0.05)
    heel = np.radians(found["heel"])
    assert found["heel"][[0, 180, -1]] == pytest.approx([-90.0, 0.0, 90.0], abs=1e-12)
    curve = RightingCurve(levers, gravity, Heeling(wind_lever(20.0), "cos2"))
    expected = {
        "righting_lever": RightingCurve(levers, gravity).value(heel),
        "steady_heeling_lever": curve.heeling_lever(heel),
        "metacentre_y": metacentre(levers, heel)[0],
        "metacentre_z": metacentre(levers, heel)[1],
        "buoyancy_y": buoyancy(levers, heel, 2.739)[0],
        "buoyancy_z": buoyancy(levers, heel, 2.739)[1],
    }
    for name, values in expected.items():
        np.testing.assert_allclose(found[name][0], values, atol=1e-12, err_msg=name)


def test_curves_are_missing_past_the_levers_of_a_case_and_b_without_its_height() -> None:
    more = '[sweep]\n"ship.levers.heel_max_deg" = [40.0, 60.25]\n'
    found = measured({"run": 'duration_s = 1.0\nmethod = "DOP853"'}, more)
    assert found["heel"][[0, -1]] == pytest.approx([-60.25, 60.25])
    known = np.isfinite(found["righting_lever"])
    assert np.array_equal(known[0], np.abs(found["heel"]) <= 40.0 + 1e-9)
    assert known[1].all()
    assert np.isfinite(found["metacentre_z"][1]).all()
    assert np.isnan(found["buoyancy_z"]).all()


def test_histories_are_those_of_the_solver_in_degrees() -> None:
    tables = {
        "ship.damping": "linear_per_s = 0.03\nquadratic = 0.2\ncubic_s = 0.1",
        "ship.windage": WINDAGE,
        "ship.gravity": "kg_m = 4.9\noff_centre_m = -0.01\nfree_surface_m = 0.03",
        "wind": WIND + '\nheel_law = "cos"\n[[wind.gust]]\nat_s = 4.0\nrise_s = 1.0\n'
        "hold_s = 3.0\nspeed_factor = 1.3",
        "sea": STORM + "\nheading_deg = 120.0\nship_speed_mps = 3.0\nramp_s = 6.0",
        "limits": "roll_deg = 20.0\ncapsize_deg = 80.0",
        "start": "roll_deg = -4.0\nroll_rate_deg_per_s = 1.5",
        "run": 'duration_s = 20.3\nrealisations = 2\nseed = 11\nsettle_s = 5.0\nmethod = "DOP853"'
        "\nrelative_tolerance = 1e-7\nabsolute_tolerance_deg = 1e-6",
    }
    event = '[[events]]\nkind = "heeling-lever"\nat_s = 7.0\nover_s = 2.0\nlever_m = 0.02\n'
    found = measured(tables, event)

    levers = polynomial([0.8, 0.0, -0.6], KG, math.radians(100.0))
    sea = SeaState(
        waves=SPECTRA["bretschneider"](3.0, peak_period=8.0), length=60.0, beam=12.0, draught=4.0,
        shortest_wave=12.0, duration=20.3, heading=math.radians(120.0), speed=3.0,
        slope_coefficient=None,
    )  # fmt: skip
    damping = Damping(0.03, 0.2, 0.1)
    calm = calm_coefficients(levers, 16.0 / GRAVITY, damping, wind_lever(1.0), "cos")
    gravity, gust = Gravity(4.9, -0.01, 0.03), Gust(4.0, 1.0, 3.0, 1.3)
    limits = Limits(roll=math.radians(20.0), capsize=math.radians(80.0))
    for realisation in (0, 1):
        problem = Problem(
            with_storm(calm._replace(ramp=6.0), Storm(sea), 11, realisation, (1.0, 1.0)),
            timeline(
                20.3, Base(gravity, 20.0), [Change(7.0, 2.0, lever=0.02)], (), (gust,), (5.0, 6.0)
            ),
            math.radians(-4.0), math.radians(1.5), 0.5,
            Watched(limits, math.nan, np.zeros(0)), settle=5.0,
        )  # fmt: skip
        solution = solve(problem, Tolerances("DOP853", 1e-7, math.radians(1e-6)))
        # The wind's coefficient is multiplied in another order: last bits may differ.
        for name, values in zip(("roll_angle", "roll_rate"), solution.states, strict=True):
            np.testing.assert_allclose(
                found[name][0, realisation], np.degrees(values), rtol=1e-6, atol=1e-5
            )
        assert found["end_time"][0, realisation] == pytest.approx(20.3, abs=1e-12)
        for name, row in (("roll_max", ROLL_MAX), ("roll_min", ROLL_MIN)):
            extreme = math.degrees(solution.record[row])
            assert found[name][0, realisation] == pytest.approx(extreme, rel=1e-9)
        assert found["outcome"][0, realisation] == Outcome.SURVIVED


def test_a_run_ends_where_the_angle_passes_and_is_missing_from_there() -> None:
    tables = {
        "start": "roll_deg = 60.0\nroll_rate_deg_per_s = 40.0",
        "limits": "roll_deg = 65.0\nflooding_deg = 70.0\ncapsize_deg = 85.0",
    }
    found = measured(tables)
    end, failure = one(found, "end_time"), one(found, "failure_time")
    assert one(found, "outcome") == Outcome.CAPSIZED
    assert one(found, "roll_max") == pytest.approx(85.0, abs=1e-6)
    assert 0.0 < failure < end < 2.0
    before = found["t"] <= end
    for name in ("roll_angle", "roll_rate", "wave_slope", "heeling_lever"):
        assert np.array_equal(np.isfinite(found[name][0, 0]), before), name
    assert np.isfinite(found["centre_of_gravity_z"]).all()


def test_a_failure_is_kept_when_she_comes_back() -> None:
    found = measured({"start": "roll_deg = 30.0", "limits": "roll_deg = 25.0"})
    assert one(found, "outcome") == Outcome.ROLL_LIMIT
    assert one(found, "failure_time") == 0.0
    assert one(found, "end_time") == 20.0
    assert np.isfinite(found["roll_angle"]).all()


def test_outputs_end_at_the_greatest_step_within_the_duration() -> None:
    found = measured({"run": 'duration_s = 10.0\noutput_step_s = 0.3\nmethod = "DOP853"'})
    np.testing.assert_allclose(found["t"], 0.3 * np.arange(34), rtol=1e-15)
    assert one(found, "end_time") == 10.0
