"""Where chunks are run: in this process, on dask's workers here, or on a running cluster."""

from __future__ import annotations

import logging
import os
import pickle
import signal
from collections.abc import Callable, Iterator
from concurrent.futures import Executor, Future
from contextlib import ExitStack, contextmanager
from dataclasses import replace
from functools import lru_cache
from importlib.metadata import version
from multiprocessing import resource_tracker
from typing import Any, NamedTuple

from rollsim.engines.base import Case, Engine
from rollsim.engines.registry import engine_for
from rollsim.engines.runs import Runs
from rollsim.errors import MachineError
from rollsim.study.plan import Chunk, Plan
from rollsim.study.runs import make

WORTH_WORKERS = 6.0
"""CPU seconds of a study below which starting workers costs more than it saves."""
ANSWER = 5.0
"""Seconds that a scheduler has to say who its workers are."""
CASES_READY = 16
"""Cases that a worker keeps ready: their tables and weights are made once."""


@lru_cache(maxsize=CASES_READY)
def _ready(blob: bytes) -> tuple[Case, Engine]:
    case = pickle.loads(blob)
    return case, engine_for(case)


def run_chunk(case: bytes, first: int, last: int, histories: bool) -> Runs:
    """Realisations [first, last) of a pickled case; what a worker does."""
    ready, engine = _ready(case)
    return make(ready, first, last, histories=histories, engine=engine)


def run_here(plan: Plan, chunk: Chunk) -> Runs:
    """Run a chunk with its histories in this process."""
    return make(plan.cases[chunk.case], chunk.first, chunk.last)


class Place(NamedTuple):
    """Where chunks are run, how many to keep under way there, and the addresses of its workers."""

    pool: Executor
    window: int
    workers: Callable[[], frozenset[str]]


class Here(Executor):
    """An executor that runs every task at once in this process."""

    def submit(self, fn: Any, /, *args: Any, **kwargs: Any) -> Future[Any]:
        """Run the task and give its finished future; an error of the task is the future's."""
        future: Future[Any] = Future()
        try:
            future.set_result(fn(*args, **kwargs))
        except Exception as error:
            future.set_exception(error)
        return future


@contextmanager
def executor(plan: Plan, workers: int | None, scheduler: str | None) -> Iterator[Place]:
    """Where to run `plan`.

    `workers` processes, all cores by default, where the study is worth it; or the cluster whose
    dask scheduler answers at `scheduler`.
    """
    wanted = workers or os.cpu_count() or 1
    if scheduler is not None:
        with _cluster(scheduler) as found:
            yield found
    elif wanted == 1 or (workers is None and plan.most_seconds < WORTH_WORKERS):
        yield Place(Here(), 1, lambda: frozenset({"here"}))
    else:
        warm(plan.cases[0])
        with _local(wanted) as found:
            yield found


def warm(case: Case) -> None:
    """Run a moment of `case`: it compiles what the workers then find in the cache on disk."""
    segment = case.segments[:1].copy()
    segment[0, 1] = min(segment[0, 1], case.output_step)
    make(replace(case, segments=segment), 0, 1)


@contextmanager
def _local(count: int) -> Iterator[Place]:
    """`count` worker processes of dask on this machine, reached from it alone."""
    from distributed import Client, LocalCluster

    with ExitStack() as open_ones:
        with _deaf_to_interrupts():
            try:
                cluster = LocalCluster(
                    n_workers=count,
                    threads_per_worker=1,
                    processes=True,
                    dashboard_address="127.0.0.1:0",
                    silence_logs=logging.CRITICAL,
                )
            except RuntimeError as error:
                raise MachineError(
                    f"worker processes cannot be started here: {error}\n"
                    "  take --workers 1: the runs are then made in this process"
                ) from error
            open_ones.enter_context(cluster)
            client = open_ones.enter_context(Client(cluster))
        yield _place(client, 3 * count)


def _place(client: Any, window: int) -> Place:
    def workers() -> frozenset[str]:
        # As `client.nthreads()`, but not for ever: a scheduler may be stopped, not gone.
        return frozenset(client.sync(client.scheduler.ncores, callback_timeout=ANSWER))

    return Place(client.get_executor(pure=False, retries=2), window, workers)


@contextmanager
def _cluster(address: str) -> Iterator[Place]:
    """A running cluster; MachineError where none answers or rollsim differs."""
    from distributed import Client
    from distributed.comm.addressing import resolve_address

    try:
        resolve_address(address)  # what is no address is not waited for
        client = Client(address, timeout="10s")
    except (OSError, ValueError) as error:
        raise MachineError(
            f"no scheduler answers at {address}: {error}\n"
            "  start one with `dask scheduler` and workers with `dask worker ADDRESS`"
        ) from error
    with _quiet(), client:
        found = {str(said) for said in client.run(version, "rollsim", on_error="return").values()}
        if not found:
            raise MachineError(f"the scheduler at {address} has no workers")
        if found != {version("rollsim")}:
            raise MachineError(
                f"workers of {address} run rollsim {', '.join(sorted(found))}, "
                f"here it is {version('rollsim')}\n  install the same version on all"
            )
        threads = sum(client.nthreads().values())
        yield _place(client, 3 * threads)


@contextmanager
def _quiet() -> Iterator[None]:
    """dask's own tracebacks of a lost scheduler unsaid: it is told of in two lines elsewhere."""
    handlers = logging.getLogger("distributed").handlers
    levels = [handler.level for handler in handlers]
    for handler in handlers:
        handler.setLevel(logging.CRITICAL)
    try:
        yield
    finally:
        for handler, level in zip(handlers, levels, strict=True):
            handler.setLevel(level)


@contextmanager
def _deaf_to_interrupts() -> Iterator[None]:
    """What is started inside never hears Ctrl-C; this process hears it at the end.

    Workers get the interrupt of a terminal too, and would tell of it with a traceback each.
    """
    # Started later, beside the first worker, it would let that one hear interrupts again.
    resource_tracker.ensure_running()
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)
