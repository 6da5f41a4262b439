"""Two runs of the same result: the second is refused, and a killed one blocks nobody."""

from __future__ import annotations

import errno
import fcntl
import os
import signal
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from rollsim.errors import MachineError
from rollsim.store.lock import ResultLock

HOLD = """
import sys, time
from pathlib import Path
from rollsim.store.lock import ResultLock
with ResultLock(Path(sys.argv[1])):
    print("held", flush=True)
    time.sleep(60)
"""


def test_second_run_is_refused_until_the_first_is_killed(tmp_path: Path) -> None:
    path = tmp_path / "a.nc"
    child = subprocess.Popen(
        [sys.executable, "-c", HOLD, str(path)], stdout=subprocess.PIPE, text=True
    )
    assert child.stdout is not None
    assert child.stdout.readline() == "held\n"
    with (
        pytest.raises(MachineError, match="another run is at work on the same result"),
        ResultLock(path),
    ):
        pass
    with ResultLock(tmp_path / "b.nc"):
        pass
    child.send_signal(signal.SIGKILL)
    child.communicate(timeout=60)
    with ResultLock(path):
        assert (tmp_path / ".a.nc.lock").exists()
    assert list(tmp_path.iterdir()) == []


def test_lock_is_given_back_after_a_failure(tmp_path: Path) -> None:
    held = ResultLock(tmp_path / "new" / "a.nc")
    for _ in range(2):
        with pytest.raises(KeyError, match="lost"), held:
            raise KeyError("lost")
    assert list((tmp_path / "new").iterdir()) == []


def test_two_names_of_one_result_share_the_lock(tmp_path: Path) -> None:
    (tmp_path / "link.nc").symlink_to("a.nc")
    with (
        ResultLock(tmp_path / "link.nc"),
        pytest.raises(MachineError, match="another run is at work"),
        ResultLock(tmp_path / "a.nc"),
    ):
        pass


def test_file_deleted_before_it_was_locked_does_not_count(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file, flock = tmp_path / ".a.nc.lock", fcntl.flock
    calls: list[int] = []

    def late(handle: int, how: int) -> None:
        if not calls:
            file.unlink()  # the run before ends between our opening and our locking
        calls.append(handle)
        flock(handle, how)

    monkeypatch.setattr(fcntl, "flock", late)
    with ResultLock(tmp_path / "a.nc"):
        assert file.exists()
    assert len(calls) == 2


def test_folder_that_cannot_be_locked(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refused(*_: Any) -> None:
        raise OSError(errno.ENOLCK, os.strerror(errno.ENOLCK))

    monkeypatch.setattr(fcntl, "flock", refused)
    with (
        pytest.raises(MachineError, match=r"no locks available\n.*give another place"),
        ResultLock(tmp_path / "a.nc"),
    ):
        pass


def test_folder_at_the_result_is_refused_before_the_run(tmp_path: Path) -> None:
    with pytest.raises(MachineError, match="a folder stands at that name"), ResultLock(tmp_path):
        pass
