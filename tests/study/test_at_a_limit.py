"""A ship that stands exactly at a limit passes it, whatever the float type that steps her."""

from __future__ import annotations

import numpy as np
import pytest
from batch_samples import plan_of

from rollsim.engines.base import run_list
from rollsim.engines.runs import Runs
from rollsim.names import Outcome
from rollsim.study.workers import make_here

DAMPED = {"ship.damping": "linear_per_s = 0.2"}
ANGLES = [10.0, 12.0, 20.0, 35.0, 40.0, 45.0]


def released(method: str, angle: float, limits: str, settle: float = 0.0) -> Runs:
    """One run from rest at an angle in calm water."""
    run = f'duration_s = 20.0\nmethod = "{method}"\nsettle_s = {settle}'
    tables = DAMPED | {"limits": limits, "start": f"roll_deg = {angle}", "run": run}
    (case,) = plan_of(tables).cases
    return make_here(case, run_list(0, case.start))


@pytest.mark.parametrize("method", ["block", "DOP853"])
@pytest.mark.parametrize("angle", ANGLES)
def test_a_start_at_the_roll_limit_is_past_it(method: str, angle: float) -> None:
    for side in (angle, -angle):
        numbers = released(method, side, f"roll_deg = {angle}").numbers
        assert numbers["outcome"][0] == Outcome.ROLL_LIMIT
        assert numbers["roll_limit_time"][0] == 0.0
        assert numbers["limit_margin"][0] <= 0.0


@pytest.mark.parametrize("method", ["block", "DOP853"])
@pytest.mark.parametrize("angle", ANGLES)
def test_a_start_at_the_flooding_limit_is_past_it(method: str, angle: float) -> None:
    numbers = released(method, angle, f"flooding_deg = {angle}").numbers
    assert numbers["outcome"][0] == Outcome.FLOODED
    assert numbers["limit_margin"][0] <= 0.0


@pytest.mark.parametrize("method", ["block", "DOP853"])
def test_a_start_at_a_limit_before_settle_is_flagged(method: str) -> None:
    numbers = released(method, 40.0, "roll_deg = 40.0", settle=10.0).numbers
    assert numbers["failed_before_settle"][0] == 1
    assert np.isnan(numbers["roll_limit_time"][0])
