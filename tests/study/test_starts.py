"""Cases that differ in their start alone: one engine serves them, and nobody can tell."""

from __future__ import annotations

import numpy as np
import pytest
from batch_samples import CONDITIONS, STORM, Arrays, plan_of, results_of

from rollsim.engines import registry
from rollsim.engines.base import Case, Engine
from rollsim.names import HISTORY, RUN, VARIABLES
from rollsim.study.warnings import warnings

RUN_TEXT = "duration_s = 20.0\noutput_step_s = 1.0\nrealisations = 3\nseed = 5"
TABLES = {"sea": STORM, "run": RUN_TEXT, "limits": "roll_deg = 15.0\ncapsize_deg = 60.0"}
ROLLS, RATES = [-12.0, 3.0, 20.0], [0.0, 4.0]
STARTS = (
    f'[sweep]\n"start.roll_deg" = {ROLLS}\n"start.roll_rate_deg_per_s" = {RATES}\n' + CONDITIONS
)


def alone(roll: float, rate: float, name: str) -> Arrays:
    """The result of one start by itself."""
    start = f"roll_deg = {roll}\nroll_rate_deg_per_s = {rate}"
    return results_of(plan_of(TABLES | {"start": start}, f'[[conditions]]\nname = "{name}"\n'))


def test_every_start_is_the_run_that_it_is_alone() -> None:
    together = results_of(plan_of(TABLES, STARTS))
    singles = [
        alone(roll, rate, name) for name in ("light", "deep") for roll in ROLLS for rate in RATES
    ]
    for name, variable in VARIABLES.items():
        if name in together and variable.dims[0] == "case":
            expected = np.concatenate([single[name] for single in singles])
            np.testing.assert_array_equal(together[name], expected, err_msg=name)


def test_one_engine_serves_all_starts_of_a_ship(monkeypatch: pytest.MonkeyPatch) -> None:
    made: list[int] = []

    def counted(case: Case) -> Engine:
        made.append(case.index)
        return registry.ENGINES[case.method](case)

    monkeypatch.setattr("rollsim.study.workers.engine_for", counted)
    plan = plan_of(TABLES, STARTS)
    found = results_of(plan)
    assert len(set(plan.leads)) == 1
    assert len(made) == 1
    assert found["outcome"].shape == (12, 3)


def test_what_else_differs_has_an_engine_of_its_own() -> None:
    more = '[[conditions]]\nname = "a"\n[[conditions]]\nname = "b"\n"ship.gravity.kg_m" = 5.1\n'
    plan = plan_of(TABLES, f'[sweep]\n"start.roll_deg" = {ROLLS}\n{more}')
    assert [len(group) for group in plan.groups] == [3, 3]
    assert {plan.cases[i].gravity.kg for i in plan.groups[1]} == {5.1}


def test_the_most_violent_start_leads() -> None:
    plan = plan_of(TABLES, '[sweep]\n"start.roll_rate_deg_per_s" = [1.0, -9.0, 4.0]\n')
    assert plan.leads == (1, 1, 1)
    plan = plan_of(TABLES, '[sweep]\n"start.roll_deg" = [1.0, -9.0, 4.0]\n')
    assert plan.leads == (1, 1, 1)


def test_where_nothing_is_random_one_run_a_start_serves_for_all_realisations() -> None:
    calm = {"run": RUN_TEXT, "ship.damping": "linear_per_s = 0.05"}
    found = results_of(plan_of(calm, '[sweep]\n"start.roll_deg" = [5.0, 10.0]\n'))
    for name, variable in VARIABLES.items():
        if name in found and variable.dims in (RUN, HISTORY):
            np.testing.assert_array_equal(found[name][:, 0], found[name][:, 2], err_msg=name)
    assert np.all(found["roll_max"][0] < found["roll_max"][1])


MISSING = {
    "ship.windage": "area_m2 = 300.0\nlever_m = 5.0",
    "wind": 'speed_mps = 20.0\nfrom = "port"',
    "start": 'roll_deg = "static"\nstatic_missing = "skip"',
    "run": "duration_s = 10.0\nrealisations = 2",
}
WINDS = '[sweep]\n"wind.speed_mps" = [10.0, 95.0, 20.0]\n'


def test_a_case_without_a_static_heel_is_skipped_where_that_is_wanted() -> None:
    plan = plan_of(MISSING, WINDS)
    assert plan.skipped == {1}
    assert plan.runs == 4
    (line,) = (line for line in warnings(plan) if "are not run" in line)
    assert line.startswith("1 of 3 cases have no static heel within capsize_deg")
    assert line.endswith("the first case 1, base")
    found = results_of(plan)
    assert found["outcome"].tolist() == [[1, 1], [0, 0], [1, 1]]
    assert np.isnan(found["static_heel"]).tolist() == [False, True, False]
    assert np.isnan(found["roll_max"]).tolist() == [[False] * 2, [True] * 2, [False] * 2]
    assert found["message"][1].tolist() == ["not run: no static heel to start from"] * 2
    assert found["message"][0].tolist() == ["", ""]


def test_nothing_is_doubted_of_a_case_that_is_not_run() -> None:
    sea = MISSING | {
        "sea": 'kind = "regular"\nheight_m = 2.0\nperiod_s = 8.0\nheading_deg = 180.0',
        "ship.levers_in_waves": "gm_per_m = -0.1",
    }
    assert any("are not run" in line for line in warnings(plan_of(sea, WINDS)))


def test_a_study_of_skipped_cases_alone_has_nothing_to_run() -> None:
    plan = plan_of(MISSING, '[sweep]\n"wind.speed_mps" = [90.0, 95.0]\n')
    assert (plan.runs, plan.groups) == (0, [])
    assert results_of(plan)["outcome"].tolist() == [[0, 0], [0, 0]]


def test_the_engine_is_made_for_the_most_violent_start() -> None:
    sweep = '[sweep]\n"start.roll_deg" = [0.0, 50.0]\n"start.roll_rate_deg_per_s" = [0.0, 1.0]\n'
    assert set(plan_of(TABLES, sweep).leads) == {3}
    pair = '"start.roll_deg" = 50.0\n[[conditions]]\nname = "thrown"\n'
    thrown = '"start.roll_rate_deg_per_s" = 1.0\n'
    plan = plan_of(TABLES, f'[[conditions]]\nname = "heeled"\n{pair}{thrown}')
    assert set(plan.leads) == {0}
