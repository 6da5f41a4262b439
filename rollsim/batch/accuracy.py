"""How far the roll is off: a few runs made again with half the step of the block engine."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from rollsim.batch.build import BLOCK, Case
from rollsim.batch.case import CaseRunner

RUNS = 4
"""Realisations that are compared."""


def halving_difference(case: Case) -> float:
    """Greatest difference of the roll [degree] when the step is halved; NaN for scipy's methods.

    Over the output points of the first realisations, as long as both runs last.
    """
    if case.method != BLOCK:
        return math.nan
    count = RUNS if case.random else 1
    finer = replace(case, step=0.5 * case.step)
    rolls = [CaseRunner(each).run(0, count).histories[0] for each in (case, finer)]
    difference = np.abs(np.subtract(*rolls, dtype=np.float64))
    return float(np.fmax.reduce(difference.ravel()))
