"""How far the roll is off: a few runs made again with half the step of the block engine."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from rollsim.engines.base import BLOCK, Case
from rollsim.study import runs as wanted

RUNS = 4
"""Realisations that are compared."""


NEAR = 0.1
"""Energy margin below which a run passes so near the barrier that it magnifies any error."""


def halving_difference(case: Case) -> tuple[float, int]:
    """Greatest difference of the roll [degree] when the step is halved; NaN for scipy's methods.

    Over the output points of the first realisations, as long as both runs last. Beside it the
    number of those runs that pass near the barrier, where a small difference grows.
    """
    if case.method != BLOCK:
        return math.nan, 0
    count = RUNS if case.random else 1
    finer = replace(case, accuracy=case.accuracy / 8.0)
    runs = [wanted.make(each, 0, count) for each in (case, finer)]
    difference = np.abs(np.subtract(*(found.histories[0] for found in runs), dtype=np.float64))
    near = int(np.count_nonzero(~(runs[0].numbers["energy_margin"] > NEAR)))
    return float(np.fmax.reduce(difference.ravel())), near
