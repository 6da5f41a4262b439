"""Kills a study again and again in copies of this process; a script, given an empty folder.

Copies are cheap: everything is imported and compiled once. They are made in a process of their own,
which has no other threads that a copy would lose.
"""

from __future__ import annotations

import os
import random
import signal
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from study_samples import ONE_BLOCK, assert_same_bytes, finished, study

from rollsim.store.unfinished import unfinished_folder
from rollsim.study import plan as plan_module

CALLS = ("fsync", "replace", "unlink")
"""What is done to files on the way: sync, put in place, delete."""
ROUNDS = 16


def copied(work: Callable[[], Any]) -> int:
    """The id of a copy of this process that does `work` and ends."""
    pid = os.fork()
    if pid == 0:
        try:
            work()
            os._exit(0)
        finally:
            os._exit(1)
    return pid


def suicide(call: str, count: int, after: bool) -> None:
    """Have this process killed at the `count`-th such call, before or after it is done."""
    real, calls = getattr(os, call), []

    def counted(*given: Any, **more: Any) -> Any:
        calls.append(given)
        if len(calls) == count and not after:
            os.kill(os.getpid(), signal.SIGKILL)
        try:
            return real(*given, **more)
        finally:
            if len(calls) == count:
                os.kill(os.getpid(), signal.SIGKILL)

    setattr(os, call, counted)


def at_every_call(path: Path, whole: Path) -> int:
    """Kill a study at each of its calls in turn, go on, and compare; the number of kills."""
    plan = study()
    kills = 0
    for call in CALLS:
        for count in range(1, 1000):

            def work(call: str = call, count: int = count) -> None:
                suicide(call, count, after=count % 2 == 0)
                finished(path, plan)

            _, status = os.waitpid(copied(work), 0)
            if path.exists():
                assert_same_bytes(whole, path)
            if not os.WIFSIGNALED(status):
                assert os.WEXITSTATUS(status) == 0, (call, count)
                break
            kills += 1
            assert_same_bytes(whole, finished(path, plan))
            assert not unfinished_folder(path).exists()
            path.unlink()
    return kills


def at_random(path: Path, whole: Path) -> int:
    """Kill a study at random moments, never ending it between; the number of kills."""
    plan = study()
    start = time.perf_counter()
    os.waitpid(copied(lambda: finished(path, plan)), 0)
    span = time.perf_counter() - start
    path.unlink()
    kills = 0
    for _ in range(ROUNDS):
        pid = copied(lambda: finished(path, plan))
        time.sleep(random.uniform(0.0, span))
        os.kill(pid, signal.SIGKILL)
        kills += os.WIFSIGNALED(os.waitpid(pid, 0)[1])
        if path.exists():
            assert_same_bytes(whole, path)
    assert_same_bytes(whole, finished(path, plan))
    assert not unfinished_folder(path).exists()
    return kills


if __name__ == "__main__":
    plan_module.TASK_SECONDS = ONE_BLOCK
    folder = Path(sys.argv[1])
    undisturbed = finished(folder / "whole.nc", study())
    print(at_every_call(folder / "calls.nc", undisturbed))
    print(at_random(folder / "random.nc", undisturbed))
