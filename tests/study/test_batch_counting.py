"""From outcomes to probabilities, with runs made up for the purpose."""

from __future__ import annotations

import math

import numpy as np
import pytest
from batch_samples import STORM, Arrays, measured, plan_of
from scipy.stats import binomtest

from rollsim.engines.runs import HISTORIES, Runs
from rollsim.names import Outcome
from rollsim.study.result import Results

RUNS = 8
N = (Outcome.NOT_RUN, False)
S = (Outcome.SURVIVED, False)
R = (Outcome.ROLL_LIMIT, False)
F = (Outcome.FLOODED, False)
C = (Outcome.CAPSIZED, False)
X = (Outcome.NOT_SOLVED, False)
EARLY_S, EARLY_C = (Outcome.SURVIVED, True), (Outcome.CAPSIZED, True)


def counted(*ends: tuple[Outcome, bool]) -> Arrays:
    """The result of a study of one case whose first runs ended like that."""
    run = f'duration_s = 2.0\nrealisations = {RUNS}\nmethod = "DOP853"'
    plan = plan_of({"sea": STORM, "run": run})
    results = Results(plan)
    for i, (outcome, early) in enumerate(ends):
        if outcome is Outcome.NOT_RUN:
            continue
        made_up: dict[str, object] = {
            "outcome": outcome,
            "failed_before_settle": early,
            "failure_time": math.nan,
            "end_time": 2.0,
            "message": "gave up" if outcome is Outcome.NOT_SOLVED else "",
            "roll_max": 1.0,
            "roll_min": -1.0,
            "energy_margin": 0.5,
        }
        numbers = {name: np.array([value]) for name, value in made_up.items()}
        histories = np.full((len(HISTORIES), 1, plan.times.size), i, dtype=np.float32)
        results.take(plan.chunk([0], [i]), Runs(numbers, histories))
    return results.variables()


def check(found: Arrays, name: str, hits: int, total: int) -> None:
    """A probability and its limits, the limits by another implementation."""
    exact = binomtest(hits, total).proportion_ci(0.95, "exact")
    assert found[f"{name}_probability"][0] == pytest.approx(hits / total, rel=1e-15)
    assert found[f"{name}_probability_lower"][0] == pytest.approx(exact.low, rel=1e-9)
    assert found[f"{name}_probability_upper"][0] == pytest.approx(exact.high, rel=1e-9)


def test_capsize_is_outcome_4_and_failure_2_to_4() -> None:
    found = counted(S, R, F, C, C, S, S, S)
    check(found, "capsize", 2, 8)
    check(found, "failure", 4, 8)


def test_runs_not_run_or_not_solved_are_in_no_probability() -> None:
    found = counted(S, X, C, N, R, X)
    check(found, "capsize", 1, 3)
    check(found, "failure", 2, 3)
    assert found["outcome"][0].tolist() == [1, 5, 4, 0, 2, 5, 0, 0]
    assert found["message"][0].tolist() == ["", "gave up", "", "", "", "gave up", "", ""]


def test_runs_that_failed_before_settling_stay_in_every_count() -> None:
    found = counted(EARLY_C, S, EARLY_S, C, S, S)
    check(found, "capsize", 2, 6)
    check(found, "failure", 2, 6)
    assert found["failed_before_settle"][0].tolist() == [1, 0, 1, 0, 0, 0, 0, 0]
    assert found["outcome"][0, 0] == Outcome.CAPSIZED


@pytest.mark.parametrize("ends", [(), (X, X), (X, N)])
def test_without_a_counted_run_there_is_no_probability(ends: tuple[tuple[Outcome, bool]]) -> None:
    found = counted(*ends)
    for part in ("", "_lower", "_upper"):
        assert math.isnan(found[f"capsize_probability{part}"][0])
        assert math.isnan(found[f"failure_probability{part}"][0])


def test_what_is_not_run_is_missing() -> None:
    found = counted(S, N, S)
    for name in (*HISTORIES, "roll_max", "end_time", "failure_time", "energy_margin"):
        missing = np.isnan(found[name][0, 1])
        assert missing.all(), name
    assert found["roll_angle"][0, 2].tolist() == [2.0] * 5


def test_a_real_run_that_fails_before_settling_is_told_and_counted() -> None:
    run = 'duration_s = 10.0\nsettle_s = 5.0\nrealisations = 2\nmethod = "DOP853"'
    damping = "linear_per_s = 1.0"
    tables = {"sea": STORM, "run": run, "ship.damping": damping, "start": "roll_deg = 50.0"}
    found = measured(tables | {"limits": "roll_deg = 45.0"})
    assert found["failed_before_settle"].tolist() == [[1, 1]]
    assert found["outcome"].tolist() == [[Outcome.SURVIVED] * 2]
    assert np.isnan(found["failure_time"]).all()
    check(found, "failure", 0, 2)
    assert np.all(found["roll_max"] < 45.0)
