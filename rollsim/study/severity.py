"""The search for severity factors: the same storms again, stronger and stronger, until she fails.

Many factors of many storms lie side by side in one list of runs, so that a storm is made once for
all its factors. Runs that search for a failure stop at it. The whole grid is tried, for survival
above the first failure is told; then the step of the grid below it is cut, PARTS at a time.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from rollsim.engines.base import BLOCK, CAPSIZE, FIRST_LIMIT, Case, RunList, run_list
from rollsim.engines.block.lanes import LANES
from rollsim.engines.runs import Runs
from rollsim.measures.severity import PARTS, REFINEMENTS, bracket, factors_tried
from rollsim.names import Outcome, SeverityFound
from rollsim.study.plan import Plan
from rollsim.study.runs import Chunk, cut

Floats = NDArray[np.float64]


BLOCKS = 4
"""Blocks of storms that a search looks after together: what it still tries at the end, storm by
storm of another strength, then fills blocks as well."""


class Trials(NamedTuple):
    """Runs to be tried: by run, which of a search's realisations, which of the factors that are
    tried of it, and that factor."""

    which: NDArray[np.intp]
    number: NDArray[np.intp]
    factor: Floats


def _trials(factors: Floats) -> Trials:
    """All of some factors (factors, n), n realisations.

    The factors of LANES realisations stand one behind the other, so that a block of runs meets the
    storms of the one before.
    """
    count, size = factors.shape
    order = [
        np.arange(count)[:, None] * size + np.arange(first, min(first + LANES, size))
        for first in range(0, size, LANES)
    ]
    number, which = np.divmod(np.concatenate([part.ravel() for part in order]), size)
    return Trials(which, number, factors[number, which])


class SeveritySearch:
    """The factors of some realisations of one case; a Sampling.

    `as_it_is` (n,) are the outcomes of these runs without a factor, which the study has made.
    Once `finished`, `factor`, `found` and `islands` (n,) hold the answers.
    """

    def __init__(
        self, plan: Plan, case: int, realisations: NDArray[np.intp], as_it_is: NDArray[np.int8]
    ) -> None:
        assert plan.search is not None
        self._plan, self._search = plan, plan.search
        self.case, self.realisations = case, realisations
        self.grid = factors_tried(self._search.first, self._search.last)
        self._as_it_is = as_it_is
        count = realisations.size
        self.factor = np.full(count, np.nan)
        self.found = np.zeros(count, dtype=np.int8)
        self.islands = np.zeros(count, dtype=np.int32)
        self.tried, self.finished = 0, False
        self._low, self._high = np.full(count, np.nan), np.full(count, np.nan)
        self._stage = 0
        self._factors = np.zeros((0, count))
        self._trials: Trials | None = None
        self._outcome = np.zeros(0, dtype=np.int8)
        self._places: dict[int, slice] = {}

    def batch(self) -> Iterator[Chunk] | None:
        """The whole grid first, then what lies between survival and failure."""
        if self._stage > 0:
            self._learn()
            if self._stage > REFINEMENTS or not np.any(self.found == SeverityFound.FOUND):
                self._finish()
                return None
        self._stage += 1
        return self._chunks()

    def take(self, chunk: Chunk, runs: Runs) -> None:
        """What became of some trials."""
        self._outcome[self._places.pop(id(chunk))] = runs.numbers["outcome"]
        self.tried += len(chunk)

    def _tried_now(self) -> Trials:
        """What is tried in this stage."""
        if self._stage == 1:
            self._factors = np.repeat(self.grid[:, None], self.realisations.size, axis=1)
            trials = _trials(self._factors)
            return Trials(*(values[trials.factor != 1.0] for values in trials))
        which = np.flatnonzero(self.found == SeverityFound.FOUND)
        low, high = self._low[which], self._high[which]
        part = np.arange(PARTS + 1)[:, None] / PARTS
        self._factors = np.full((PARTS + 1, self.realisations.size), np.nan)
        self._factors[:, which] = low * (high / low) ** part
        self._factors[-1] = self._high
        inner = _trials(self._factors[1:-1, which])
        return Trials(which[inner.which], inner.number + 1, inner.factor)

    def _learn(self) -> None:
        """What the trials of a stage, which are all there, have come to."""
        assert self._trials is not None
        codes = np.full(self._factors.shape, Outcome.SURVIVED, dtype=np.int8)
        if self._stage == 1:
            codes[self.grid == 1.0] = self._as_it_is
        else:
            codes[-1] = Outcome.CAPSIZED  # that it fails there is known
        codes[self._trials.number, self._trials.which] = self._outcome
        found, first, islands = bracket(codes, self._search.of)
        if self._stage == 1:
            self.found, self.islands = found, islands
        searched = np.flatnonzero(self.found == SeverityFound.FOUND)
        self.found[searched] = found[searched]
        inside = np.flatnonzero(self.found == SeverityFound.FOUND)
        self._low[inside] = self._factors[first[inside] - 1, inside]
        self._high[inside] = self._factors[first[inside], inside]
        self._trials, self._factors = None, np.zeros((0, self.realisations.size))

    def _finish(self) -> None:
        inside = self.found == SeverityFound.FOUND
        self.factor = np.where(inside, self._high, np.nan)
        self.finished = True

    def _chunks(self) -> Iterator[Chunk]:
        """The runs of a stage; made as they are asked for, for there may be many searches."""
        trials = self._trials = self._tried_now()
        self._outcome = np.zeros(trials.factor.size, dtype=np.int8)
        for first, last in cut(0, trials.factor.size, self._plan.task_size(self._lead)):
            part = slice(first, last)
            runs = self._runs(trials.which[part], trials.factor[part])
            chunk = Chunk(self._plan.leads[self.case], np.full(runs.size, self.case, "i4"), runs)
            self._places[id(chunk)] = part
            yield chunk

    def _runs(self, which: NDArray[np.intp], factor: Floats) -> RunList:
        roll, rate = self._plan.starts[self.case]
        on = self._search.on
        return run_list(
            self.realisations[which],
            (roll, rate),
            1.0 if on == "wind" else factor,
            1.0 if on == "waves" else factor,
            until=FIRST_LIMIT if self._search.of == "failure" else CAPSIZE,
        )

    @property
    def _lead(self) -> Case:
        return self._plan.cases[self._plan.leads[self.case]]


def searches(plan: Plan, outcome: NDArray[np.int8]) -> list[SeveritySearch]:
    """The searches for all runs of a study that are done; `outcome` (case, realisation).

    Some blocks of storms each; where nothing is random one run serves for all realisations.
    """
    made = []
    for members in plan.groups:
        width = BLOCKS * LANES if plan.cases[members[0]].method == BLOCK else 1
        for case in members:
            ran = np.flatnonzero(outcome[case] != Outcome.NOT_RUN)
            ran = ran if plan.random[case] else ran[:1]
            for first in range(0, ran.size, width):
                part = ran[first : first + width]
                made.append(SeveritySearch(plan, case, part, outcome[case, part]))
    return made
