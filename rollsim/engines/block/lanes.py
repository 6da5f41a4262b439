"""The state of a block: runs side by side, and what the compiled steps read and write."""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from rollsim.compiled import aligned
from rollsim.engines.block.adams import STEPS
from rollsim.engines.sides import ROWS as SIDE_ROWS

Floats = NDArray[np.float64]
Reals = NDArray[Any]
"""An array of the block's own float type, single or double."""

LANES = 64
"""Runs in a block: a fixed number, so that a run's bits never depend on its company."""

Y, RATE, SLOPE, SLOPE_RATE = range(4)
"""Rows of a state: y = φ − s α, y′, α, α′; heel and roll follow from them."""
ROWS = 4
BEFORE, AFTER = range(2)
"""The states before and after the step made last; between steps the second is the state."""
OLD_Y, OLD_RATE, OLD_SLOPE, OLD_SLOPE_RATE = (
    (BEFORE * ROWS + row) * LANES for row in (Y, RATE, SLOPE, SLOPE_RATE)
)
NEW_Y, NEW_RATE, NEW_SLOPE, NEW_SLOPE_RATE = (
    (AFTER * ROWS + row) * LANES for row in (Y, RATE, SLOPE, SLOPE_RATE)
)
"""Where the rows of the state before and after a step begin."""

(
    ROLL_BOUND, HEEL_BOUND, ROLL_MAX, ROLL_MIN, HEEL_MOST, LEVEL, UPCROSSINGS, ENERGY,
    WIND_SQUARE, WIND_FACTOR, OVER, STRAIN,
) = range(12)  # fmt: skip
"""Rows of what the steps keep by lane, in the block's float type: the bounds at which to look
closer, extremes so far, the static heel and its upward crossings, greatest E/E_b, the factor on
the wind and its square; and of the step just made, by how much it may pass the bounds and how hard
it was for the scheme, above 1 too hard."""
KEEPS = 12

(
    PASSED_ROLL, PASSED_FLOODING, PASSED_CAPSIZE, EARLY, END, TROUBLE, KEPT_MAX, KEPT_MIN,
    KEPT_HEEL, KEPT_ENERGY, KEPT_UPCROSSINGS, END_HEEL, END_HEEL_RATE, SUM, SQUARES, LAST,
    LAST_RATE, LIVE, STOPS, SIDES,
) = range(20)  # fmt: skip
"""Rows of the record by lane, in double: passings, the end (NaN while under way), whether the
scheme was strained, the numbers kept at an end, heel and its rate there, the integrals of roll and
its square with the roll and its rate at the last sample, 1 while under way, 1 where the first
limit passed ends it, and from SIDES on the rows of `engines.sides`."""
RECORDS = SIDES + SIDE_ROWS

AHEAD, PLACE, LEVER, LEVER_SLOPE, LAW, ZETA, GUST, STAGE_Y, STAGE_RATE = range(9)
"""Rows of the room to work in: the acceleration extrapolated to a step's end, her place in the
tables there, what turns her but for the wind [m] and the slope of her righting lever, the law of
heel, the elevation and the turbulence, y and y′ at which the wind's law or a stage of Runge-Kutta
looks."""
WORKINGS = 9
STAGES = 3


class Block(NamedTuple):
    """All that changes while a block is stepped; every array ends in lanes.

    `states` (2, ROWS, lanes) before and after a step, `history` the last accelerations (STEPS,
    lanes) as a ring; `keep` (KEEPS, lanes);
    `record` (RECORDS, lanes); `histories` (4, outputs, lanes) or empty; `outputs` a state between
    two steps; `work` (WORKINGS, lanes) room to work in.
    """

    states: Reals
    history: Reals
    keep: Reals
    record: Floats
    histories: NDArray[np.float32]
    outputs: Reals
    work: Reals
    turns: Reals


def new_block(outputs: int, kind: type) -> Block:
    """A block of float type `kind` before its first step; `outputs` 0 keeps no histories."""
    sizes = (2 * ROWS, STEPS, KEEPS, ROWS, WORKINGS, STAGES)
    states, history, keep, between, work, turns = np.split(
        _zeros(sum(sizes), kind), np.cumsum(sizes[:-1])
    )
    keep[[ROLL_BOUND, HEEL_BOUND, ROLL_MAX, HEEL_MOST, LEVEL]] = math.inf
    keep[[ROLL_MIN, ENERGY]] = -math.inf
    keep[[WIND_SQUARE, WIND_FACTOR]] = 1.0
    record = _zeros(RECORDS, np.float64)
    record[PASSED_ROLL : PASSED_CAPSIZE + 1] = math.nan
    record[[END, KEPT_MAX, KEPT_MIN, KEPT_HEEL, KEPT_ENERGY, END_HEEL, END_HEEL_RATE]] = math.nan
    record[LIVE] = 1.0
    histories = np.full((4, outputs, LANES), math.nan, dtype=np.float32)
    states = states.reshape((2, ROWS, LANES))
    return Block(states, history, keep, record, histories, between, work, turns)


def _zeros(rows: int, kind: type) -> Reals:
    room = aligned((rows, LANES), kind)
    room[...] = 0.0
    return room


def flat_of(block: Block) -> Block:
    """The same memory with the rows of states, keep, record, outputs and work end to end."""
    return block._replace(
        states=block.states.reshape(-1),
        keep=block.keep.reshape(-1),
        record=block.record.reshape(-1),
        outputs=block.outputs.reshape(-1),
        work=block.work.reshape(-1),
    )
