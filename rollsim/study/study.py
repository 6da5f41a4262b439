"""Running a study: batches of every case, until its realisations are done or its rule is met."""

from __future__ import annotations

import math
import pickle
import time
from collections import deque
from collections.abc import Iterator
from concurrent.futures import FIRST_COMPLETED, Future, wait

import numpy as np

from rollsim.engines.runs import Runs
from rollsim.errors import MachineError
from rollsim.measures.outcome import capsized, solved
from rollsim.measures.probability import clopper_pearson
from rollsim.study.plan import Chunk, Plan
from rollsim.study.shards import Shards
from rollsim.study.workers import Place, executor, run_chunk

LOOK, PATIENCE = 5.0, 60.0
"""Seconds between looks at the workers while no chunk is done, and without any alive."""
GROWTH = 1.5
"""By how much the realisations of a case grow from one look at its interval to the next."""


class Counting:
    """How far one case has come: its batch now, and the runs counted for its rule."""

    def __init__(self, plan: Plan, case: int) -> None:
        self.plan, self.case = plan, case
        self.end = 0
        self.left = 0
        self.capsized = self.total = 0

    def next_batch(self) -> list[Chunk]:
        """The chunks of the next batch; none where the case is done."""
        if not self._wanted():
            return []
        first = self.end
        self.end = min(max(self.plan.realisations, math.ceil(first * GROWTH)), self._most())
        chunks = self.plan.chunks(self.plan.cases[self.case], first, self.end)
        self.left = len(chunks)
        return chunks

    def take(self, runs: Runs) -> None:
        """Count the runs of a finished chunk."""
        self.left -= 1
        self.total += int(np.count_nonzero(solved(runs.numbers["outcome"])))
        self.capsized += int(np.count_nonzero(capsized(runs.numbers["outcome"])))

    def _most(self) -> int:
        more = self.plan.until is not None and self.plan.cases[self.case].random
        return self.plan.most if more else self.plan.realisations

    def _wanted(self) -> bool:
        if self.end == 0:
            return True
        if self.end >= self._most() or self.plan.until is None:
            return False
        if self.capsized == 0:
            return True
        lower, upper = clopper_pearson(self.capsized, self.total)
        half = 0.5 * float(upper - lower)
        return half > self.plan.until.relative_error * self.capsized / self.total


def run_plan(
    plan: Plan,
    workers: int | None = None,
    scheduler: str | None = None,
    shards: Shards | None = None,
) -> Iterator[tuple[Chunk, Runs]]:
    """Run everything, yielding the chunks as they finish, in no order that matters.

    Chunks that `shards` holds already are read from there, new ones are put there.
    """
    with executor(plan, workers, scheduler) as place:
        yield from _Loop(plan, place, shards).chunks()


def run_again(
    plan: Plan, wanted: list[Chunk], workers: int | None, scheduler: str | None
) -> Iterator[tuple[Chunk, Runs]]:
    """Run some runs once more with their histories: bit for bit the same runs."""
    with executor(plan, workers, scheduler) as place:
        loop = _Loop(plan, place, None)
        loop.todo.extend(wanted)
        loop.histories = True
        yield from loop.drained()


class _Loop:
    """Chunks to do, chunks under way, and the cases that may ask for more."""

    def __init__(self, plan: Plan, place: Place, shards: Shards | None) -> None:
        self.plan, self.place, self.shards = plan, place, shards
        self.histories = plan.histories == "all"
        self.blobs = [pickle.dumps(case) for case in plan.cases]
        self.counting = [Counting(plan, case) for case in range(len(plan.cases))]
        self.todo: deque[Chunk] = deque()
        self.under_way: dict[Future[Runs], Chunk] = {}

    def chunks(self) -> Iterator[tuple[Chunk, Runs]]:
        """All chunks of all batches."""
        for case in self.counting:
            self.todo.extend(case.next_batch())
        for chunk, runs in self.drained():
            case = self.counting[chunk.case]
            case.take(runs)
            if case.left == 0:
                self.todo.extend(case.next_batch())
            yield chunk, runs

    def drained(self) -> Iterator[tuple[Chunk, Runs]]:
        """Chunks as they finish, until none is left to do."""
        while self.todo or self.under_way:
            while self.todo and len(self.under_way) < self.place.window:
                chunk = self.todo.popleft()
                held = self.shards.read(chunk) if self.shards else None
                if held is not None:
                    yield chunk, held
                else:
                    self._submit(chunk)
            if self.under_way:
                yield from self._finished()

    def _submit(self, chunk: Chunk) -> None:
        blob = self.blobs[chunk.case]
        future = self.place.pool.submit(run_chunk, blob, chunk.first, chunk.last, self.histories)
        self.under_way[future] = chunk

    def _finished(self) -> Iterator[tuple[Chunk, Runs]]:
        for future in self._waited():
            chunk = self.under_way.pop(future)
            runs = _result(future, chunk)
            if self.shards:
                self.shards.write(chunk, runs)
            yield chunk, runs

    def _waited(self) -> set[Future[Runs]]:
        """Chunks that are done, at least one; MachineError where no worker stays alive.

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
            return self.place.workers()
        except (OSError, RuntimeError):  # a scheduler that is gone
            return frozenset()


def _result(future: Future[Runs], chunk: Chunk) -> Runs:
    try:
        return future.result()
    except Exception as error:
        # Named by its class: importing it would cost a third of a second where nothing is wrong.
        name = type(error).__name__
        if name == "KilledWorker":
            raise MachineError(
                f"workers were killed again and again at case {chunk.case}\n"
                "  the memory may be short: take fewer --workers"
            ) from error
        if name in ("CancelledError", "FutureCancelledError", "CommClosedError"):
            raise MachineError(
                "the scheduler of the workers was lost\n"
                "  what is finished is kept: run again once it is back, or without --scheduler"
            ) from error
        raise
