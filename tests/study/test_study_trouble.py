"""A study on a machine that refuses: said clearly, nothing half written, and it goes on later."""

from __future__ import annotations

import errno
import os
import signal
from collections.abc import Iterator
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest
from study_samples import (
    HERE,
    TASKS,
    Tasks,
    assert_same_bytes,
    child,
    files_up_to,
    finished,
    study,
)

from rollsim.errors import MachineError
from rollsim.store.unfinished import unfinished_folder
from rollsim.study.plan import Plan
from rollsim.study.run import run_to_file

NONE = 'histories = "none"'
NOBODY = 65534
ROOM = 20_000
"""Bytes: enough for a task without histories, too few for one with them and for a result."""


@pytest.fixture
def tasks(monkeypatch: pytest.MonkeyPatch) -> Tasks:
    """A counter of tasks of one block."""
    return Tasks(monkeypatch)


@pytest.fixture
def plan(tasks: Tasks) -> Plan:
    """The study, cut into small tasks."""
    return study()


def names(folder: Path) -> list[str]:
    """What stands in a folder, hidden things too."""
    return sorted(file.name for file in folder.iterdir())


def test_no_room_for_a_task(plan: Plan, tasks: Tasks, tmp_path: Path) -> None:
    whole, path = finished(tmp_path / "whole.nc", plan), tmp_path / "result.nc"
    with (
        files_up_to(ROOM),
        pytest.raises(MachineError, match=r"\.runs: cannot be written: file too large\n.*raise"),
    ):
        run_to_file(plan, path, where=HERE)
    assert names(tmp_path) == ["whole.nc"]
    assert_same_bytes(finished(path, plan), whole)


def test_no_room_for_the_result(tasks: Tasks, tmp_path: Path) -> None:
    plan, path = study(NONE), tmp_path / "result.nc"
    before = finished(path, plan).read_bytes()
    with (
        files_up_to(ROOM),
        pytest.raises(MachineError, match=r"result\.nc: cannot be written: file too large"),
    ):
        run_to_file(plan, path, where=HERE)
    assert path.read_bytes() == before
    assert names(tmp_path) == ["result.nc", "result.nc.unfinished"]
    tasks.made = 0
    path.rename(tmp_path / "whole.nc")
    assert_same_bytes(finished(path, plan), tmp_path / "whole.nc")
    assert tasks.made == 0


@pytest.mark.parametrize("number", [errno.ENOSPC, errno.EIO, errno.EDQUOT])
def test_a_disk_that_fills_up_on_the_way(
    number: int, plan: Plan, tasks: Tasks, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It is full at the third task; what is done by then is in the result and is not run again."""
    whole, path = finished(tmp_path / "whole.nc", plan), tmp_path / "result.nc"
    tasks.made = 0
    real, calls = os.replace, []

    def replace(*given: Any) -> None:
        calls.append(given)
        if len(calls) == 4:
            raise OSError(number, os.strerror(number))
        real(*given)

    with monkeypatch.context() as patch:
        patch.setattr(os, "replace", replace)
        with pytest.raises(MachineError, match=r"\.runs: cannot be written: .*\n  folder .* free"):
            run_to_file(plan, path, where=HERE)
    assert [name for name in names(unfinished_folder(path)) if name.endswith(".part")] == []
    assert len(list(unfinished_folder(path).glob("*.runs"))) == 2
    assert_same_bytes(finished(path, plan), whole)
    assert tasks.made == TASKS + 1


def test_no_room_at_all_is_said_before_anything_runs(
    plan: Plan, tasks: Tasks, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    usage = type("Usage", (), {"free": 1000})
    monkeypatch.setattr("shutil.disk_usage", lambda _: usage)
    with pytest.raises(MachineError, match=r"about .* of results do not fit\n.*1 kB free"):
        run_to_file(plan, tmp_path / "result.nc", where=HERE)
    assert (tasks.made, names(tmp_path)) == (0, [])


@pytest.fixture
def read_only() -> Iterator[Path]:
    """A folder in which this process may make nothing, whoever it is."""
    user = os.geteuid()
    with TemporaryDirectory() as name:
        folder = Path(name)
        folder.chmod(0o555)
        if user == 0:
            os.seteuid(NOBODY)
        try:
            yield folder
        finally:
            os.seteuid(user)
            folder.chmod(0o700)


@pytest.mark.parametrize("name", ["result.nc", "new/result.nc"])
def test_a_read_only_folder_is_said_before_anything_runs(
    name: str, plan: Plan, tasks: Tasks, read_only: Path
) -> None:
    with pytest.raises(MachineError, match=r"permission denied\n.*make that folder writable"):
        run_to_file(plan, read_only / name, where=HERE)
    assert (tasks.made, names(read_only)) == (0, [])


def test_a_folder_that_becomes_read_only_on_the_way(
    plan: Plan, tasks: Tasks, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole, path = finished(tmp_path / "whole.nc", plan), tmp_path / "result.nc"
    assert not run_to_file(plan, path, where=HERE, listener=tasks.interrupt_after(3))
    before = path.read_bytes()
    real = Path.write_bytes

    def write(file: Path, data: bytes) -> int:
        if file.suffix == ".part":
            raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))
        return real(file, data)

    with monkeypatch.context() as patch:
        patch.setattr(Path, "write_bytes", write)
        with pytest.raises(MachineError, match=r"permission denied\n.*make that folder writable"):
            run_to_file(plan, path, where=HERE)
    assert_same_bytes(finished(path, plan), whole)
    assert before != path.read_bytes()


STOPPED = """
import os, signal
from pathlib import Path
from rollsim.study import plan
from study_samples import HERE, ONE_BLOCK, Listener, run_to_file, study
plan.TASK_SECONDS = ONE_BLOCK
heard = []
def progress(done):
    heard.append(done)
    if len(heard) == 2:
        os.kill(os.getpid(), signal.SIGSTOP)
run_to_file(study(), Path(sys.argv[1]), where=HERE, listener=Listener(progress))
"""


@pytest.mark.slow
@pytest.mark.parametrize("replace", [False, True])
def test_a_second_process_on_the_same_study_is_refused(
    replace: bool, plan: Plan, tasks: Tasks, tmp_path: Path
) -> None:
    whole, path = finished(tmp_path / "whole.nc", plan), tmp_path / "result.nc"
    tasks.made = 0
    first = child(STOPPED, str(path))
    _, status = os.waitpid(first.pid, os.WUNTRACED)
    assert os.WIFSTOPPED(status)
    try:
        held = names(unfinished_folder(path))
        with pytest.raises(MachineError, match="another run is at work on the same result"):
            run_to_file(plan, path, replace=replace, where=HERE)
        assert (tasks.made, names(unfinished_folder(path))) == (0, held)
    finally:
        first.send_signal(signal.SIGCONT)
        out, err = first.communicate(timeout=120)
    assert (first.returncode, out, err) == (0, "", "")
    assert_same_bytes(path, whole)
    assert names(tmp_path) == ["result.nc", "whole.nc"]
