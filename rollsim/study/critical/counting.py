"""The counts of a case of a study over the key that is searched: its runs, in pieces."""

from __future__ import annotations

import math
import threading
from functools import partial

import numpy as np

from rollsim.engines.base import BLOCK, Case, Engine, run_list
from rollsim.engines.block.lanes import LANES
from rollsim.engines.registry import engine_for
from rollsim.measures.outcome import Event, happened, solved
from rollsim.study import cost
from rollsim.study.at_value import VariedCase
from rollsim.study.pieces import Arrays, Pieces
from rollsim.study.runs import cut

PIECE_SECONDS = 0.05
"""A piece lasts about so long: short enough for several workers to share a count."""


class Counting:
    """Counts the runs of one case in which an event happens, at any value of the key."""

    def __init__(self, varied: VariedCase, number: int, event: Event, pieces: Pieces) -> None:
        self._varied, self._number, self._event, self._pieces = varied, number, event, pieces

    def __call__(self, value: float, first: int, last: int) -> tuple[int, int]:
        """Events and solved runs in the storms first to last - 1.

        Where nothing is random at a value one run stands for all storms; where a "static" start
        has no heel to rest at there is no run and so no outcome.
        """
        case = self._varied.at(value)
        if math.isnan(case.start[0]):
            return 0, 0
        ready, each = _Ready(case), 1
        if not case.random:
            first, last, each = 0, 1, last - first
        wanted = {
            f"{self._number} {value!r} {a} {b}": partial(self._count, ready, a, b)
            for a, b in cut(first, last, _size(case))
        }
        counts = np.sum([made["counts"] for made in self._pieces.all(wanted)], axis=0)
        return each * int(counts[0]), each * int(counts[1])

    def _count(self, ready: _Ready, first: int, last: int) -> Arrays:
        runs = run_list(np.arange(first, last), ready.case.start)
        outcome = ready.engine.run(runs, histories=False).numbers["outcome"]
        events = np.count_nonzero(happened(outcome, self._event))
        return {"counts": np.array([events, np.count_nonzero(solved(outcome))])}


class _Ready:
    """A case with its engine, made when the first of its pieces needs it."""

    def __init__(self, case: Case) -> None:
        self.case = case
        self._lock = threading.Lock()
        self._engine: Engine | None = None

    @property
    def engine(self) -> Engine:
        with self._lock:
            if self._engine is None:
                self._engine = engine_for(self.case)
        return self._engine


def _size(case: Case) -> int:
    """Runs of a piece: the same for the same case, whatever is wanted and whoever makes it."""
    size = max(1, round(PIECE_SECONDS / cost.seconds_a_run(case)))
    return LANES * max(1, size // LANES) if case.method == BLOCK else size
