"""A study in trouble: runs that cannot be solved, interruptions, refusals, killed workers."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from batch_samples import (
    CONDITIONS,
    STORM,
    WINDAGE,
    measured,
    plan_of,
    results_of,
    scenario,
)

from rollsim.engines.limits import Tolerances
from rollsim.engines.scipy.solver import Problem, Solution, solve
from rollsim.errors import InputError, MachineError
from rollsim.motion.equation import derivative
from rollsim.names import Outcome
from rollsim.scenario.load import loads
from rollsim.store.reading import open_result
from rollsim.study import plan as plan_module
from rollsim.study import run as run_module
from rollsim.study.cluster import processes
from rollsim.study.loop import run_plan
from rollsim.study.plan import Plan, make_plan
from rollsim.study.result import Results
from rollsim.study.run import Listener, run_to_file
from rollsim.study.workers import Where

RUN = 'duration_s = 5.0\nrealisations = 3\nmethod = "DOP853"'
TABLES = {"sea": STORM, "run": RUN}
HERE = Where(workers=1)


@pytest.fixture
def plan(monkeypatch: pytest.MonkeyPatch) -> Plan:
    """Two conditions in three storms, a task for each run."""
    monkeypatch.setattr(plan_module, "TASK_SECONDS", 1e-6)
    return plan_of(TABLES, CONDITIONS)


def stops_after(count: int, error: BaseException) -> Any:
    """A `run_plan` that breaks off after so many tasks."""

    def broken(plan: Plan, *where: Any) -> Iterator[Any]:
        for done, task in enumerate(run_plan(plan, *where)):
            if done == count:
                raise error
            yield task

    return broken


def test_a_run_that_is_not_solved_does_not_stop_the_others(
    plan: Plan, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole = results_of(plan)
    calls = []

    def fails_once(problem: Problem, tolerances: Tolerances) -> Solution:
        calls.append(problem)
        solution = solve(problem, tolerances)
        if len(calls) == 2:
            object.__setattr__(solution, "message", "DOP853 gave up at 2 s: no reason")
        return solution

    monkeypatch.setattr("rollsim.engines.scipy.engine.solve", fails_once)
    found = results_of(plan)
    assert found["outcome"].tolist() == [[1, Outcome.NOT_SOLVED, 1], [1, 1, 1]]
    assert found["message"][0, 1] == "DOP853 gave up at 2 s: no reason"
    assert found["capsize_probability_upper"][0] > found["capsize_probability_upper"][1]
    others = np.array([[True, False, True], [True, True, True]])
    for name in ("roll_angle", "roll_max", "end_time"):
        np.testing.assert_array_equal(found[name][others], whole[name][others], err_msg=name)


def test_a_state_that_is_no_number_is_not_solved(monkeypatch: pytest.MonkeyPatch) -> None:
    def breaks(time: float, state: Any, *packed: Any) -> Any:
        return derivative(time, state, *packed) * (np.nan if time > 2.0 else 1.0)

    monkeypatch.setattr("rollsim.engines.scipy.solver.derivative", breaks)
    found = measured({"start": "roll_deg = 5.0"})
    assert found["outcome"].item() == Outcome.NOT_SOLVED
    assert found["message"].item().startswith("DOP853 gave up at ")
    assert np.isfinite(found["roll_angle"][0, 0, 0])
    assert np.isnan(found["roll_angle"][0, 0, -1])


def test_an_interrupted_study_keeps_what_has_finished(
    plan: Plan, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole = results_of(plan)
    heard: list[int] = []
    monkeypatch.setattr(run_module, "run_plan", stops_after(4, KeyboardInterrupt()))
    path = tmp_path / "result.nc"
    assert not run_to_file(plan, path, where=HERE, listener=Listener(heard.append))
    assert heard == [1, 2, 3, 4]
    with open_result(path) as found:
        assert found["outcome"].values.tolist() == [[1, 1, 1], [1, 0, 0]]
        np.testing.assert_array_equal(found["roll_angle"][0], whole["roll_angle"][0])
        assert np.isnan(found["roll_angle"][1, 1:]).all()
        assert found["capsize_probability_upper"][1] > found["capsize_probability_upper"][0]


def test_an_interruption_before_anything_has_finished_writes_nothing_and_bars_nothing(
    plan: Plan, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def pressed(*_: Any) -> None:
        raise KeyboardInterrupt

    path = tmp_path / "result.nc"
    with monkeypatch.context() as patched:
        patched.setattr("rollsim.study.workers.Engines.make", pressed)
        with pytest.raises(KeyboardInterrupt, match=r"^$"):
            run_to_file(plan, path, where=HERE)
    assert not path.exists()
    mended = plan_of(TABLES | {"start": "roll_deg = 3.0"}, CONDITIONS)
    assert run_to_file(mended, path, where=HERE)


def test_a_bug_in_a_run_does_not_lose_what_has_finished(
    plan: Plan, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(run_module, "run_plan", stops_after(2, ZeroDivisionError("a bug")))
    path = tmp_path / "result.nc"
    with pytest.raises(ZeroDivisionError, match="a bug"):
        run_to_file(plan, path, where=HERE)
    with open_result(path) as found:
        assert found["outcome"].values.tolist() == [[1, 1, 0], [0, 0, 0]]


def test_a_study_in_memory_that_does_not_fit_is_refused(
    plan: Plan, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("os.sysconf", lambda _: 16)
    with pytest.raises(MachineError, match="6 runs of 11 points do not fit in memory"):
        Results(plan)


def test_a_second_run_on_the_same_result_is_refused(plan: Plan, tmp_path: Path) -> None:
    path = tmp_path / "result.nc"

    def again(_: int) -> None:
        with pytest.raises(MachineError, match="another run is at work on the same result"):
            run_to_file(plan, path, where=HERE)

    assert run_to_file(plan, path, where=HERE, listener=Listener(again))


def test_a_result_of_another_scenario_stays_unless_it_is_to_be_replaced(
    plan: Plan, tmp_path: Path
) -> None:
    path = tmp_path / "result.nc"
    other = plan_of(TABLES | {"start": "roll_deg = 3.0"}, CONDITIONS)
    assert run_to_file(plan, path, where=HERE)
    before = path.read_bytes()
    with pytest.raises(InputError, match="holds the result of another scenario"):
        run_to_file(other, path, where=HERE)
    assert path.read_bytes() == before
    assert run_to_file(plan, path, where=HERE)
    assert run_to_file(other, path, replace=True, where=HERE)
    assert path.read_bytes() != before


def test_faults_of_several_cases_are_told_at_once() -> None:
    wind = 'speed_mps = 60.0\nfrom = "port"'
    tables = {"ship.windage": WINDAGE, "wind": wind, "start": 'roll_deg = "static"'}
    more = '[sweep]\n"wind.speed_mps" = [10.0, 90.0, 95.0]\n'
    with pytest.raises(InputError, match="has no equilibrium within capsize_deg") as caught:
        make_plan(loads(scenario(tables, more), "s.toml"))
    assert [fault.key for fault in caught.value.faults] == ["start.roll_deg"] * 2
    assert "case 1" in caught.value.faults[0].problem
    assert "case 2" in caught.value.faults[1].problem
    text = scenario(tables, more).splitlines()
    assert {text[fault.line - 1] for fault in caught.value.faults} == {'roll_deg = "static"'}
    assert {fault.column for fault in caught.value.faults} == {len("roll_deg = ") + 1}


@pytest.mark.slow
def test_workers_are_gone_when_the_study_has_ended() -> None:
    with processes(2) as (pool, _, _):
        pids = [int(pid) for pid in pool._client.run(os.getpid).values()]  # type: ignore[attr-defined]
        assert len(set(pids)) == 2
    for pid in pids:
        with pytest.raises(ProcessLookupError, match="No such process"):
            os.kill(pid, 0)
