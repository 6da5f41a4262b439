"""The loop of a study: asks for runs, has them made in tasks, hands them back as they finish."""

from __future__ import annotations

import time
from collections import deque
from collections.abc import Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, wait
from dataclasses import dataclass

import numpy as np

from rollsim.engines.base import RunList
from rollsim.engines.runs import Runs, joined
from rollsim.errors import MachineError
from rollsim.study import cost
from rollsim.study import plan as planning
from rollsim.study.plan import Plan
from rollsim.study.runs import Chunk, cut
from rollsim.study.sampling import Listed, Sampling, samplings
from rollsim.study.shards import Done, Shards
from rollsim.study.workers import ALL_CORES, Engines, Where, Workers, workers_for

LOOK, PATIENCE = 5.0, 60.0
"""Seconds between looks at the workers while no task is done, and without any alive."""
LAST = 0.8
"""Seconds that tasks under way have to finish after an interruption."""


def run_plan(
    plan: Plan, where: Where = ALL_CORES, shards: Shards | None = None
) -> Iterator[tuple[Chunk, Runs]]:
    """Run everything that the scenario asks for, yielding chunks as they finish, in any order.

    Chunks that `shards` holds already are read from there, new ones are put there. An interruption
    comes through when the tasks under way have been handed out.
    """
    return run_samplings(plan, samplings(plan), where, shards)


def run_samplings(
    plan: Plan,
    asking: Sequence[Sampling],
    where: Where = ALL_CORES,
    shards: Shards | None = None,
    *,
    histories: bool | None = None,
    engines: Engines | None = None,
) -> Iterator[tuple[Chunk, Runs]]:
    """Run all that is asked for, yielding chunks as they finish; `histories` None: as the plan."""
    kept = plan.histories == "all" if histories is None else histories
    with workers_for(plan, where, engines or Engines(plan)) as workers:
        yield from _Loop(plan, workers, shards, kept).run(asking)


def run_list(
    plan: Plan,
    case: int,
    runs: RunList,
    *,
    histories: bool = False,
    where: Where = ALL_CORES,
    engines: Engines | None = None,
) -> Runs:
    """Runs of one case from any starts and with any factors, in their order."""
    of = np.full(runs.size, case, dtype=np.int32)
    pieces = list(cut(0, runs.size, plan.task_size(plan.cases[case])))
    chunks = [Chunk(case, of[a:b], runs.part(slice(a, b))) for a, b in pieces]
    asked = [Listed(chunks)]
    made = {
        id(chunk): part
        for chunk, part in run_samplings(plan, asked, where, histories=histories, engines=engines)
    }
    return joined([made[id(chunk)] for chunk in chunks])


@dataclass(eq=False)
class _Asker:
    """A sampling with what is left of its batch, and how many of its chunks are not back yet.

    `waiting` while it stands in the loop's queue: to look for it there would take a walk past all.
    """

    sampling: Sampling
    chunks: Iterator[Chunk]
    away: int = 0
    waiting: bool = False


Part = tuple[_Asker, Chunk]


class _Loop:
    """Chunks wanted, and tasks under way."""

    def __init__(
        self, plan: Plan, workers: Workers, shards: Shards | None, histories: bool
    ) -> None:
        self.plan, self.workers, self.shards = plan, workers, shards
        self.histories = histories
        self.outputs = plan.times.size if histories else 0
        self.asking: deque[_Asker] = deque()
        self.read: deque[tuple[_Asker, Chunk, Runs]] = deque()
        self.under_way: dict[Future[list[Runs]], list[Part]] = {}

    def run(self, samplings: Sequence[Sampling]) -> Iterator[tuple[Chunk, Runs]]:
        """Everything that is asked for."""
        for sampling in samplings:
            self._renew(_Asker(sampling, iter(())))
        while self.asking or self.under_way:
            while len(self.under_way) < self.workers.window and (task := self._task()):
                self._submit(task)
            while self.read:
                yield self._taken(*self.read.popleft())
            if self.under_way:
                try:
                    done = self._waited()
                except KeyboardInterrupt:
                    yield from self._last()
                    raise
                yield from self._finished(done)

    def _renew(self, asker: _Asker) -> None:
        batch = asker.sampling.batch()
        if batch is not None:
            asker.chunks, asker.waiting = batch, True
            self.asking.append(asker)

    def _next(self) -> Part | None:
        """The next chunk that is wanted, None where none is before others are back."""
        while self.asking:
            asker = self.asking[0]
            chunk = next(asker.chunks, None)
            if chunk is not None:
                asker.away += 1
                return asker, chunk
            self.asking.popleft()
            asker.waiting = False
            if asker.away == 0:
                self._renew(asker)
        return None

    def _task(self) -> list[Part]:
        """Chunks that together last about TASK_SECONDS; what the shards hold is set aside."""
        task: list[Part] = []
        seconds = size = 0.0
        while seconds < planning.TASK_SECONDS and size < planning.TASK_BYTES:
            part = self._next()
            if part is None:
                break
            asker, chunk = part
            runs = self.shards.read(chunk, self.outputs) if self.shards else None
            if runs is not None:
                self.read.append((asker, chunk, runs))
                if len(self.read) >= self.workers.window:
                    break
                continue
            task.append(part)
            case = self.plan.cases[chunk.lead]
            seconds += cost.SECONDS_AN_ENGINE + cost.seconds_of(case, len(chunk))
            size += 16.0 * len(chunk) * self.outputs
        return task

    def _submit(self, task: list[Part]) -> None:
        work = self.workers.task([chunk for _, chunk in task], self.histories)
        self.under_way[self.workers.pool.submit(*work)] = task

    def _finished(self, done: set[Future[list[Runs]]]) -> Iterator[tuple[Chunk, Runs]]:
        for future in done:
            task = self.under_way.pop(future)
            parts = _result(future, task[0][1])
            if self.shards:
                chunks: list[Done] = [
                    (chunk, runs) for (_, chunk), runs in zip(task, parts, strict=True)
                ]
                self.shards.write(chunks)
            for (asker, chunk), runs in zip(task, parts, strict=True):
                yield self._taken(asker, chunk, runs)

    def _taken(self, asker: _Asker, chunk: Chunk, runs: Runs) -> tuple[Chunk, Runs]:
        asker.sampling.take(chunk, runs)
        asker.away -= 1
        if asker.away == 0 and not asker.waiting:
            self._renew(asker)
        return chunk, runs

    def _last(self) -> Iterator[tuple[Chunk, Runs]]:
        """What is under way at an interruption and finishes soon."""
        waiting = {future for future in self.under_way if not future.cancel()}
        done, _ = wait(waiting, timeout=LAST)
        yield from self._finished({future for future in done if not future.exception()})

    def _waited(self) -> set[Future[list[Runs]]]:
        """Tasks that are done, at least one; MachineError where no worker stays alive.

        A worker is alive that is there at two looks: one that dies while it starts comes back at
        another address, again and again.
        """
        seen: frozenset[str] = frozenset()
        alive = time.monotonic()
        while True:
            done, _ = wait(self.under_way, timeout=LOOK, return_when=FIRST_COMPLETED)
            if done:
                return done
            there = self._there()
            if there & seen:
                alive = time.monotonic()
            seen = there
            if time.monotonic() - alive > PATIENCE:
                raise MachineError(
                    f"no worker has stayed alive for {PATIENCE:.0f} s\n"
                    "  what is finished is kept: run again once workers start, or with --workers 1"
                )

    def _there(self) -> frozenset[str]:
        try:
            return self.workers.alive()
        except (OSError, RuntimeError):  # a scheduler that is gone
            return frozenset()


def _result(future: Future[list[Runs]], chunk: Chunk) -> list[Runs]:
    try:
        return future.result()
    except Exception as error:
        # Named by its class: importing it would cost a third of a second where nothing is wrong.
        name = type(error).__name__
        if name == "KilledWorker":
            raise MachineError(
                f"workers were killed again and again at case {chunk.lead}\n"
                "  the memory may be short: take fewer --workers"
            ) from error
        if name in ("CancelledError", "FutureCancelledError", "CommClosedError"):
            raise MachineError(
                "the scheduler of the workers was lost\n"
                "  what is finished is kept: run again once it is back, or without --scheduler"
            ) from error
        raise
