"""The search for a critical value on synthetic storms whose answer is known."""

from __future__ import annotations

import math

import numpy as np
import pytest
from critical_storms import (
    by_curve,
    counter,
    order_limits,
    question,
    spent,
    storms,
    truth,
)
from hypothesis import given, settings
from hypothesis import strategies as st

from rollsim.map_names import Search
from rollsim.measures.probability import clopper_pearson
from rollsim.study.critical.counts import excluded
from rollsim.study.critical.search import searched
from rollsim.study.critical.trials import Passing, passings


@settings(max_examples=60, deadline=None)
@given(
    seed=st.integers(0, 10_000),
    p=st.sampled_from([0.01, 0.05, 0.2, 0.5, 0.9]),
    rising=st.booleans(),
    tolerance=st.sampled_from([0.006, 0.02, 0.05]),
)
def test_a_root_in_storms(seed: int, p: float, rising: bool, tolerance: float) -> None:
    own = storms(seed)
    answer = searched(question(p, tolerance), counter(own, rising=rising))
    assert answer.search == Search.FOUND
    assert answer.rising is rising
    assert not answer.others
    assert answer.lower < answer.value < answer.upper
    assert spent(answer) <= 60_000
    # Six standard deviations of what so many storms leave open.
    assert abs(answer.value - truth(p, rising=rising)) < 3.2 * answer.half
    if answer.half > tolerance:
        assert spent(answer) > 30_000


def test_its_limits_are_those_of_a_quantile() -> None:
    # Where each storm has a value of its own the root is a quantile of these, and its
    # distribution-free limits are two of them in their order.
    own = storms(3)
    answer = searched(question(), counter(own))
    runs = max(trial.runs for trial in answer.trials)
    lower, upper = order_limits(own, 0.05, runs)
    assert answer.lower == pytest.approx(lower, abs=0.1 * answer.half)
    assert answer.upper == pytest.approx(upper, abs=0.1 * answer.half)
    assert answer.value == pytest.approx(np.quantile(own[:runs], 0.05), abs=0.1 * answer.half)


@pytest.mark.parametrize(("p", "rising"), [(0.05, True), (0.3, False)])
def test_its_limits_cover_the_true_value(p: float, rising: bool) -> None:
    # 95 % of 400 searches, each in storms of its own: 380 expected, standard deviation 4.4.
    ask, true = question(p, 0.02, 20_000), truth(p, rising=rising)
    answers = [searched(ask, counter(storms(s, 20_000), rising=rising)) for s in range(400)]
    covered = [answer.lower <= true <= answer.upper for answer in answers]
    assert 366 <= sum(covered) <= 396
    off = np.array([(answer.value - true) / answer.half for answer in answers])
    assert abs(off.mean()) < 0.12  # no bias: half the interval is two standard deviations


@pytest.mark.parametrize("storms_taken", [64, 256, 5000])
@pytest.mark.parametrize("p", [0.05, 0.5, 0.97])
def test_what_a_count_excludes(p: float, storms_taken: int) -> None:
    counts = np.arange(storms_taken + 1)
    lower, upper = clopper_pearson(counts, storms_taken)
    below, above = excluded(p, storms_taken)
    assert np.array_equal(counts < below * storms_taken, upper < p)
    assert np.array_equal(counts > above * storms_taken, lower > p)


def test_it_ends_when_the_runs_are_spent() -> None:
    answer = searched(question(tolerance=0.002, most=5000), counter(storms(4)))
    assert answer.search == Search.FOUND
    assert 3000 < spent(answer) <= 5000
    assert answer.half > 0.002
    assert answer.lower < truth(0.05) < answer.upper


def test_more_runs_narrow_it() -> None:
    halves = [
        searched(question(tolerance=1e-4, most=most), counter(storms(5, most))).half
        for most in (10_000, 100_000, 1_000_000)
    ]
    # As one over the root of the storms: that of ten times as many is 3.16 times as narrow.
    assert halves[0] / halves[1] == pytest.approx(math.sqrt(10.0), rel=0.35)
    assert halves[1] / halves[2] == pytest.approx(math.sqrt(10.0), rel=0.35)


def test_storms_that_all_begin_at_once() -> None:
    # A threshold that all storms share lies between two neighbours on the grid of values.
    answer = searched(question(), lambda v, a, b: ((b - a) * (v >= 5.61803), b - a))
    assert answer.search == Search.FOUND
    assert answer.lower <= 5.61803 <= answer.upper
    assert answer.half < 0.001
    assert spent(answer) < 8000


# --- both ends on one side, or not to be told -----------------------------------------------------


@pytest.mark.parametrize(("first", "last"), [(4.0, 5.0), (5.9, 6.5)])
def test_both_ends_on_one_side(first: float, last: float) -> None:
    answer = searched(question(first=first, last=last), counter(storms(6)))
    assert answer.search == Search.NOT_PASSED
    assert math.isnan(answer.value)
    assert spent(answer) < 10_000


def test_an_end_that_the_runs_do_not_tell() -> None:
    # The probability at the end is the one searched for: no number of runs tells the side.
    answer = searched(question(last=truth(0.05)), counter(storms(7)))
    assert answer.search == Search.UNDECIDED
    assert math.isnan(answer.value)


def test_a_scan_that_the_runs_do_not_suffice_for() -> None:
    answer = searched(question(most=100), counter(storms(8)))
    assert answer.search == Search.UNDECIDED
    assert spent(answer) <= 100


# --- not monotone ---------------------------------------------------------------------------------


def hump(value: float) -> float:
    """0 at both ends, 0.4 about 5.5."""
    return 0.4 * math.exp(-(((value - 5.5) / 0.12) ** 2))


def test_the_first_passing_of_several() -> None:
    answer = searched(question(), by_curve(hump))
    root = 5.5 - 0.12 * math.sqrt(math.log(8.0))
    assert answer.search == Search.FOUND
    assert answer.rising
    assert answer.lower <= root <= answer.upper
    (again,) = answer.others
    assert again[0] < 11.0 - root < again[1]


@settings(max_examples=40, deadline=None)
@given(
    seed=st.integers(0, 10_000),
    top=st.floats(5.35, 5.85),
    width=st.floats(0.1, 0.15),
    height=st.floats(0.25, 0.95),
)
def test_the_first_passing_of_any_hump(seed: int, top: float, width: float, height: float) -> None:
    curve = by_curve(lambda value: height * math.exp(-(((value - top) / width) ** 2)), seed)
    answer = searched(question(), curve)
    reach = width * math.sqrt(math.log(height / 0.05))
    assert answer.search == Search.FOUND
    assert answer.rising
    assert abs(answer.value - (top - reach)) < 3.2 * answer.half
    ((before, after),) = answer.others
    assert before - 0.075 < top + reach < after + 0.075  # a part of the scan


def test_from_above_the_first_passing_falls() -> None:
    # 0.2 at both ends and less than 0.05 about 5.5: she is better off in the middle.
    answer = searched(question(), by_curve(lambda value: max(0.2 - 0.5 * hump(value), 0.0)))
    root = 5.5 - 0.12 * math.sqrt(math.log(0.2 / 0.15))
    assert answer.search == Search.FOUND
    assert not answer.rising
    assert answer.lower <= root <= answer.upper
    assert len(answer.others) == 1


def test_where_the_side_changes() -> None:
    sides = {0: -1, 4: 0, 8: 1, 12: 1, 16: 0, 20: -1, 24: 1}
    assert passings(sides) == [Passing(0, 8), Passing(12, 20), Passing(20, 24)]
    assert passings({0: -1, 4: 0}) == []


# --- runs that are not solved ---------------------------------------------------------------------


def test_unsolved_runs_are_no_outcome() -> None:
    # A fifth of the runs has no outcome, whatever it would have been: the answer stays.
    own = storms(9)
    dead = np.random.default_rng(9).random(own.size) < 0.2

    def count(value: float, first: int, last: int) -> tuple[int, int]:
        alive = ~dead[first:last]
        return int(np.count_nonzero(alive & (own[first:last] <= value))), int(alive.sum())

    answer = searched(question(), count)
    assert answer.search == Search.FOUND
    assert answer.lower < truth(0.05) < answer.upper
    assert sum(trial.solved for trial in answer.trials) < 0.85 * spent(answer)


def test_no_outcome_where_it_decides() -> None:
    own = storms(10)
    whole = counter(own)

    def count(value: float, first: int, last: int) -> tuple[int, int]:
        return (0, 0) if 5.40 < value < 5.5 else whole(value, first, last)

    answer = searched(question(), count)
    assert answer.search == Search.NOT_SOLVED
    assert math.isnan(answer.value)


# --- nothing random -------------------------------------------------------------------------------


@settings(max_examples=100, deadline=None)
@given(root=st.floats(5.001, 6.199), rising=st.booleans())
def test_the_first_happening(root: float, rising: bool) -> None:
    answer = searched(question(None), lambda v, a, b: (int((v >= root) == rising), 1))
    assert answer.search == Search.FOUND
    assert answer.rising is rising
    assert answer.lower <= root <= answer.upper
    assert answer.upper - answer.lower <= 0.01 / 16.0 + 1e-12
    assert answer.value == 0.5 * (answer.lower + answer.upper)
    assert all(trial.runs == 1 for trial in answer.trials)
    assert len(answer.trials) < 50


def test_further_happenings_are_named() -> None:
    answer = searched(question(None), lambda v, a, b: (int(5.3 <= v < 5.6 or v >= 5.9), 1))
    assert answer.lower <= 5.3 <= answer.upper
    assert [a <= root <= b for (a, b), root in zip(answer.others, (5.6, 5.9), strict=True)] == [
        True,
        True,
    ]


def test_a_single_run_that_is_not_solved_is_stepped_round() -> None:
    # Every other value on the grid has no outcome, the middle of the range among them.
    cells = 2048

    def count(value: float, first: int, last: int) -> tuple[int, int]:
        index = round((value - 5.0) / 1.2 * cells)
        solved = (index % 64 == 0 and index != cells // 2) or index % 3 == 1
        return int(solved and value >= 5.61), int(solved)

    answer = searched(question(None), count)
    assert answer.search == Search.FOUND
    assert answer.lower <= 5.61 <= answer.upper
    assert answer.upper - answer.lower < 0.005


def test_it_never_happens() -> None:
    answer = searched(question(None), lambda v, a, b: (0, 1))
    assert answer.search == Search.NOT_PASSED
    unsolved = searched(question(None), lambda v, a, b: (0, 0))
    assert unsolved.search == Search.NOT_SOLVED
