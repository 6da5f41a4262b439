"""How far the block engine is off: a few runs made again at an eighth of the accuracy asked for."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from rollsim.engines.base import BLOCK, Case, RunList, run_list
from rollsim.engines.block.step import DEFAULT_ACCURACY
from rollsim.engines.registry import engine_for
from rollsim.engines.runs import Runs

RUNS = 4
"""Realisations that are compared."""
FINER = 8.0
"""By how much finer the runs are that they are compared with: half the step, and finer tables."""
DISTURBANCE = 1e-6
"""Disturbance of the start [rad] that shows whether a run magnifies small differences."""
GROWS = 10.0
"""Growth of the disturbance from which that is said of a run."""


@dataclass(frozen=True)
class Comparison:
    """How runs differ from finer ones of the same case, over the realisations compared.

    `roll` [degree] greatest difference at the output points while both last; `outcomes` how many
    end otherwise; `end` [s] greatest difference of the times at which they end; `growing` how many
    magnify a small disturbance of their start more than tenfold, or end otherwise by it.
    """

    runs: int
    roll: float
    outcomes: int
    end: float
    growing: int


def compare(case: Case) -> Comparison | None:
    """The first realisations against finer ones; None for scipy's methods."""
    if case.method != BLOCK:
        return None
    runs = run_list(np.arange(RUNS if case.random else 1), case.start)
    finer = engine_for(replace(case, accuracy=case.accuracy / FINER))
    given, exact = engine_for(case).run(runs, histories=True), finer.run(runs, histories=True)
    differs = given.numbers["outcome"] != exact.numbers["outcome"]
    ends = np.abs(given.numbers["end_time"] - exact.numbers["end_time"])
    return Comparison(
        runs=runs.size,
        roll=float(np.max(_difference(given, exact))),
        outcomes=int(np.count_nonzero(differs)),
        end=float(np.max(np.where(differs, 0.0, ends))),
        growing=int(np.count_nonzero(_grows(case, runs))),
    )


def _difference(one: Runs, other: Runs) -> NDArray[np.float64]:
    """Greatest difference of the roll of each run [degree] while both last."""
    apart = np.abs(np.subtract(one.histories[0], other.histories[0], dtype=np.float64))
    return np.asarray(np.fmax.reduce(apart, axis=1))


def _grows(case: Case, runs: RunList) -> NDArray[np.bool_]:
    """Which runs magnify a disturbance of their start, or end otherwise by it.

    In double precision: the rounding of single would be a disturbance of its own.
    """
    engine = engine_for(replace(case, accuracy=min(case.accuracy, 0.9 * DEFAULT_ACCURACY)))
    given = engine.run(runs, histories=True)
    other = engine.run(runs._replace(roll=runs.roll + DISTURBANCE), histories=True)
    # Histories are kept in single precision, which itself differs by less than the disturbance.
    grown = _difference(given, other) > GROWS * math.degrees(DISTURBANCE)
    return np.asarray(grown | (given.numbers["outcome"] != other.numbers["outcome"]))
