"""What became of runs, decided in one place: masks, the event, early failures, severity."""

from __future__ import annotations

import numpy as np
import pytest

from rollsim.measures.outcome import (
    EVENTS,
    capsized,
    default_event,
    early_share,
    failed,
    happened,
    severity,
    solved,
    tally,
    worst_first,
)

CODES = [0, 1, 2, 3, 4, 5]
"""Not run, survived, roll limit, flooded, capsized, not solved."""


def test_masks_are_those_of_the_contract() -> None:
    assert np.flatnonzero(solved(CODES)).tolist() == [1, 2, 3, 4]
    assert np.flatnonzero(failed(CODES)).tolist() == [2, 3, 4]
    assert np.flatnonzero(capsized(CODES)).tolist() == [4]
    assert [int(happened(CODES, event).sum()) for event in EVENTS] == [1, 3]


@pytest.mark.parametrize(
    ("roll", "flooding", "event"),
    [
        ([np.nan, np.nan], [np.nan, np.nan], "capsize"),
        ([np.nan, 40.0], [np.nan, np.nan], "failure"),
        ([np.nan], [42.0], "failure"),
    ],
)
def test_the_event_is_failure_where_a_roll_or_flooding_limit_is_set(
    roll: list[float], flooding: list[float], event: str
) -> None:
    assert default_event(roll, flooding) == event


def test_the_early_share_is_of_the_solved_runs_of_each_case() -> None:
    outcome = [[1, 2, 4, 5], [1, 1, 0, 0], [5, 5, 5, 5]]
    early = [[0, 1, 1, 1], [0, 0, 0, 0], [0, 0, 0, 0]]
    assert early_share(outcome, early).tolist() == [2 / 3, 0.0, 0.0]


def test_the_gravest_outcome_comes_first_then_the_earliest_then_the_greatest_roll() -> None:
    #          survived, roll limit, capsized late, not solved, capsized, flooded, survived, not run
    outcome = [1, 2, 4, 5, 4, 3, 1, 0]
    failure = [np.nan, 5.0, 6.0, np.nan, 30.0, 50.0, np.nan, np.nan]
    end = [100.0, 100.0, 90.0, 12.0, 40.0, 100.0, 100.0, np.nan]
    roll = [39.0, 41.0, 90.0, 99.0, -90.0, 44.0, -39.5, np.nan]
    assert severity(outcome, failure, end, roll).tolist() == [4, 2, 5, 1, 6, 0]


def test_of_other_failures_the_first_to_pass_a_limit_is_the_worse() -> None:
    assert severity([2, 2], [50.0, 20.0], [100.0, 100.0], [60.0, 41.0]).tolist() == [1, 0]


def test_groups_of_runs_go_by_capsizes_then_failures_then_roll() -> None:
    outcome = np.array([[1, 1], [4, 1], [2, 3], [1, 1], [5, 5]])
    roll = np.array([[10.0, 20.0], [90.0, 5.0], [41.0, 43.0], [30.0, -35.0], [80.0, 80.0]])
    sums = tally(outcome, roll, axis=1)
    assert sums.capsized.tolist() == [0, 1, 0, 0, 0]
    assert sums.failed.tolist() == [0, 1, 2, 0, 0]
    assert sums.roll.tolist() == [20.0, 90.0, 43.0, 35.0, 0.0]
    assert worst_first(sums).tolist() == [1, 2, 3, 0, 4]


def test_a_flooding_is_worse_than_two_passings_of_the_roll_limit() -> None:
    sums = tally([[2, 2], [3, 1], [4, 1]], [[60.0, 60.0], [41.0, 20.0], [50.0, 20.0]], axis=1)
    assert sums.flooded.tolist() == [0, 1, 1]
    assert worst_first(sums).tolist() == [2, 1, 0]


def test_two_failures_are_worse_than_one_with_a_greater_roll() -> None:
    outcome = [[2, 1], [2, 2]]
    sums = tally(outcome, [[70.0, 20.0], [41.0, 42.0]], axis=1)
    assert worst_first(sums).tolist() == [1, 0]
