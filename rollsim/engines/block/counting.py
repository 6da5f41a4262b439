"""Where limits and extremes begin to count in a block, and what stands past a limit already."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from rollsim.engines.block import lanes as at
from rollsim.engines.block.closer import close
from rollsim.engines.block.heart import Ship
from rollsim.engines.block.lanes import Block, flat_of
from rollsim.engines.limits import Limits
from rollsim.engines.sides import ENTERED

Floats = NDArray[np.float64]


def angles(block: Block, ship: Ship) -> tuple[Floats, Floats, Floats, Floats]:
    """Roll, its rate, heel and its rate of every lane."""
    y, rate, slope, slope_rate = np.asarray(block.states[at.AFTER], dtype=np.float64)
    added, share = float(ship.added), float(ship.share)
    return (
        y + added * slope,
        rate + added * slope_rate,
        y - share * slope,
        rate - share * slope_rate,
    )


def _past(
    block: Block, limits: Limits, ship: Ship
) -> tuple[NDArray[np.bool_], NDArray[np.bool_], Floats, Floats]:
    """Which lanes stand past the roll limit, which past the flooding limit; roll and heel.

    Limits are rounded as the angles are: what stands at a limit exactly is past it.
    """
    roll, _, heel, _ = angles(block, ship)
    kind = block.states.dtype.type
    past_roll = np.abs(roll) >= kind(limits.roll)
    counted = np.where(heel >= 0.0, heel, -heel * kind(limits.port))
    return past_roll, counted >= kind(limits.flooding), roll, heel


def flag_start(block: Block, limits: Limits, ship: Ship) -> None:
    """Flag what starts past a limit before limits count: a ship at rest never passes it."""
    past_roll, past_flooding, _, _ = _past(block, limits, ship)
    block.record[at.EARLY, past_roll | past_flooding] = 1.0


def begin_counting(
    block: Block, time: float, limits: Limits, ship: Ship, levels: Floats | None
) -> None:
    """From here on extremes and limits count; what is past a limit already passes it now.

    Without `levels` a search is under way, which asks for no extremes.
    """
    record, keep = block.record, block.keep
    live = record[at.LIVE] > 0.0
    past_roll, past_flooding, roll, heel = _past(block, limits, ship)
    rate = angles(block, ship)[1]
    if levels is not None:
        keep[at.ROLL_MAX, live] = keep[at.ROLL_MIN, live] = roll[live]
        keep[at.HEEL_MOST, live] = np.where(heel >= 0.0, heel, -heel * limits.weight)[live]
        keep[at.LEVEL, live] = np.where(np.isnan(levels[live]), math.inf, levels[live])
    record[at.LAST], record[at.LAST_RATE] = roll, rate
    record[at.SIDES + ENTERED] = time
    record[at.PASSED_ROLL, live & past_roll] = time
    record[at.PASSED_FLOODING, live & past_flooding] = time
    set_bounds(block, limits)
    for lane in np.flatnonzero(live & (past_roll | past_flooding) & (record[at.STOPS] > 0.0)):
        close(flat_of(block), int(lane), time)


def set_bounds(block: Block, limits: Limits) -> None:
    """From which |roll| and |heel| on a step needs a closer look: the limits not yet passed."""
    record = block.record
    live = record[at.LIVE] > 0.0
    for bound, passed, limit, capsize in (
        (at.ROLL_BOUND, at.PASSED_ROLL, limits.roll, limits.capsize),
        (at.HEEL_BOUND, at.PASSED_FLOODING, limits.heel, limits.capsize * min(1.0, limits.weight)),
    ):
        ahead = np.where(np.isnan(record[passed]), limit, math.inf)
        block.keep[bound] = np.where(live, np.minimum(ahead, capsize), math.inf)
