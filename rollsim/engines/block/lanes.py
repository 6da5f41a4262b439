"""The state of a block: realisations side by side, and what the compiled steps read and write."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from rollsim.engines.block.adams import STEPS

Floats = NDArray[np.float64]

LANES = 32
"""Realisations in a block: a fixed number, so that a run's bits never depend on its company."""

ROLL, RATE, SLOPE, SLOPE_RATE, HEEL, HEEL_RATE, ACCELERATION = range(7)
"""Rows of a state: φ, φ′, α, α′, ψ, ψ′, φ″."""
ROWS = 7

(
    ROLL_MAX,
    ROLL_MIN,
    PASSED_ROLL,
    PASSED_FLOODING,
    PASSED_CAPSIZE,
    EARLY,
    END,
    ROLL_BOUND,
    HEEL_BOUND,
    ENERGY,
    KEPT_MAX,
    KEPT_MIN,
    KEPT_ENERGY,
) = range(13)
"""Rows of the record, by lane: extremes, passings, the end (NaN while under way), the bounds at
which to look closer, greatest E/E_b; and extremes and energy as they were at a capsize, for the
loops go on over a lane that has ended."""
RECORDS = 13


FORESEEN, FORESEEN_RATE, EXTRAPOLATED, FALL, OVER = range(5)
"""Rows of the room to work in: predicted roll and rate, extrapolated acceleration, the wind's law
of heel, and by how much a step may pass the bounds."""
WORKINGS = 5


class Block(NamedTuple):
    """All that changes while a block is stepped; every array ends in lanes.

    `states` (2, ROWS, lanes) before and after a step, by turns; the first holds the state between
    stretches. `history` the last accelerations (STEPS, lanes) as a ring; `work` (WORKINGS,
    lanes) room to work in; `record` (RECORDS, lanes); `histories` (4, outputs, lanes) or empty.
    """

    states: Floats
    history: Floats
    work: Floats
    record: Floats
    histories: NDArray[np.float32]


def new_block(outputs: int) -> Block:
    """A block before its first step; `outputs` 0 keeps no histories."""
    record = np.zeros((RECORDS, LANES))
    record[ROLL_MAX], record[ROLL_MIN] = -math.inf, math.inf
    record[PASSED_ROLL : PASSED_CAPSIZE + 1] = math.nan
    record[ENERGY] = -math.inf
    record[END] = math.nan
    work = np.zeros((WORKINGS, LANES))
    work[FALL] = 1.0
    return Block(
        np.zeros((2, ROWS, LANES)),
        np.zeros((STEPS, LANES)),
        work,
        record,
        np.full((4, outputs, LANES), math.nan, dtype=np.float32),
    )
