"""Where tasks are run: in this process, by its threads, by processes of dask, or on a cluster.

The block engine's compiled steps do not hold the interpreter's lock, so threads serve it; scipy's
methods hold it and take processes.
"""

from __future__ import annotations

import os
import pickle
import threading
from collections import OrderedDict
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Executor, Future, ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any, NamedTuple

from rollsim.engines.base import BLOCK, Case, Engine, RunList
from rollsim.engines.registry import engine_for
from rollsim.engines.runs import Runs
from rollsim.study.plan import Plan
from rollsim.study.runs import Chunk

WORTH_PROCESSES = 6.0
"""CPU seconds of a study below which starting processes costs more than it saves."""
ENGINES_READY = 16
"""Engines that are kept ready: their tables and weights are made once."""


@dataclass(frozen=True)
class Where:
    """Where a study runs: workers of this machine (all cores by default), or a dask scheduler."""

    workers: int | None = None
    scheduler: str | None = None


ALL_CORES = Where()
"""Every core of this machine."""


class Workers(NamedTuple):
    """What runs tasks, how many to keep under way there, and who is alive.

    `task` turns chunks into a function and its arguments for `pool`, which gives their `Runs`.
    """

    pool: Executor
    window: int
    alive: Callable[[], frozenset[str]]
    task: Callable[[Sequence[Chunk], bool], tuple[Any, ...]]


class Engines:
    """The engines of a plan's cases, made when they are first needed; a few are kept."""

    def __init__(self, plan: Plan) -> None:
        self._plan = plan
        self._lock = threading.Lock()
        self._ready: OrderedDict[int, Engine] = OrderedDict()

    def __getitem__(self, case: int) -> Engine:
        engine = self._ready.get(case)
        if engine is None:  # made by two threads at once it is made twice: no harm
            engine = engine_for(self._plan.cases[case])
        with self._lock:
            self._ready[case] = engine
            self._ready.move_to_end(case)
            if len(self._ready) > ENGINES_READY:
                self._ready.popitem(last=False)
        return engine

    def make(self, chunks: Sequence[Chunk], histories: bool) -> list[Runs]:
        """The runs of some chunks."""
        return [self[chunk.lead].run(chunk.runs, histories=histories) for chunk in chunks]

    def task(self, chunks: Sequence[Chunk], histories: bool) -> tuple[Any, ...]:
        """The same, for later."""
        return self.make, chunks, histories


@lru_cache(maxsize=ENGINES_READY)
def _ready(case: bytes) -> Engine:
    return engine_for(pickle.loads(case))


def make_elsewhere(parts: Sequence[tuple[bytes, RunList]], histories: bool) -> list[Runs]:
    """The runs of some pickled cases; what another process does."""
    return [_ready(case).run(runs, histories=histories) for case, runs in parts]


class Here(Executor):
    """An executor that runs every task at once in this thread."""

    def submit(self, fn: Any, /, *args: Any, **kwargs: Any) -> Future[Any]:
        """Run the task and give its finished future; an error of the task is the future's."""
        future: Future[Any] = Future()
        try:
            future.set_result(fn(*args, **kwargs))
        except Exception as error:
            future.set_exception(error)
        return future


@contextmanager
def workers_for(plan: Plan, where: Where, engines: Engines) -> Iterator[Workers]:
    """Who runs `plan`: threads of this process, processes for scipy's methods, or a cluster."""
    count = where.workers or os.cpu_count() or 1
    scipy = any(plan.cases[lead].method != BLOCK for lead in set(plan.leads))
    worth = where.workers is not None or plan.most_seconds > WORTH_PROCESSES
    if where.scheduler is not None:
        from rollsim.study.cluster import cluster

        with cluster(where.scheduler) as (pool, window, alive):
            yield Workers(pool, window, alive, _pickled(plan))
    elif count == 1 or (scipy and not worth):
        yield Workers(Here(), 1, _always, engines.task)
    elif scipy:
        from rollsim.study.cluster import processes

        warm(plan)
        with processes(count) as (pool, window, alive):
            yield Workers(pool, window, alive, _pickled(plan))
    else:
        warm(plan)
        with threads(count) as pool:
            yield Workers(pool, count + 1, _always, engines.task)


@contextmanager
def threads(count: int) -> Iterator[Executor]:
    """Threads that are left to themselves once what they are at is done."""
    pool = ThreadPoolExecutor(count, thread_name_prefix="rollsim")
    try:
        yield pool
    finally:
        pool.shutdown(wait=False, cancel_futures=True)


def _always() -> frozenset[str]:
    return frozenset({"here"})


def _pickled(plan: Plan) -> Callable[[Sequence[Chunk], bool], tuple[Any, ...]]:
    @lru_cache(maxsize=ENGINES_READY)
    def blob(lead: int) -> bytes:
        return pickle.dumps(plan.cases[lead])

    def task(chunks: Sequence[Chunk], histories: bool) -> tuple[Any, ...]:
        return make_elsewhere, [(blob(chunk.lead), chunk.runs) for chunk in chunks], histories

    return task


def warm(plan: Plan) -> None:
    """Run a moment of each kind of case: it compiles what all workers then find ready.

    In this thread, which hears an interruption; threads that compile do not.
    """
    kinds: dict[tuple[Any, ...], int] = {}
    for members in plan.groups:
        case = plan.cases[members[0]]
        storm = case.storm
        channels = storm.slope, storm.raised, storm.wind is not None
        laws = type(storm.sea.waves), case.coefficients.heel_law > 0
        kinds.setdefault((case.method, *channels, *laws), members[0])
    for number in kinds.values():
        case = plan.cases[number]
        segment = case.segments[:1].copy()
        segment[0, 1] = min(segment[0, 1], case.output_step)
        chunk = plan.chunk([number], [0])
        engine_for(replace(case, segments=segment)).run(chunk.runs, histories=plan.outputs > 0)


def make_here(case: Case, runs: RunList, *, histories: bool = True) -> Runs:
    """Runs of one case in this thread, by an engine of its own."""
    return engine_for(case).run(runs, histories=histories)
