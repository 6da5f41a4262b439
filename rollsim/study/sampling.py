"""What asks for the runs of a study: a fixed number, or more until a probability is known.

The loop knows none of the rules: it asks for a batch, makes its runs, hands them back, and asks
again when all of them are there. A search asks in the same way.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Protocol

import numpy as np

from rollsim.engines.runs import Runs
from rollsim.measures.outcome import happened, solved
from rollsim.measures.probability import clopper_pearson
from rollsim.study.plan import Plan
from rollsim.study.runs import Chunk, cut

GROWTH = 1.5
"""By how much the realisations of a case grow from one look at its interval to the next."""


class Sampling(Protocol):
    """What asks for runs."""

    def batch(self) -> Iterator[Chunk] | None:
        """The runs wanted next, after all that were taken; None where no more are."""

    def take(self, chunk: Chunk, runs: Runs) -> None:
        """Finished runs of a batch, in no order that matters."""


class FixedNumber:
    """A fixed number of realisations of cases that differ in their start alone."""

    def __init__(self, plan: Plan, members: Sequence[int], realisations: int) -> None:
        self._plan, self._members = plan, np.asarray(members, dtype=np.int32)
        self._each = realisations if plan.cases[members[0]].random else 1
        self._asked = False

    def batch(self) -> Iterator[Chunk] | None:
        """All of them, at the first time."""
        if self._asked:
            return None
        self._asked = True
        return self._chunks()

    def take(self, chunk: Chunk, runs: Runs) -> None:
        """Nothing depends on what came out."""

    def _chunks(self) -> Iterator[Chunk]:
        plan, members, each = self._plan, self._members, self._each
        size = plan.task_size(plan.cases[members[0]])
        for first, last in cut(0, members.size * each, size):
            case, realisation = np.divmod(np.arange(first, last), each)
            yield plan.chunk(members[case], realisation)


class UntilKnown:
    """Realisations of one case until the probability of an event is known well enough."""

    def __init__(self, plan: Plan, case: int) -> None:
        assert plan.until is not None
        self._plan, self._case = plan, case
        self._error = plan.until.relative_error
        self._event = plan.event
        self._end = self._events = self._total = 0

    def batch(self) -> Iterator[Chunk] | None:
        """The first realisations, then half as many more again at each look."""
        if not self._wanted():
            return None
        first, plan = self._end, self._plan
        self._end = min(max(plan.realisations, math.ceil(first * GROWTH)), plan.most)
        return self._chunks(first, self._end)

    def take(self, chunk: Chunk, runs: Runs) -> None:
        """Count the runs."""
        outcome = runs.numbers["outcome"]
        self._total += int(np.count_nonzero(solved(outcome)))
        self._events += int(np.count_nonzero(happened(outcome, self._event)))

    def _chunks(self, first: int, last: int) -> Iterator[Chunk]:
        plan = self._plan
        for a, b in cut(first, last, plan.task_size(plan.cases[self._case])):
            yield plan.chunk(np.full(b - a, self._case), np.arange(a, b))

    def _wanted(self) -> bool:
        if self._end == 0:
            return True
        if self._end >= self._plan.most:
            return False
        if self._events == 0:
            return True
        lower, upper = clopper_pearson(self._events, self._total)
        return 0.5 * float(upper - lower) > self._error * self._events / self._total


class Listed:
    """Runs that somebody has listed, of one case each time; `runs` keeps them in their order."""

    def __init__(self, chunks: Sequence[Chunk]) -> None:
        self._chunks: Sequence[Chunk] | None = chunks

    def batch(self) -> Iterator[Chunk] | None:
        """All of them, at the first time."""
        chunks, self._chunks = self._chunks, None
        return None if chunks is None else iter(chunks)

    def take(self, chunk: Chunk, runs: Runs) -> None:
        """Nothing depends on what came out."""


def samplings(plan: Plan) -> list[Sampling]:
    """What the scenario of a plan asks for."""
    asking: list[Sampling] = []
    for members in plan.groups:
        if plan.until is not None and plan.cases[members[0]].random:
            asking += [UntilKnown(plan, case) for case in members]
        else:
            asking.append(FixedNumber(plan, members, plan.realisations))
    return asking
