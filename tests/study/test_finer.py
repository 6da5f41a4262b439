"""What `check --accuracy` compares, and when it blames the barrier."""

from __future__ import annotations

import numpy as np
import pytest
from batch_samples import KN_LEVERS, STORM, plan_of

from rollsim.study.accuracy import RUNS, compare
from rollsim.study.plan import Plan

SHIP = {"ship.levers": KN_LEVERS, "ship.damping": "linear_per_s = 0.02\nquadratic = 0.4"}
RUN = "duration_s = 300.0\noutput_step_s = 0.5\nrealisations = 8\nseed = 11\n"


def storm(height: float, kg: float) -> Plan:
    """A ship in an irregular sea of a height [m]."""
    sea = STORM.replace("3.0", f"{height}").replace("8.0", "10.0")
    return plan_of(SHIP | {"sea": sea, "run": RUN, "ship.gravity": f"kg_m = {kg}"})


def test_a_stiff_ship_in_a_low_sea_magnifies_nothing() -> None:
    result = compare(storm(2.0, 5.0).cases[0])
    assert result is not None
    assert (result.runs, result.outcomes, result.growing) == (RUNS, 0, 0)
    assert 0.0 < result.roll < 0.01
    assert result.end == 0.0


def test_where_runs_cross_the_barrier_a_disturbance_grows() -> None:
    result = compare(storm(8.0, 5.75).cases[0])
    assert result is not None
    assert result.growing > 0


def test_the_end_of_capsized_runs_is_compared_too() -> None:
    result = compare(storm(8.0, 5.85).cases[0])
    assert result is not None
    assert np.isfinite(result.end)
    assert result.end > 0.0


def test_a_calm_has_one_run() -> None:
    plan = plan_of(SHIP | {"run": RUN, "start": "roll_deg = 10.0"})
    result = compare(plan.cases[0])
    assert result is not None
    assert (result.runs, result.growing) == (1, 0)


@pytest.mark.parametrize("method", ["DOP853", "Radau"])
def test_a_scipy_method_is_not_compared(method: str) -> None:
    plan = plan_of({"run": f'duration_s = 20.0\nmethod = "{method}"'})
    assert compare(plan.cases[0]) is None
