"""Where chunks are run: in this process, on dask's workers here, or on a running cluster."""

from __future__ import annotations

import logging
import os
import pickle
import signal
from collections.abc import Iterator
from concurrent.futures import Executor, Future
from contextlib import ExitStack, contextmanager
from dataclasses import replace
from functools import lru_cache
from importlib.metadata import version
from multiprocessing import resource_tracker
from typing import Any

from rollsim.batch.build import Case
from rollsim.batch.case import CaseRunner
from rollsim.batch.plan import Chunk, Plan
from rollsim.batch.runs import Runs
from rollsim.errors import MachineError

WORTH_WORKERS = 6.0
"""CPU seconds of a study below which starting workers costs more than it saves."""
CASES_READY = 16
"""Cases that a worker keeps ready: their tables and weights are made once."""


@lru_cache(maxsize=CASES_READY)
def _ready(case: bytes) -> CaseRunner:
    return CaseRunner(pickle.loads(case))


def run_chunk(case: bytes, first: int, last: int, histories: bool) -> Runs:
    """Realisations [first, last) of a pickled case; what a worker does."""
    return _ready(case).run(first, last, histories=histories)


def run_here(plan: Plan, chunk: Chunk) -> Runs:
    """Run a chunk with its histories in this process."""
    return CaseRunner(plan.cases[chunk.case]).run(chunk.first, chunk.last)


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
def executor(
    plan: Plan, workers: int | None, scheduler: str | None
) -> Iterator[tuple[Executor, int]]:
    """Where to run `plan`, and how many chunks to keep under way there.

    `workers` processes, all cores by default, where the study is worth it; or the cluster whose
    dask scheduler answers at `scheduler`.
    """
    wanted = workers or os.cpu_count() or 1
    if scheduler is not None:
        with _cluster(scheduler) as found:
            yield found
    elif wanted == 1 or (workers is None and plan.seconds < WORTH_WORKERS and not plan.until):
        yield Here(), 1
    else:
        warm(plan.cases[0])
        with _local(wanted) as pool:
            yield pool, 3 * wanted


def warm(case: Case) -> None:
    """Run a moment of `case`: it compiles what the workers then find in the cache on disk."""
    segment = case.segments[:1].copy()
    segment[0, 1] = min(segment[0, 1], case.output_step)
    CaseRunner(replace(case, segments=segment)).run(0, 1)


@contextmanager
def _local(count: int) -> Iterator[Executor]:
    """An executor over `count` worker processes of dask on this machine, reached from it alone."""
    from distributed import Client, LocalCluster

    with ExitStack() as open_ones:
        with _deaf_to_interrupts():
            cluster = LocalCluster(
                n_workers=count,
                threads_per_worker=1,
                processes=True,
                dashboard_address="127.0.0.1:0",
                silence_logs=logging.CRITICAL,
            )
            open_ones.enter_context(cluster)
            client = open_ones.enter_context(Client(cluster))
        yield client.get_executor(pure=False, retries=2)


@contextmanager
def _cluster(address: str) -> Iterator[tuple[Executor, int]]:
    """An executor over a running cluster; MachineError where none answers or rollsim differs."""
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
    with client:
        found = {str(said) for said in client.run(version, "rollsim", on_error="return").values()}
        if not found:
            raise MachineError(f"the scheduler at {address} has no workers")
        if found != {version("rollsim")}:
            raise MachineError(
                f"workers of {address} run rollsim {', '.join(sorted(found))}, "
                f"here it is {version('rollsim')}\n  install the same version on all"
            )
        threads = sum(client.nthreads().values())
        yield client.get_executor(pure=False, retries=2), 3 * threads


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
