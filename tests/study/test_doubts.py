"""What is said of a study before it runs, where cases are skipped or start far over."""

from __future__ import annotations

import pytest
from batch_samples import STORM, plan_of

from rollsim.study.warnings import warnings

HEAD_SEA = STORM.replace("peak_period_s = 8.0", "peak_period_s = 4.6") + "\nheading_deg = 180.0"
PARAMETRIC = {
    "sea": HEAD_SEA,
    "ship.levers_in_waves": "gm_per_m = -0.2",
    "ship.damping": "linear_per_s = 0.05",
}
NO_HEEL = {
    "ship.gravity": "kg_m = 5.0\noff_centre_m = 5.0",
    "start": 'roll_deg = "static"\nstatic_missing = "skip"',
}


@pytest.mark.parametrize("tables", [NO_HEEL, NO_HEEL | PARAMETRIC])
def test_a_case_without_a_static_heel_is_told_of(tables: dict[str, str]) -> None:
    lines = warnings(plan_of(tables))
    assert any("1 of 1 cases have no static heel" in line for line in lines)
    assert not any("twice her natural frequency" in line for line in lines)


@pytest.mark.parametrize("roll", [0.0, 20.0, 35.0, 60.0])
def test_the_start_does_not_hide_parametric_roll(roll: float) -> None:
    lines = warnings(plan_of(PARAMETRIC | {"start": f"roll_deg = {roll}"}))
    (line,) = [line for line in lines if "twice her natural frequency" in line]
    assert "0.98 times" in line
