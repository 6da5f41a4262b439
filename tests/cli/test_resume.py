"""`rollsim run` broken off and called again: it goes on, says so, and never mixes two studies."""

from __future__ import annotations

import errno
import os
import re
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from study_files import arrays, assert_same_bytes, scenario, written

from rollsim.cli.main import run
from rollsim.engines.block.lanes import LANES
from rollsim.store import netcdf
from rollsim.study import plan as plan_module
from rollsim.study.workers import Engines

TEXT = scenario()
OTHER = scenario(more="")
TASKS = 6
"""Blocks of the study."""

GOES_ON = "interrupted: finished runs are kept; the same command goes on\n"


class Study:
    """The command in a folder; Ctrl-C comes before the task `stop`, if that is not negative."""

    def __init__(self, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        self.folder = folder
        self.made, self.stop = 0, -1
        self.result, self.unfinished = folder / "trial.nc", folder / "trial.nc.unfinished"
        monkeypatch.setattr(plan_module, "TASK_SECONDS", 1e-9)
        self._make = Engines.make
        monkeypatch.setattr("rollsim.study.workers.Engines.make", lambda *given: self._task(*given))

    def _task(self, *given: Any) -> Any:
        if self.made == self.stop:
            raise KeyboardInterrupt
        self.made += 1
        return self._make(*given)

    def run(self, text: str, *more: str, stop: int = -1, name: str = "trial.nc") -> int:
        """The exit code of the command for a scenario."""
        self.made, self.stop = 0, stop
        file, out = written(self.folder, text), self.folder / name
        return run(["run", str(file), "-o", str(out), "--no-plots", "--workers", "1", *more])


@pytest.fixture
def study(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Study:
    """The command in an empty folder."""
    return Study(tmp_path, monkeypatch)


@pytest.mark.parametrize("stop", [1, 3, 5])
def test_after_an_interruption_the_same_command_goes_on(
    stop: int, study: Study, capsys: pytest.CaptureFixture[str]
) -> None:
    assert study.run(TEXT, name="whole.nc") == 0
    assert "going on" not in capsys.readouterr().err
    assert study.run(TEXT, stop=stop) == 130
    said = capsys.readouterr()
    assert "interrupted: finished runs are kept, the rest is not_run; the same command" in said.err
    assert np.count_nonzero(arrays(study.result)["outcome"]) == LANES * stop
    assert study.unfinished.is_dir()
    assert study.run(TEXT) == 0
    said = capsys.readouterr()
    assert "going on with the unfinished runs in" in said.err
    assert "interrupted" not in said.err
    assert study.made == TASKS - stop
    assert not study.unfinished.exists()
    assert_same_bytes(study.result, study.folder / "whole.nc")


def test_interrupted_before_anything_is_done_it_leaves_no_result(
    study: Study, capsys: pytest.CaptureFixture[str]
) -> None:
    assert study.run(TEXT, stop=0) == 130
    assert capsys.readouterr().err.endswith(GOES_ON)
    assert not study.result.exists()
    assert study.run(TEXT) == 0
    assert study.made == TASKS


def test_interrupted_while_the_result_is_written_it_loses_no_run(
    study: Study, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert study.run(TEXT, name="whole.nc") == 0
    put, calls = netcdf._put, []

    def interrupted(*given: Any) -> None:
        calls.append(given)
        if len(calls) == 9:
            raise KeyboardInterrupt
        put(*given)

    with monkeypatch.context() as patch:
        patch.setattr(netcdf, "_put", interrupted)
        assert study.run(TEXT) == 130
    assert capsys.readouterr().err.endswith(GOES_ON)
    assert not study.result.exists()
    assert study.run(TEXT) == 0
    assert study.made == 0
    assert_same_bytes(study.result, study.folder / "whole.nc")
    assert not study.unfinished.exists()


@pytest.mark.parametrize("at", ["task", "result"])
def test_a_full_disk_is_called_full_and_loses_no_run(
    at: str, study: Study, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    real = os.fsync

    def full(handle: int) -> None:
        name = os.readlink(f"/proc/self/fd/{handle}")
        if name.endswith(".runs.part" if at == "task" else ".nc.part"):
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        real(handle)

    with monkeypatch.context() as patch:
        patch.setattr(os, "fsync", full)
        assert study.run(TEXT) == 2
    said = capsys.readouterr().err.splitlines()
    assert said[-2].endswith("cannot be written: no space left on device")
    assert re.fullmatch(
        rf"  folder {study.folder}.*, .* free: free some space there, or .*", said[-1]
    )
    assert study.run(TEXT) == 0
    assert study.made == (TASKS if at == "task" else 0)


def test_a_changed_scenario_does_not_mix_with_unfinished_runs(
    study: Study, capsys: pytest.CaptureFixture[str]
) -> None:
    assert study.run(TEXT, stop=3) == 130
    before = study.result.read_bytes()
    capsys.readouterr()
    assert study.run(OTHER) == 2
    said = capsys.readouterr().err
    assert "holds the result of another scenario\n  give --replace to replace it" in said
    assert (study.made, study.result.read_bytes()) == (0, before)
    assert study.run(TEXT) == 0
    assert study.made == TASKS - 3


def test_nor_where_the_result_was_taken_away(
    study: Study, capsys: pytest.CaptureFixture[str]
) -> None:
    assert study.run(TEXT, stop=3) == 130
    study.result.unlink()
    capsys.readouterr()
    assert study.run(OTHER) == 2
    said = capsys.readouterr().err
    assert "holds the unfinished runs of another state of this study (another scenario)" in said
    assert "finish that one first, or begin anew with --replace" in said
    assert (study.made, study.result.exists()) == (0, False)
    assert len(list(study.unfinished.glob("*.runs"))) == 3


def test_replace_begins_anew(study: Study, capsys: pytest.CaptureFixture[str]) -> None:
    assert study.run(OTHER, name="whole.nc") == 0
    assert study.run(TEXT, stop=3) == 130
    capsys.readouterr()
    assert study.run(OTHER, "--replace") == 0
    assert "going on" not in capsys.readouterr().err
    assert study.made == TASKS // 2
    assert not study.unfinished.exists()
    assert_same_bytes(study.result, study.folder / "whole.nc")


def test_replace_begins_the_same_study_anew_too(study: Study) -> None:
    assert study.run(TEXT, stop=3) == 130
    assert study.run(TEXT, "--replace") == 0
    assert study.made == TASKS


def test_a_finished_result_of_another_scenario_is_left_alone(
    study: Study, capsys: pytest.CaptureFixture[str]
) -> None:
    assert study.run(TEXT) == 0
    before = study.result.read_bytes()
    assert study.run(OTHER) == 2
    assert "holds the result of another scenario" in capsys.readouterr().err
    assert (study.made, study.result.read_bytes()) == (0, before)
    assert not study.unfinished.exists()


def test_a_folder_of_somebody_else_is_left_as_it_is(
    study: Study, capsys: pytest.CaptureFixture[str]
) -> None:
    study.unfinished.mkdir()
    (study.unfinished / "thesis.txt").write_text("years of work")
    for more in ((), ("--replace",)):
        assert study.run(TEXT, *more) == 2
        said = capsys.readouterr().err.splitlines()
        assert said[-2].endswith("unfinished runs go there, but that folder is not rollsim's")
        assert said[-1:] == ["  move it away, or give another place with --out FILE"]
    assert study.made == 0
    assert (study.unfinished / "thesis.txt").read_text() == "years of work"


def test_results_of_like_names_do_not_share_their_unfinished_runs(study: Study) -> None:
    assert study.run(TEXT, stop=3) == 130
    assert study.run(OTHER, name="trial.nc5") == 0
    assert study.run(TEXT) == 0
    assert study.made == TASKS - 3


@pytest.mark.parametrize("text", ["[]", "null", "7", '"x"', "{"])
def test_a_manifest_edited_to_something_else_is_a_refusal(
    text: str, study: Study, capsys: pytest.CaptureFixture[str]
) -> None:
    assert study.run(TEXT, stop=3) == 130
    (study.unfinished / "manifest.json").write_text(text)
    capsys.readouterr()
    assert study.run(TEXT) == 2
    said = capsys.readouterr().err.splitlines()
    assert said[-2].endswith("is no manifest of unfinished runs")
    assert said[-1:] == ["  begin anew with --replace"]
    assert study.run(TEXT, "--replace") == 0


def test_other_versions_do_not_mix_either(
    study: Study, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    assert study.run(TEXT, stop=3) == 130
    monkeypatch.setattr("rollsim.study.sealed.version", lambda package: f"{package} 99")
    capsys.readouterr()
    assert study.run(TEXT) == 2
    assert "(other rollsim, numpy, scipy, numba)" in capsys.readouterr().err
    assert study.made == 0


def test_no_scheduler_is_a_refusal(study: Study, capsys: pytest.CaptureFixture[str]) -> None:
    assert study.run(TEXT, "--scheduler", "rubbish") == 2
    said = capsys.readouterr().err
    assert "no scheduler answers at rubbish" in said
    assert "Traceback" not in said


SLOWLY = """
import sys, time
import rollsim.study.plan, rollsim.study.shards
from rollsim.cli.main import main
rollsim.study.plan.TASK_SECONDS = 1e-9
write = rollsim.study.shards.Shards.write
def slow(*given):
    write(*given)
    time.sleep(0.5)
if __name__ == "__main__":
    rollsim.study.shards.Shards.write = slow
    main(sys.argv[1:])
"""


@pytest.mark.slow
@pytest.mark.parametrize("workers", ["1", "2"])
@pytest.mark.parametrize(("send", "stop"), [(os.killpg, signal.SIGINT), (os.kill, signal.SIGTERM)])
def test_a_signal_from_outside_leaves_a_study_that_goes_on(
    send: Callable[[int, int], None],
    stop: int,
    workers: str,
    study: Study,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """A terminal sends Ctrl-C to the command and to its workers, a shutdown to the command."""
    assert study.run(TEXT, name="whole.nc") == 0
    script = study.folder / "slowly.py"
    script.write_text(SLOWLY)
    given = ["run", str(study.folder / "trial.toml"), "-o", str(study.result), "--no-plots"]
    with subprocess.Popen(
        [sys.executable, str(script), *given, "--workers", workers],
        stderr=subprocess.PIPE,
        stdout=subprocess.DEVNULL,
        text=True,
        start_new_session=True,
    ) as child:
        deadline = time.monotonic() + 120.0
        while len(list(study.unfinished.glob("*.runs"))) < 2:
            assert child.poll() is None
            assert time.monotonic() < deadline
            time.sleep(0.02)
        send(child.pid, stop)
        said = child.communicate(timeout=120)[1]
    assert (child.returncode, "Traceback" in said) == (130, False)
    assert "interrupted: finished runs are kept" in said
    capsys.readouterr()
    assert study.run(TEXT) == 0
    assert "going on with the unfinished runs in" in capsys.readouterr().err
    assert study.made < TASKS
    assert_same_bytes(study.result, study.folder / "whole.nc")
    assert not study.unfinished.exists()
