"""Processes of dask: some of this machine, or those of a running cluster."""

from __future__ import annotations

import logging
import signal
from collections.abc import Callable, Iterator
from concurrent.futures import Executor
from contextlib import ExitStack, contextmanager
from importlib.metadata import version
from multiprocessing import resource_tracker
from typing import Any

from rollsim.errors import MachineError

ANSWER = 5.0
"""Seconds that a scheduler has to say who its workers are."""

Crew = tuple[Executor, int, Callable[[], frozenset[str]]]
"""What runs tasks, how many to keep under way, and the addresses of those alive."""


@contextmanager
def processes(count: int) -> Iterator[Crew]:
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
        yield _crew(client, 3 * count)


def _crew(client: Any, window: int) -> Crew:
    def alive() -> frozenset[str]:
        # As `client.nthreads()`, but not for ever: a scheduler may be stopped, not gone.
        return frozenset(client.sync(client.scheduler.ncores, callback_timeout=ANSWER))

    return client.get_executor(pure=False, retries=2), window, alive


@contextmanager
def cluster(address: str) -> Iterator[Crew]:
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
        answers = client.run(version, "rollsim", on_error="return").values()
        versions = {str(answer) for answer in answers}
        if not versions:
            raise MachineError(f"the scheduler at {address} has no workers")
        if versions != {version("rollsim")}:
            raise MachineError(
                f"workers of {address} run rollsim {', '.join(sorted(versions))}, "
                f"here it is {version('rollsim')}\n  install the same version on all"
            )
        yield _crew(client, 3 * sum(client.nthreads().values()))


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
