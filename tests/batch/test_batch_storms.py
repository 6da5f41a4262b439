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

from rollsim.batch import case as case_module
from rollsim.batch import study
from rollsim.batch.study import chunks
from rollsim.names import VARIABLES

LOADINGS = CONDITIONS + '"ship.gravity.kg_m" = 5.4\n"ship.inertia.gyradius_m" = 5.0\n'
CALM = {"start": "roll_deg = 10.0", "ship.damping": "linear_per_s = 0.05"}


def storm(realisations: int, seed: int = 7) -> dict[str, str]:
    """Tables of an irregular sea with so many realisations."""
    run = f'duration_s = 12.0\nrealisations = {realisations}\nseed = {seed}\nmethod = "DOP853"'
    return {"sea": STORM, "run": run, "start": "roll_deg = 2.0"}


@pytest.fixture(scope="module")
def two_loadings() -> Arrays:
    """Two conditions of different G and inertia in three storms."""
    return measured(storm(3), LOADINGS)


def test_all_cases_meet_the_same_storms(two_loadings: Arrays) -> None:
    slope, roll = two_loadings["wave_slope"], two_loadings["roll_angle"]
    np.testing.assert_array_equal(slope[0], slope[1])
    assert np.ptp(slope) > 1.0
    assert np.all(np.abs(roll[0] - roll[1]).max(axis=-1) > 0.1)


def test_every_realisation_is_another_storm(two_loadings: Arrays) -> None:
    slope = two_loadings["wave_slope"][0]
    for a, b in ((0, 1), (0, 2), (1, 2)):
        assert np.corrcoef(slope[a], slope[b])[0, 1] < 0.95


def test_another_seed_is_another_storm_and_the_same_seed_the_same() -> None:
    first, again, other = (measured(storm(1, seed)) for seed in (7, 7, 8))
    assert_same(first, again)
    assert not np.array_equal(first["wave_slope"], other["wave_slope"])


def test_a_higher_sea_is_the_same_storm_made_higher() -> None:
    found = measured(storm(2), '[sweep]\n"sea.significant_height_m" = [1.0, 3.0]\n')
    low, high = found["wave_slope"]
    np.testing.assert_allclose(high, 3.0 * low, rtol=1e-5, atol=1e-6)


def test_more_realisations_leave_the_earlier_ones_unchanged() -> None:
    few, more = measured(storm(2)), measured(storm(5))
    for name in of_runs():
        np.testing.assert_array_equal(more[name][:, :2], few[name], err_msg=name)


@pytest.mark.parametrize(("task_seconds", "tasks"), [(1e-6, 6), (0.013, 4), (1e6, 2)])
def test_the_cut_into_tasks_changes_nothing(
    task_seconds: float, tasks: int, two_loadings: Arrays, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(study, "TASK_SECONDS", task_seconds)
    plan = plan_of(storm(3), LOADINGS)
    assert len(chunks(plan)) == tasks
    assert_same(results_of(plan), two_loadings)


def test_every_run_is_in_exactly_one_task(monkeypatch: pytest.MonkeyPatch) -> None:
    plan = plan_of(storm(7), CONDITIONS)
    for task_seconds in (1e-9, 0.02, 0.05, 10.0):
        monkeypatch.setattr(study, "TASK_SECONDS", task_seconds)
        runs = [(c.case, run) for c in chunks(plan) for run in range(c.first, c.last)]
        assert runs == [(case, run) for case in (0, 1) for run in range(7)]


def test_two_workers_give_the_same_bits(
    two_loadings: Arrays, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(study, "TASK_SECONDS", 1e-6)
    assert_same(results_of(plan_of(storm(3), LOADINGS), workers=2), two_loadings)


def test_where_nothing_is_random_one_run_serves_for_all(monkeypatch: pytest.MonkeyPatch) -> None:
    solved = []
    solve = case_module.solve
    monkeypatch.setattr(
        case_module, "solve", lambda *given: solved.append(given) or solve(*given)
    )
    run = 'duration_s = 5.0\nrealisations = 4\nmethod = "DOP853"'
    sea = 'kind = "regular"\nheight_m = 1.0\nperiod_s = 7.0'
    found = measured(CALM | {"run": run, "sea": sea}, CONDITIONS)
    assert len(solved) == 2
    for name in of_runs():
        array = found[name]
        np.testing.assert_array_equal(array, array[:, :1].repeat(4, axis=1), err_msg=name)


def test_probabilities_are_missing_where_nothing_is_random() -> None:
    run = 'duration_s = 5.0\nrealisations = 4\nmethod = "DOP853"'
    found = measured(CALM | {"run": run, "limits": "roll_deg = 5.0"})
    names = [name for name in VARIABLES if "probability" in name]
    assert len(names) == 6
    for name in names:
        assert np.isnan(found[name]).all(), name


def test_a_calm_condition_beside_a_storm_has_no_probability() -> None:
    more = '[[conditions]]\nname = "calm"\nsea = { kind = "calm" }\n[[conditions]]\nname = "storm"\n'
    found = measured(storm(2), more)
    assert np.isnan(found["failure_probability"]).tolist() == [True, False]
    assert np.isnan(found["capsize_probability_upper"]).tolist() == [True, False]
