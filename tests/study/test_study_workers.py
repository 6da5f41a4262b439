"""Where and in what pieces a study runs changes no byte; workers that die cost a piece of it."""

from __future__ import annotations

import importlib.metadata
import logging
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from concurrent.futures import Executor, Future, ThreadPoolExecutor
from contextlib import contextmanager
from functools import partial
from itertools import count
from pathlib import Path
from typing import Any

import pytest
from study_samples import (
    FLAG,
    HERE,
    ONE_BLOCK,
    Tasks,
    assert_same_bytes,
    deadly_task,
    finished,
    slow_task,
    study,
)

from rollsim.errors import MachineError
from rollsim.store.unfinished import unfinished_folder
from rollsim.study import plan as plan_module
from rollsim.study.run import run_to_file
from rollsim.study.workers import Engines, Here, Where, Workers, workers_for

TASK = "rollsim.study.workers.make_elsewhere"
BLOCK = 'duration_s = 30.0\noutput_step_s = 1.0\nrealisations = 192\nseed = 5\nmethod = "block"'
DOP853 = 'duration_s = 10.0\nrealisations = 6\nseed = 5\nmethod = "DOP853"'


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The study run in one piece in this process."""
    return finished(tmp_path_factory.mktemp("whole") / "whole.nc", study())


@pytest.fixture(scope="module")
def exact(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The same study by a scipy method, run in one piece in this process."""
    return finished(tmp_path_factory.mktemp("exact") / "exact.nc", study(run=DOP853))


@pytest.fixture
def small(monkeypatch: pytest.MonkeyPatch) -> None:
    """A task for every block."""
    monkeypatch.setattr(plan_module, "TASK_SECONDS", ONE_BLOCK)


@pytest.mark.parametrize("run", [BLOCK, DOP853])
@pytest.mark.parametrize("seconds", [1e-9, 1e-4, 1e9])
@pytest.mark.parametrize("limit", [1 << 10, 1 << 26])
def test_any_size_of_the_pieces_gives_the_same_bytes(
    run: str, seconds: float, limit: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    one = finished(tmp_path / "one.nc", study(run=run))
    monkeypatch.setattr(plan_module, "TASK_SECONDS", seconds)
    monkeypatch.setattr(plan_module, "TASK_BYTES", limit)
    assert_same_bytes(finished(tmp_path / "pieces.nc", study(run=run)), one)


@pytest.mark.parametrize("first_seconds", [1e-9, 1e9])
def test_a_study_goes_on_with_pieces_of_another_size(
    first_seconds: float, whole: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    tasks, path = Tasks(monkeypatch), tmp_path / "result.nc"
    monkeypatch.setattr(plan_module, "TASK_SECONDS", first_seconds)
    assert not run_to_file(study(), path, where=HERE, listener=tasks.interrupt_after(1))
    monkeypatch.setattr(plan_module, "TASK_SECONDS", 3e-6 if first_seconds < 1.0 else 1e-9)
    assert_same_bytes(finished(path, study()), whole)


@pytest.mark.parametrize(("most", "here"), [(200, True), (10**8, False)])
def test_a_study_too_small_for_processes_has_none(
    most: int, here: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """By all that the rule for more may ask for, not by the first batch alone."""

    @contextmanager
    def processes(count: int) -> Iterator[tuple[Executor, int, Callable[[], frozenset[str]]]]:
        yield Never(), count, frozenset

    monkeypatch.setattr("rollsim.study.cluster.processes", processes)
    monkeypatch.setattr("rollsim.study.workers.os.cpu_count", lambda: 2)
    plan = study(run=f"{DOP853}\nuntil = {{ relative_error = 0.5, most = {most} }}")
    with workers_for(plan, Where(), Engines(plan)) as workers:
        assert isinstance(workers.pool, Here) == here


@pytest.mark.parametrize("count", [1, 3])
def test_the_block_engine_has_threads_of_this_process(
    count: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("rollsim.study.cluster.processes", None)
    plan = study()
    with workers_for(plan, Where(workers=count), Engines(plan)) as workers:
        assert isinstance(workers.pool, Here if count == 1 else ThreadPoolExecutor)
        assert workers.window == (1 if count == 1 else count + 1)


@pytest.mark.parametrize("workers", [1, 2, 4])
@pytest.mark.usefixtures("small")
def test_any_number_of_threads_gives_the_same_bytes(
    workers: int, whole: Path, tmp_path: Path
) -> None:
    path = finished(tmp_path / "result.nc", study(), Where(workers=workers))
    assert_same_bytes(path, whole)


@pytest.mark.slow
@pytest.mark.parametrize("workers", [1, 2])
@pytest.mark.usefixtures("small")
def test_any_number_of_processes_gives_the_same_bytes(
    workers: int, exact: Path, tmp_path: Path
) -> None:
    path = finished(tmp_path / "result.nc", study(run=DOP853), Where(workers=workers))
    assert_same_bytes(path, exact)


@pytest.mark.slow
@pytest.mark.usefixtures("small")
def test_a_killed_worker_costs_only_what_it_was_at(
    exact: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    flag = tmp_path / "killed"
    monkeypatch.setenv(FLAG, str(flag))
    monkeypatch.setattr(TASK, deadly_task)
    path = finished(tmp_path / "result.nc", study(run=DOP853), Where(workers=2))
    assert flag.exists()
    assert_same_bytes(path, exact)


@pytest.mark.slow
@pytest.mark.usefixtures("small")
def test_workers_that_die_every_time_are_told_of_and_the_study_goes_on_later(
    exact: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "result.nc"
    monkeypatch.delenv(FLAG, raising=False)
    with monkeypatch.context() as patch:
        patch.setattr(TASK, deadly_task)
        with pytest.raises(MachineError, match=r"killed again and again at case \d+\n.*--workers"):
            run_to_file(study(run=DOP853), path, where=Where(workers=2))
    assert not path.exists()
    assert_same_bytes(finished(path, study(run=DOP853)), exact)
    assert not unfinished_folder(path).exists()


def idle(*_: Any) -> tuple[Any, ...]:
    """A task of nothing."""
    return (None,)


class Never(Executor):
    """Takes every task and does none."""

    def submit(self, *_: Any, **__: Any) -> Future[Any]:
        """A task that nobody does."""
        return Future()


def dying() -> Callable[[], frozenset[str]]:
    """Workers that are at another address at every look: each died while it started."""
    numbers = count()
    return lambda: frozenset({f"tcp://127.0.0.1:{next(numbers)}"})


def none() -> Callable[[], frozenset[str]]:
    """A scheduler without any worker left."""
    return frozenset


def gone() -> Callable[[], frozenset[str]]:
    """A scheduler that does not answer."""

    def look() -> frozenset[str]:
        raise OSError("the connection is closed")

    return look


@pytest.mark.parametrize("looks", [dying, none, gone])
def test_workers_that_never_stay_are_not_waited_for_without_end(
    looks: Callable[[], Callable[[], frozenset[str]]],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    @contextmanager
    def nowhere(*_: Any) -> Iterator[Workers]:
        yield Workers(Never(), 2, looks(), idle)

    monkeypatch.setattr("rollsim.study.loop.workers_for", nowhere)
    monkeypatch.setattr("rollsim.study.loop.LOOK", 0.01)
    monkeypatch.setattr("rollsim.study.loop.PATIENCE", 0.05)
    with pytest.raises(MachineError, match=r"no worker has stayed alive .*\n.*run again"):
        run_to_file(study(), tmp_path / "a.nc")


def test_a_worker_that_is_slow_is_waited_for(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One that is there at every look may take all the time it needs."""
    looked = count()
    tasks: list[tuple[Future[Any], Any]] = []

    class Slow(Executor):
        def submit(self, fn: Any, /, *args: Any, **_: Any) -> Future[Any]:
            tasks.append((Future(), lambda: fn(*args)))
            return tasks[-1][0]

    def there() -> frozenset[str]:
        if next(looked) > 20:
            for future, work in tasks:
                if not future.done():
                    future.set_result(work())
        return frozenset({"tcp://127.0.0.1:1"})

    @contextmanager
    def slow(*_: Any) -> Iterator[Workers]:
        yield Workers(Slow(), 2, there, Engines(study()).task)

    monkeypatch.setattr("rollsim.study.loop.workers_for", slow)
    monkeypatch.setattr("rollsim.study.loop.LOOK", 0.01)
    monkeypatch.setattr("rollsim.study.loop.PATIENCE", 0.05)
    assert run_to_file(study(), tmp_path / "a.nc")


CLUSTER = """
import sys, time
from distributed import LocalCluster
if __name__ == "__main__":
    with LocalCluster(
        n_workers=2, threads_per_worker=1, dashboard_address="127.0.0.1:0", silence_logs=50
    ) as cluster:
        print(cluster.scheduler_address, flush=True)
        time.sleep(600)
"""


@contextmanager
def own_scheduler(folder: Path) -> Iterator[tuple[subprocess.Popen[str], str]]:
    """A scheduler with two workers in a process of its own, and its address."""
    script = folder / "cluster.py"
    script.write_text(CLUSTER)
    with subprocess.Popen(
        [sys.executable, str(script)],
        stdout=subprocess.PIPE,
        text=True,
        env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)},
    ) as process:
        try:
            assert process.stdout is not None
            yield process, process.stdout.readline().strip()
        finally:
            process.kill()


@pytest.mark.slow
@pytest.mark.usefixtures("small")
def test_a_scheduler_that_is_lost_is_told_of_and_the_study_goes_on_here(
    whole: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "result.nc"
    with own_scheduler(tmp_path) as (process, address):
        tasks = Tasks(monkeypatch)
        with monkeypatch.context() as patch:
            patch.setattr(TASK, slow_task)
            with pytest.raises(MachineError, match=r"scheduler of the workers was lost\n.*kept"):
                run_to_file(
                    study(),
                    path,
                    where=Where(scheduler=address),
                    listener=tasks.then_after(2, process.kill),
                )
    assert list(unfinished_folder(path).glob("*.runs"))
    assert_same_bytes(finished(path, study()), whole)


@pytest.mark.slow
@pytest.mark.usefixtures("small")
def test_a_scheduler_that_hangs_is_not_waited_for_without_end(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("rollsim.study.loop.LOOK", 0.5)
    monkeypatch.setattr("rollsim.study.loop.PATIENCE", 3.0)
    monkeypatch.setattr("rollsim.study.cluster.ANSWER", 0.5)
    with own_scheduler(tmp_path) as (process, address):
        tasks = Tasks(monkeypatch)
        monkeypatch.setattr(TASK, slow_task)
        stop = partial(process.send_signal, signal.SIGSTOP)
        start = time.monotonic()
        with pytest.raises(MachineError, match="no worker has stayed alive"):
            run_to_file(
                study(),
                tmp_path / "result.nc",
                where=Where(scheduler=address),
                listener=tasks.then_after(2, stop),
            )
        assert time.monotonic() - start < 60.0


@pytest.fixture(scope="module")
def cluster() -> Iterator[Any]:
    """A cluster that somebody started before, of two workers."""
    from distributed import LocalCluster

    with LocalCluster(
        n_workers=2,
        threads_per_worker=1,
        processes=True,
        dashboard_address="127.0.0.1:0",
        silence_logs=logging.CRITICAL,
    ) as found:
        yield found


@pytest.mark.slow
@pytest.mark.usefixtures("small")
def test_a_running_cluster_gives_the_same_bytes_and_stays(
    cluster: Any, whole: Path, tmp_path: Path
) -> None:
    there = Where(scheduler=cluster.scheduler_address)
    for name in ("first.nc", "second.nc"):
        assert_same_bytes(finished(tmp_path / name, study(), there), whole)
    assert len(cluster.scheduler.workers) == 2


@pytest.mark.slow
@pytest.mark.usefixtures("small")
def test_a_study_begun_on_a_cluster_goes_on_here(
    cluster: Any, whole: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    there, path = Where(scheduler=cluster.scheduler_address), tmp_path / "result.nc"
    tasks = Tasks(monkeypatch)
    monkeypatch.setattr(TASK, slow_task)
    assert not run_to_file(study(), path, where=there, listener=tasks.interrupt_after(2))
    assert len(list(unfinished_folder(path).glob("*.runs"))) >= 2
    monkeypatch.undo()
    assert_same_bytes(finished(path, study()), whole)


class Newer:
    """Says another version here, and the true one on the workers that it is sent to."""

    def __call__(self, _: str) -> str:
        return "99.0"

    def __reduce__(self) -> tuple[Any, ...]:
        return getattr, (importlib.metadata, "version")


@pytest.mark.slow
def test_workers_with_another_version_are_refused(
    cluster: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("rollsim.study.cluster.version", Newer())
    with pytest.raises(MachineError, match=r"run rollsim [\d.]+, here it is 99\.0\n  install"):
        run_to_file(study(), tmp_path / "a.nc", where=Where(scheduler=cluster.scheduler_address))


@pytest.mark.slow
def test_a_cluster_without_workers_is_refused(tmp_path: Path) -> None:
    from distributed import LocalCluster

    with (
        LocalCluster(n_workers=0, dashboard_address="127.0.0.1:0") as empty,
        pytest.raises(MachineError, match="has no workers"),
    ):
        run_to_file(study(), tmp_path / "a.nc", where=Where(scheduler=empty.scheduler_address))
    assert not (tmp_path / "a.nc").exists()


@pytest.mark.parametrize(
    "address", ["rubbish", "", "tcp://", "tcp://127.0.0.1", "http://127.0.0.1:1"]
)
def test_an_address_that_is_none_is_refused_at_once(address: str, tmp_path: Path) -> None:
    with pytest.raises(MachineError, match=r"no scheduler answers at .*\n.*dask scheduler"):
        run_to_file(study(), tmp_path / "a.nc", where=Where(scheduler=address))
    assert not (tmp_path / "a.nc").exists()


@pytest.mark.slow
def test_nobody_at_the_address_is_said_soon(tmp_path: Path) -> None:
    """Within the ten seconds that a scheduler may need to answer."""
    start = time.monotonic()
    with pytest.raises(MachineError, match="no scheduler answers at"):
        run_to_file(study(), tmp_path / "a.nc", where=Where(scheduler="tcp://127.0.0.1:1"))
    assert time.monotonic() - start < 30.0
