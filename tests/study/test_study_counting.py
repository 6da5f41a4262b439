"""[run] until: where the counting of a case ends, and that nothing else moves it."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from batch_samples import assert_same, plan_of, results_of
from scipy.stats import binomtest
from study_samples import GALE, HERE, TABLES, Tasks, assert_same_bytes, finished

from rollsim.names import Outcome
from rollsim.show.tables.pairs import comparisons
from rollsim.show.tables.programs import summary_json
from rollsim.store.reading import open_result
from rollsim.study import plan as plan_module
from rollsim.study.plan import Plan
from rollsim.study.run import run_to_file

FIRST, MOST, ERROR = 40, 700, 0.25
RUN = f"duration_s = 30.0\noutput_step_s = 5.0\nrealisations = {FIRST}\nseed = 5\n"
UNTIL = f"until = {{ relative_error = {ERROR}, most = {MOST} }}"
ANGLES = '[sweep]\n"limits.capsize_deg" = [8.0, 17.0, 20.0, 30.0, 99.0]\n'
NONE = 'histories = "none"'


def counted(run: str = RUN + UNTIL, more: str = ANGLES, **tables: str) -> Plan:
    """A case for each angle that counts as capsized, from frequent to never."""
    return plan_of(TABLES | {"output": NONE, "limits": "", "run": run} | tables, more)


def half_width(outcome: list[int]) -> tuple[float, float]:
    """Half the exact 95 % interval and the probability of capsize, by scipy."""
    hits = outcome.count(Outcome.CAPSIZED)
    exact = binomtest(hits, len(outcome)).proportion_ci(0.95, "exact")
    return 0.5 * (exact.high - exact.low), hits / len(outcome)


def looks() -> list[int]:
    """The counts at which the rule looks: half as many again each time."""
    found = [FIRST]
    while found[-1] < MOST:
        found.append(min(math.ceil(1.5 * found[-1]), MOST))
    return found


def test_each_case_ends_at_the_first_look_that_is_narrow_enough() -> None:
    found = results_of(counted())
    ends = []
    for outcome in found["outcome"].tolist():
        ran = len(outcome) - outcome.count(Outcome.NOT_RUN)
        assert Outcome.NOT_RUN not in outcome[:ran]
        for look in looks()[: looks().index(ran) + 1]:
            half, p = half_width(outcome[:look])
            narrow = p > 0.0 and half <= ERROR * p
            assert (narrow or look == MOST) == (look == ran)
        ends.append(ran)
    assert ends == sorted(ends)
    assert (ends[0], ends[-1]) == (FIRST, MOST)
    assert len(set(ends)) >= 3
    assert found["outcome"].shape == (5, MOST)


def test_the_result_is_no_wider_than_the_longest_case() -> None:
    found = results_of(counted(more='[sweep]\n"limits.capsize_deg" = [8.0, 15.0]\n'))
    ran = np.count_nonzero(found["outcome"], axis=1)
    assert ran.max() == found["outcome"].shape[1] < MOST


def test_not_needed_is_not_run_and_counts_nowhere() -> None:
    found = results_of(counted())
    unused = found["outcome"] == Outcome.NOT_RUN
    assert unused.any()
    for name in ("roll_max", "roll_min", "end_time", "failure_time", "energy_margin"):
        assert np.isnan(found[name][unused]).all(), name
    for outcome, p in zip(found["outcome"].tolist(), found["capsize_probability"], strict=True):
        ran = [code for code in outcome if code != Outcome.NOT_RUN]
        assert p == ran.count(Outcome.CAPSIZED) / len(ran)


def test_earlier_runs_stay_as_they_are_when_more_follow() -> None:
    more = results_of(counted())
    for count in (1, FIRST, 300):
        fewer = results_of(counted(run=RUN.replace(f"= {FIRST}", f"= {count}")))
        for name in ("outcome", "roll_max", "roll_min", "end_time", "failure_time"):
            width = min(count, FIRST)  # every case has run so many
            assert np.array_equal(fewer[name][:, :width], more[name][:, :width], equal_nan=True)
        ran = more["outcome"][-1, :count]
        np.testing.assert_array_equal(fewer["outcome"][-1], ran)


@pytest.mark.parametrize("seconds", [1e-9, 2e-3, 1e3])
def test_the_outcome_does_not_depend_on_the_tasks(
    seconds: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    expected = results_of(counted())
    monkeypatch.setattr(plan_module, "TASK_SECONDS", seconds)
    assert_same(results_of(counted()), expected)


@pytest.mark.slow
def test_the_outcome_does_not_depend_on_the_workers(monkeypatch: pytest.MonkeyPatch) -> None:
    expected = results_of(counted())
    monkeypatch.setattr(plan_module, "TASK_SECONDS", 1e-9)
    assert_same(results_of(counted(), workers=2), expected)


def test_a_broken_counting_goes_on_to_the_same_bytes(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole = finished(tmp_path / "whole.nc", counted())
    tasks = Tasks(monkeypatch)
    path = tmp_path / "broken.nc"
    for _ in range(3):
        assert not run_to_file(counted(), path, where=HERE, listener=tasks.interrupt_after(15))
    assert_same_bytes(finished(path, counted()), whole)


def test_what_is_not_random_is_never_extended() -> None:
    seas = '[[conditions]]\nname = "calm"\n[conditions.sea]\nkind = "calm"\n[[conditions]]\n'
    seas += f'name = "storm"\n[conditions.sea]\n{GALE}\n'
    tables = {"start": "roll_deg = 3.0", "limits": "capsize_deg = 20.0"}
    found = results_of(counted(more=seas, **tables))
    ran = np.count_nonzero(found["outcome"], axis=1)
    assert ran[0] == FIRST < ran[1]
    assert np.isnan(found["capsize_probability"][0])
    alone = results_of(counted(more="", sea='kind = "calm"', **tables))
    assert alone["outcome"].shape == (1, FIRST)


def test_runs_before_settling_count_for_the_rule() -> None:
    """All capsizes stand before settle_s: they are counted like all others."""
    run = f"{RUN}settle_s = 29.9\n{UNTIL}"
    found = results_of(counted(run=run, more="", limits="capsize_deg = 8.0"))
    capsized = found["outcome"][0] == Outcome.CAPSIZED
    early = found["failed_before_settle"][0] == 1
    ran = found["outcome"].shape[1]
    assert ran == FIRST
    assert np.count_nonzero(capsized) > FIRST // 2
    assert found["capsize_probability"][0] == np.count_nonzero(capsized) / ran
    np.testing.assert_array_equal(capsized, early & capsized)


def test_conditions_are_compared_over_the_storms_that_both_met(tmp_path: Path) -> None:
    more = '[[conditions]]\nname = "deep"\n[[conditions]]\nname = "light"\n'
    more += '"ship.gravity.kg_m" = 4.6\n'
    path = finished(tmp_path / "pair.nc", counted(more=more, limits="capsize_deg = 20.0"))
    with open_result(path) as ds:
        a, b = ds["outcome"].values
        row = comparisons(ds).pairs[0]
        assert summary_json(ds)["pairs"] == [row]
    common = min(np.count_nonzero(a), np.count_nonzero(b))
    assert common < max(np.count_nonzero(a), np.count_nonzero(b))
    failed = a[:common] == Outcome.CAPSIZED, b[:common] == Outcome.CAPSIZED
    assert row["only_a"] == np.count_nonzero(failed[0] & ~failed[1])
    assert row["only_b"] == np.count_nonzero(failed[1] & ~failed[0])
    assert row["both"] == np.count_nonzero(failed[0] & failed[1])
    assert row["only_a"] + row["only_b"] + row["both"] + row["neither"] == common
    assert row["difference"] == pytest.approx((row["only_a"] - row["only_b"]) / common)
