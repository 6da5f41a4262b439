"""[output] histories: which runs keep theirs, and that nothing else depends on the choice."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from study_samples import (
    RUN,
    Tasks,
    array_bytes,
    assert_same_bytes,
    files_up_to,
    finished,
    raw,
    study,
)

from rollsim.engines.runs import HISTORIES
from rollsim.errors import MachineError
from rollsim.names import Outcome
from rollsim.store.disk import room_on_disk
from rollsim.study import result
from rollsim.study.result import Results
from rollsim.study.run import run_to_file

KEPT_VARIABLES = {*HISTORIES, "kept_case", "kept_realisation"}
CASES, REALISATIONS = 2, 192


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The study with all its histories."""
    return finished(tmp_path_factory.mktemp("whole") / "whole.nc", study())


def by_severity(path: Path, case: int) -> list[int]:
    """Realisations: the gravest outcome; the first to capsize or else to fail; the greatest roll.

    Sorted one by one in plain Python, as another way to the same order.
    """
    held = {name: array[case].tolist() for name, (_, array) in raw(path).items() if array.ndim == 2}

    def key(run: int) -> tuple[float, float, float]:
        failed = held["outcome"][run] > Outcome.SURVIVED
        capsized = held["outcome"][run] == Outcome.CAPSIZED
        when = held["end_time" if capsized else "failure_time"][run] if failed else 0.0
        return -held["outcome"][run], when, -max(held["roll_max"][run], -held["roll_min"][run])

    return sorted(range(REALISATIONS), key=key)


@pytest.mark.parametrize("histories", ["failed", "worst"])
@pytest.mark.parametrize("count", [1, 7, 1000])
def test_the_gravest_runs_of_each_case_keep_their_histories(
    histories: str, count: int, whole: Path, tmp_path: Path
) -> None:
    output = f'histories = "{histories}"\ncount = {count}'
    path = finished(tmp_path / "some.nc", study(output))
    full, some = raw(whole), raw(path)
    outcome = full["outcome"][1]
    expected = []
    for case in range(CASES):
        order = by_severity(whole, case)
        if histories == "failed":
            order = [run for run in order if outcome[case, run] > Outcome.SURVIVED]
        expected += [(case, run) for run in sorted(order[:count])]
    assert some["kept_case"][0] == some["kept_realisation"][0] == ("kept",)
    cases, runs = some["kept_case"][1], some["kept_realisation"][1]
    assert list(zip(cases.tolist(), runs.tolist(), strict=True)) == expected
    for name in HISTORIES:
        dims, array = some[name]
        assert dims == ("kept", "t")
        assert array_bytes(array) == array_bytes(full[name][1][cases, runs]), name


@pytest.mark.parametrize("histories", ["none", "failed", "worst"])
def test_all_else_does_not_depend_on_the_choice(
    histories: str, whole: Path, tmp_path: Path
) -> None:
    path = finished(tmp_path / "some.nc", study(f'histories = "{histories}"'))
    full, some = raw(whole), raw(path)
    assert full.keys() - some.keys() == (set(HISTORIES) if histories == "none" else set())
    assert some.keys() - full.keys() == (KEPT_VARIABLES - set(HISTORIES)) & some.keys()
    for name in full.keys() - set(HISTORIES):
        assert full[name][0] == some[name][0]
        assert array_bytes(full[name][1]) == array_bytes(some[name][1]), name


@pytest.mark.parametrize("histories", ["all", "worst", "none"])
def test_a_broken_study_keeps_the_same_histories(
    histories: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    plan = study(f'histories = "{histories}"\ncount = 3')
    path = finished(tmp_path / "whole.nc", plan)
    tasks = Tasks(monkeypatch)
    broken = tmp_path / "broken.nc"
    assert not run_to_file(plan, broken, listener=tasks.interrupt_after(2))
    assert ("roll_angle" in raw(broken)) == (histories == "all")
    assert_same_bytes(finished(broken, plan), path)


def test_without_failures_there_is_nothing_to_keep(tmp_path: Path) -> None:
    plan = study('histories = "failed"', limits="roll_deg = 99.0")
    found = raw(finished(tmp_path / "calm.nc", plan))
    assert (found["outcome"][1] == Outcome.SURVIVED).all()
    assert not KEPT_VARIABLES & found.keys()


def test_the_worst_of_survivors_is_the_one_that_rolls_most(tmp_path: Path) -> None:
    plan = study('histories = "worst"\ncount = 1', limits="roll_deg = 99.0")
    found = {name: array for name, (_, array) in raw(finished(tmp_path / "a.nc", plan)).items()}
    roll = np.maximum(found["roll_max"], -found["roll_min"])
    assert found["kept_realisation"].tolist() == roll.argmax(axis=1).tolist()


def test_large_histories_are_gathered_on_the_disk(
    whole: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real, made = room_on_disk, []

    def noted(shape: tuple[int, int, int], folder: Path) -> NDArray[np.float32]:
        made.append(folder)
        return real(shape, folder)

    monkeypatch.setattr(result, "IN_MEMORY", 0)
    monkeypatch.setattr(result, "room_on_disk", noted)
    path = finished(tmp_path / "large.nc", study())
    assert made == [tmp_path / "large.nc.unfinished"] * len(HISTORIES)
    assert_same_bytes(path, whole)
    assert [file.name for file in tmp_path.iterdir()] == ["large.nc"]


def test_no_room_to_gather_them_is_said_before_anything_runs(
    whole: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    tasks = Tasks(monkeypatch)
    path, plan = tmp_path / "large.nc", study()
    with monkeypatch.context() as patch:
        patch.setattr("rollsim.study.result.IN_MEMORY", 0)
        with (
            files_up_to(20_000),
            pytest.raises(MachineError, match=r"large\.nc\.unfinished: cannot be written"),
        ):
            finished(path, plan)
    assert (tasks.made, path.exists()) == (0, False)
    assert_same_bytes(finished(path, plan), whole)


def test_what_can_never_fit_into_memory_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("rollsim.study.result.os.sysconf", lambda _: 100)
    with pytest.raises(MachineError, match=r'384 runs of 31 points do not fit.*\n.*"worst"'):
        Results(study(run=RUN))
