"""Running all cases and realisations of a study, in this process or on dask's workers."""

from __future__ import annotations

import logging
import math
import os
import signal
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Executor
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from rollsim.batch.build import Case, build_case
from rollsim.batch.case import CaseRunner, RunResult
from rollsim.errors import Fault, InputError, MachineError
from rollsim.integrate.solution import output_times
from rollsim.scenario.load import Study

Floats = NDArray[np.float64]
Progress = Callable[[int], None]

HEEL_STEP = 0.5
"""Spacing [degree] of the heels at which curves are stored."""
SECONDS_PER_HOUR_OF_STORM = {"DOP853": 2.0, "RK45": 4.0, "LSODA": 4.0, "Radau": 40.0}
"""Rough CPU seconds for an hour in irregular waves at the default tolerances, to plan by."""
TASK_SECONDS = 1.0
WORTH_WORKERS = 6.0
"""CPU seconds of a study below which starting workers costs more than it saves."""


class Chunk(NamedTuple):
    """Some realisations of one case: [first, last)."""

    case: int
    first: int
    last: int


@dataclass(frozen=True, eq=False)
class Plan:
    """A study ready to run: its cases as physics, output times [s], heels [degree] of curves."""

    study: Study
    cases: tuple[Case, ...]
    realisations: int
    times: Floats
    heel: Floats

    @property
    def runs(self) -> int:
        """Number of runs in all."""
        return len(self.cases) * self.realisations

    @property
    def hours(self) -> float:
        """Simulated hours in all."""
        return self.runs * self.cases[0].duration / 3600.0

    @property
    def seconds_a_run(self) -> float:
        """Rough CPU seconds of one run."""
        case = self.cases[0]
        rate = SECONDS_PER_HOUR_OF_STORM[case.tolerances.method]
        return max(rate * case.duration / 3600.0, 1e-3)


def make_plan(study: Study) -> Plan:
    """Turn every case of `study` into physics; InputError with the faults of all cases at once."""
    cases: list[Case] = []
    faults: list[Fault] = []
    for spec in study.cases:
        try:
            cases.append(build_case(spec, study.base, study.file))
        except InputError as error:
            faults.extend(error.faults)
    if faults:
        raise InputError(study.file, list(dict.fromkeys(faults)))
    run = study.base.run
    return Plan(
        study=study,
        cases=tuple(cases),
        realisations=run.realisations,
        times=output_times(run.duration_s, run.output_step_s),
        heel=_heels(cases),
    )


def _heels(cases: Sequence[Case]) -> Floats:
    """The stored heels: multiples of HEEL_STEP within the widest range, and every range's ends."""
    ends = {
        float(np.degrees(x)) for case in cases for x in (case.levers.heel_min, case.levers.heel_max)
    }
    inner = np.arange(math.ceil(min(ends) / HEEL_STEP), math.floor(max(ends) / HEEL_STEP) + 1)
    return np.unique(np.round(np.concatenate((inner * HEEL_STEP, sorted(ends))), 10))


def chunks(plan: Plan) -> list[Chunk]:
    """The study cut into tasks of about TASK_SECONDS; runs that are all alike stay together."""
    size = max(1, round(TASK_SECONDS / plan.seconds_a_run))
    return [
        Chunk(case.index, first, min(first + step, plan.realisations))
        for case in plan.cases
        for step in [size if case.random else plan.realisations]
        for first in range(0, plan.realisations, step)
    ]


def run_chunk(case: Case, first: int, last: int) -> list[RunResult]:
    """Realisations [first, last) of `case`; where nothing is random, one run serves for all."""
    runner = CaseRunner(case)
    if not case.random:
        return [runner.run(first)] * (last - first)
    return [runner.run(realisation) for realisation in range(first, last)]


def run_plan(plan: Plan, workers: int | None = None) -> Iterator[tuple[Chunk, list[RunResult]]]:
    """Run everything, yielding the chunks as they finish, in no order that matters.

    `workers` processes, all cores by default; a small study stays in this process.
    """
    todo = chunks(plan)
    wanted = min(workers or os.cpu_count() or 1, len(todo))
    small = workers is None and plan.runs * plan.seconds_a_run < WORTH_WORKERS
    if wanted == 1 or small:
        for chunk in todo:
            yield chunk, run_chunk(plan.cases[chunk.case], chunk.first, chunk.last)
        return
    warm(plan.cases[0])
    with local_workers(wanted) as executor:
        yield from _on(executor, plan, todo, 3 * wanted)


def warm(case: Case) -> None:
    """Run a moment of `case`: it compiles what the workers then find in the cache on disk."""
    segment = case.segments[:1].copy()
    segment[0, 1] = min(segment[0, 1], case.output_step)
    run_chunk(replace(case, segments=segment), 0, 1)


@contextmanager
def local_workers(count: int) -> Iterator[Executor]:
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
def _deaf_to_interrupts() -> Iterator[None]:
    """What is started inside never hears Ctrl-C; this process hears it at the end.

    Workers get the interrupt of a terminal too, and would tell of it with a traceback each.
    """
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def _on(
    executor: Executor, plan: Plan, todo: Sequence[Chunk], window: int
) -> Iterator[tuple[Chunk, list[RunResult]]]:
    """Keep `window` chunks under way on `executor`, yielding each as it is done."""
    from concurrent.futures import FIRST_COMPLETED, wait

    from distributed import KilledWorker

    waiting = iter(todo)
    under_way = {}

    def submit() -> None:
        chunk = next(waiting, None)
        if chunk is not None:
            future = executor.submit(run_chunk, plan.cases[chunk.case], chunk.first, chunk.last)
            under_way[future] = chunk

    for _ in range(window):
        submit()
    while under_way:
        done, _ = wait(under_way, return_when=FIRST_COMPLETED)
        for future in done:
            chunk = under_way.pop(future)
            submit()
            try:
                yield chunk, future.result()
            except KilledWorker as error:
                raise MachineError(
                    f"workers were killed again and again at case {chunk.case}\n"
                    "  the memory may be short: take fewer --workers"
                ) from error
