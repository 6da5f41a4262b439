"""What the scenario's further keys become: turbulence, levers in waves, changes, randomness."""

from __future__ import annotations

import math

import numpy as np
import pytest
from batch_samples import STORM, WIND, WINDAGE, plan_of

from rollsim.constants import GRAVITY
from rollsim.engines.base import Case
from rollsim.motion.timeline import WAVES, loading_at
from rollsim.study.warnings import randomness

RUN = "duration_s = 100.0\nrealisations = 2"
WINDY = {"ship.windage": WINDAGE, "run": RUN}
HEAD = f"{STORM}\nheading_deg = 180.0"
IN_WAVES = "gm_per_m = -0.05"


def case_of(tables: dict[str, str], more: str = "") -> Case:
    """The only case of a scenario."""
    return plan_of(tables, more).cases[0]


def test_a_fraction_of_the_beam_is_a_gyradius() -> None:
    case = case_of({"ship.inertia": "beam_fraction = 0.38"})
    assert math.sqrt(case.coefficients.inertia * GRAVITY) == pytest.approx(0.38 * 12.0)


@pytest.mark.parametrize(("excitation", "share"), [("relative", 0.2), ("absolute", 0.0)])
def test_the_added_share_acts_with_relative_excitation(excitation: str, share: float) -> None:
    sea = f'{STORM}\nexcitation = "{excitation}"'
    inertia = "gyradius_m = 4.0" + ("\nadded_share = 0.2" if share else "")
    assert case_of({"sea": sea, "ship.inertia": inertia}).coefficients.added_share == share


def test_turbulence_on_windage_is_random() -> None:
    still, turbulent = ({"wind": f"{WIND}{more}"} for more in ("", "\nturbulence = {}"))
    assert not case_of(WINDY | still).random
    case = case_of(WINDY | turbulent)
    assert case.random
    assert case.storm.wind is not None
    variance = 0.5 * float(np.sum(case.storm.wind.amplitude**2))
    assert variance == pytest.approx(6.0 * 0.003 * 20.0**2, rel=0.1)


def test_a_turbulence_of_given_intensity() -> None:
    case = case_of(WINDY | {"wind": f"{WIND}\nturbulence = {{ intensity = 0.1 }}"})
    assert case.storm.wind is not None
    variance = 0.5 * float(np.sum(case.storm.wind.amplitude**2))
    assert variance == pytest.approx((0.1 * 20.0) ** 2, rel=0.1)


def test_a_calm_has_no_turbulence() -> None:
    wind = WIND.replace("20.0", "0.0")
    assert not case_of(WINDY | {"wind": f"{wind}\nturbulence = {{}}"}).random


@pytest.mark.parametrize("heading", ["0.0", "180.0", "180.0000000001"])
def test_a_sea_from_ahead_or_astern_has_no_slope(heading: str) -> None:
    plan = plan_of({"sea": f"{STORM}\nheading_deg = {heading}", "run": RUN})
    assert not plan.cases[0].random
    assert "although a sea is given: it has no slope that acts on her" in randomness(plan)


def test_a_sea_from_ahead_acts_on_levers_that_feel_it() -> None:
    plan = plan_of({"sea": HEAD, "run": RUN, "ship.levers_in_waves": IN_WAVES})
    assert plan.cases[0].random
    assert randomness(plan) == "random: every realisation is another storm"


def test_some_cases_may_be_random_and_others_not() -> None:
    plan = plan_of({"sea": STORM, "run": RUN}, '[sweep]\n"sea.heading_deg" = [0.0, 90.0, 180.0]\n')
    assert plan.random.tolist() == [False, True, False]
    assert randomness(plan).startswith("random in 1 of 3 cases; in the others one run serves")


def test_values_change_from_those_in_force() -> None:
    more = (
        '[[events]]\nkind = "change"\nkey = "ship.gravity.kg_m"\nto = 5.4\nat_s = 20.0\n'
        "over_s = 40.0\n"
        '[[events]]\nkind = "change"\nkey = "wind.speed_mps"\nto = 10.0\nat_s = 50.0\n'
        '[[events]]\nkind = "change"\nkey = "ship.gravity.off_centre_m"\nto = 0.05\nat_s = 60.0\n'
    )
    case = case_of(WINDY | {"wind": WIND}, more)
    times = np.array([10.0, 40.0, 49.0, 70.0])
    loading = loading_at(times, case.segments)
    np.testing.assert_allclose(loading[:, 1], [5.0, 5.2, 5.29, 5.4])
    np.testing.assert_allclose(loading[:, 2], [0.0, 0.0, 0.0, 0.05])
    np.testing.assert_allclose(loading[:, -1], [20.0, 20.0, 20.0, 10.0])
    np.testing.assert_allclose(case.mean_wind_at(times), [20.0, 20.0, 20.0, 10.0])


def test_the_height_of_a_regular_sea_changes_by_a_factor() -> None:
    sea = 'kind = "regular"\nheight_m = 2.0\nperiod_s = 8.0'
    more = (
        '[[events]]\nkind = "change"\nkey = "sea.height_m"\nto = 3.0\nat_s = 20.0\nover_s = 40.0\n'
    )
    case = case_of({"sea": sea, "run": RUN}, more)
    assert case.segments[0, WAVES] == 1.0
    assert case.segments[-1, WAVES] == pytest.approx(1.5)
