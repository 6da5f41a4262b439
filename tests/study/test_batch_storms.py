"""Storms: common to all cases, unchanged by more of them, by workers and by the cut into tasks."""

from __future__ import annotations

import numpy as np
import pytest
from batch_samples import (
    CONDITIONS,
    STORM,
    Arrays,
    assert_same,
    measured,
    of_runs,
    plan_of,
    results_of,
)

from rollsim.engines.limits import Tolerances
from rollsim.engines.scipy.solver import Problem, Solution, solve
from rollsim.names import VARIABLES
from rollsim.study import plan as plan_module
from rollsim.study.plan import Plan
from rollsim.study.runs import Chunk
from rollsim.study.sampling import FixedNumber

LOADINGS = CONDITIONS + '"ship.gravity.kg_m" = 5.4\n"ship.inertia.gyradius_m" = 5.0\n'
CALM = {"start": "roll_deg = 10.0", "ship.damping": "linear_per_s = 0.05"}
REALISATIONS = {"block": 140, "DOP853": 3}
"""Enough of each method for several tasks, the last not full."""


def storm(method: str, realisations: int | None = None, seed: int = 7) -> dict[str, str]:
    """Tables of an irregular sea with so many realisations."""
    count = REALISATIONS[method] if realisations is None else realisations
    run = f'duration_s = 12.0\nrealisations = {count}\nseed = {seed}\nmethod = "{method}"'
    return {"sea": STORM, "run": run, "start": "roll_deg = 2.0"}


@pytest.fixture(scope="module", params=REALISATIONS)
def method(request: pytest.FixtureRequest) -> str:
    """The engine that runs in blocks, and one that takes run by run."""
    return str(request.param)


@pytest.fixture(scope="module")
def two_loadings(method: str) -> Arrays:
    """Two conditions of different G and inertia in the same storms."""
    return measured(storm(method), LOADINGS)


def chunks(plan: Plan, case: int) -> list[Chunk]:
    """The pieces into which the runs of a case are cut."""
    batch = FixedNumber(plan, [case], plan.realisations).batch()
    assert batch is not None
    return list(batch)


def small_tasks(method: str, monkeypatch: pytest.MonkeyPatch) -> Plan:
    """The same study, cut into tasks as small as the method takes."""
    monkeypatch.setattr(plan_module, "TASK_SECONDS", 1e-9)
    plan = plan_of(storm(method), LOADINGS)
    assert [len(chunks(plan, case)) for case in (0, 1)] == [3, 3]
    return plan


def test_all_cases_meet_the_same_storms(two_loadings: Arrays) -> None:
    slope, roll = two_loadings["wave_slope"], two_loadings["roll_angle"]
    # Each case is stepped by its own needs; the slope at an output is read between two steps.
    np.testing.assert_allclose(slope[0], slope[1], rtol=0.0, atol=5e-4)
    assert np.ptp(slope) > 1.0
    assert np.all(np.abs(roll[0] - roll[1]).max(axis=-1) > 0.1)


def test_every_realisation_is_another_storm(two_loadings: Arrays) -> None:
    alike = np.corrcoef(two_loadings["wave_slope"][0])
    np.fill_diagonal(alike, 0.0)
    assert np.max(alike) < 0.99


def test_both_methods_meet_the_same_storms() -> None:
    block, reference = (measured(storm(name, 3)) for name in REALISATIONS)
    for name in ("wave_slope", "roll_angle"):
        np.testing.assert_allclose(block[name], reference[name], atol=0.01, err_msg=name)


def test_another_seed_is_another_storm_and_the_same_seed_the_same(method: str) -> None:
    first, again, other = (measured(storm(method, 1, seed)) for seed in (7, 7, 8))
    assert_same(first, again)
    assert not np.array_equal(first["wave_slope"], other["wave_slope"])


def test_a_higher_sea_is_the_same_storm_made_higher(method: str) -> None:
    found = measured(storm(method, 2), '[sweep]\n"sea.significant_height_m" = [1.0, 3.0]\n')
    low, high = found["wave_slope"]
    np.testing.assert_allclose(high, 3.0 * low, rtol=1e-5, atol=1e-5)


@pytest.mark.parametrize("more", [5, 33, 64])
def test_more_realisations_leave_the_earlier_ones_unchanged(method: str, more: int) -> None:
    few, many = measured(storm(method, 2)), measured(storm(method, more))
    for name in of_runs():
        np.testing.assert_array_equal(many[name][:, :2], few[name], err_msg=name)


def test_the_cut_into_tasks_changes_nothing(
    method: str, two_loadings: Arrays, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert_same(results_of(small_tasks(method, monkeypatch)), two_loadings)


def test_every_run_is_in_exactly_one_task(method: str, monkeypatch: pytest.MonkeyPatch) -> None:
    plan = plan_of(storm(method, 150), CONDITIONS)
    for task_seconds in (1e-9, 0.02, 0.05, 10.0):
        monkeypatch.setattr(plan_module, "TASK_SECONDS", task_seconds)
        for case in (0, 1):
            found = chunks(plan, case)
            runs = np.concatenate([chunk.runs.realisation for chunk in found])
            assert runs.tolist() == list(range(150))
            assert {int(i) for chunk in found for i in chunk.case} == {case}


def test_two_workers_give_the_same_bits(monkeypatch: pytest.MonkeyPatch) -> None:
    expected = measured(storm("block"), LOADINGS)
    assert_same(results_of(small_tasks("block", monkeypatch), workers=2), expected)


@pytest.mark.slow
@pytest.mark.parametrize("workers", [2, 4])
def test_any_number_of_workers_gives_the_same_bits(
    method: str, two_loadings: Arrays, workers: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert_same(results_of(small_tasks(method, monkeypatch), workers), two_loadings)


def test_where_nothing_is_random_one_run_serves_for_all(monkeypatch: pytest.MonkeyPatch) -> None:
    solved = []

    def counted(problem: Problem, tolerances: Tolerances) -> Solution:
        solved.append(problem)
        return solve(problem, tolerances)

    monkeypatch.setattr("rollsim.engines.scipy.engine.solve", counted)
    run = 'duration_s = 5.0\nrealisations = 4\nmethod = "DOP853"'
    sea = 'kind = "regular"\nheight_m = 1.0\nperiod_s = 7.0'
    found = measured(CALM | {"run": run, "sea": sea}, CONDITIONS)
    assert len(solved) == 2
    check_alike(found)


def test_blocks_of_runs_that_are_all_alike_are_alike() -> None:
    found = measured(CALM | {"run": "duration_s = 5.0\nrealisations = 40"}, CONDITIONS)
    check_alike(found)


def check_alike(found: Arrays) -> None:
    """Every realisation is the first one again."""
    for name in of_runs():
        array = found[name]
        again = array[:, :1].repeat(array.shape[1], axis=1)
        np.testing.assert_array_equal(array, again, err_msg=name)


def test_probabilities_are_missing_where_nothing_is_random(method: str) -> None:
    run = f'duration_s = 5.0\nrealisations = 4\nmethod = "{method}"'
    found = measured(CALM | {"run": run, "limits": "roll_deg = 5.0"})
    names = [name for name in VARIABLES if "probability" in name]
    assert len(names) >= 6
    for name in names:
        assert np.isnan(found[name]).all(), name


def test_a_calm_condition_beside_a_storm_has_no_probability(method: str) -> None:
    more = (
        '[[conditions]]\nname = "calm"\nsea = { kind = "calm" }\n[[conditions]]\nname = "storm"\n'
    )
    found = measured(storm(method, 2), more)
    assert np.isnan(found["failure_probability"]).tolist() == [True, False]
    assert np.isnan(found["capsize_probability_upper"]).tolist() == [True, False]
