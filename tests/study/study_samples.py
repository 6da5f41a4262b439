"""A study of many small tasks, the ways in which one is disturbed, and results byte by byte."""

from __future__ import annotations

import os
import resource
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import netCDF4
import pytest
from batch_samples import STORM, plan_of
from numpy.typing import NDArray

from rollsim.engines.block.lanes import LANES
from rollsim.engines.runs import Runs
from rollsim.study import plan as plan_module
from rollsim.study.plan import Plan
from rollsim.study.run import Listener, run_to_file
from rollsim.study.runs import Chunk
from rollsim.study.workers import Engines, Where, make_elsewhere

HERE = Where(workers=1)
ONE_BLOCK = 1e-9
"""TASK_SECONDS that makes every block of runs a task of its own."""
FLAG = "ROLLSIM_TEST_FLAG"
"""Environment variable with the name of a file: only the first worker that makes it dies."""

GALE = STORM.replace("significant_height_m = 3.0", "significant_height_m = 5.0")
RUN = "duration_s = 30.0\noutput_step_s = 1.0\nrealisations = 192\nseed = 5"
TABLES = {
    "sea": GALE,
    "ship.damping": "linear_per_s = 0.2\nquadratic = 0.5",
    "limits": "roll_deg = 8.0\nflooding_deg = 16.0\ncapsize_deg = 20.0",
    "run": RUN,
}
LOADINGS = (
    '[[conditions]]\nname = "light"\n[[conditions]]\nname = "deep"\n"ship.gravity.kg_m" = 5.2\n'
)
TASKS = 2 * 192 // LANES
"""Tasks of the study below, a block each."""


def study(output: str = 'histories = "all"', run: str = RUN, **tables: str) -> Plan:
    """Two loadings in 192 storms of half a minute; some runs pass each of the limits."""
    return plan_of(TABLES | {"run": run, "output": output} | tables, LOADINGS)


class Tasks:
    """Makes every block a task, and counts those that are really run; `at` is called in each."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.made = 0
        self.at: Callable[[int], None] = lambda _: None
        monkeypatch.setattr(plan_module, "TASK_SECONDS", ONE_BLOCK)
        make = Engines.make

        def counted(engines: Engines, chunks: Sequence[Chunk], histories: bool) -> list[Runs]:
            self.at(self.made)
            self.made += 1
            return make(engines, chunks, histories)

        monkeypatch.setattr("rollsim.study.workers.Engines.make", counted)

    def interrupt_after(self, count: int) -> Listener:
        """A listener that presses Ctrl-C when `count` more tasks are done."""

        def press() -> None:
            raise KeyboardInterrupt

        return self.then_after(count, press)

    def then_after(self, count: int, act: Callable[[], None]) -> Listener:
        """A listener that does something when `count` more tasks are done."""
        heard: list[int] = []

        def progress(done: int) -> None:
            heard.append(done)
            if len(heard) == count:
                act()

        return Listener(progress)


def raw(path: Path) -> dict[str, tuple[tuple[str, ...], NDArray[Any]]]:
    """Every variable of a file as it is stored, with its dimensions."""
    with netCDF4.Dataset(str(path)) as file:
        file.set_auto_maskandscale(False)
        file.set_auto_chartostring(False)
        return {name: (held.dimensions, held[...]) for name, held in file.variables.items()}


def array_bytes(array: NDArray[Any]) -> bytes:
    """The bytes of an array, or of its texts."""
    return repr(array.tolist()).encode() if array.dtype == object else array.tobytes()


def assert_same_bytes(a: Path, b: Path) -> None:
    """The same variables with the same bytes in two results, missing values too."""
    first, second = raw(a), raw(b)
    assert first.keys() == second.keys()
    for name, (dims, array) in first.items():
        assert (dims, array.dtype) == (second[name][0], second[name][1].dtype), name
        assert array.shape == second[name][1].shape, name
        assert array_bytes(array) == array_bytes(second[name][1]), name


def finished(path: Path, plan: Plan, where: Where = HERE) -> Path:
    """`path` after the study has run to its end there."""
    assert run_to_file(plan, path, where=where)
    return path


def child(code: str, *arguments: str, **more: Any) -> subprocess.Popen[str]:
    """A Python process of its own that runs `code` with this module at hand."""
    head = f"import sys; sys.path.insert(0, {str(Path(__file__).parent)!r})\n"
    return subprocess.Popen(
        [sys.executable, "-c", head + code, *arguments],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        **more,
    )


@contextmanager
def files_up_to(size: int) -> Iterator[None]:
    """The system refuses longer files, as a full disk does."""
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, hard))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))


def slow_task(*given: Any) -> list[Runs]:
    """A task that takes its time."""
    time.sleep(0.1)
    return make_elsewhere(*given)


def deadly_task(*given: Any) -> list[Runs]:
    """A task in which the worker is killed, once where a flag is named, else always."""
    flag = os.environ.get(FLAG)
    try:
        if flag:
            Path(flag).touch(exist_ok=False)
    except FileExistsError:
        return make_elsewhere(*given)
    os.kill(os.getpid(), signal.SIGKILL)
    raise AssertionError("killed processes do not go on")
