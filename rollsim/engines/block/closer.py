"""A closer look at single lanes of a block: extremes and limit passings within a step, as roots.

Between a step's ends the roll is the quintic through angle, rate and acceleration at both, the
wave slope the cubic through value and rate.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from rollsim.compiled import compiled
from rollsim.engines.block.lanes import (
    ACCELERATION,
    EARLY,
    END,
    ENERGY,
    HEEL_BOUND,
    KEPT_ENERGY,
    KEPT_MAX,
    KEPT_MIN,
    LANES,
    OVER,
    PASSED_CAPSIZE,
    PASSED_FLOODING,
    PASSED_ROLL,
    RATE,
    ROLL,
    ROLL_BOUND,
    ROLL_MAX,
    ROLL_MIN,
    SLOPE,
    SLOPE_RATE,
    Block,
)

if TYPE_CHECKING:
    from rollsim.engines.solution import Limits

Floats = NDArray[np.float64]

PARTS = 8
HALVINGS = 48


@compiled
def _quintic(state: Floats, after: Floats, lane: int, h: float) -> Floats:
    """Coefficients in x from 0 to 1 of the roll between two states."""
    f, d, s = state[ROLL, lane], h * state[RATE, lane], 0.5 * h * h * state[ACCELERATION, lane]
    g = after[ROLL, lane] - f - d - s
    e = h * after[RATE, lane] - d - 2.0 * s
    k = 0.5 * h * h * after[ACCELERATION, lane] - s
    return np.array(
        [f, d, s, 10.0 * g - 4.0 * e + k, -15.0 * g + 7.0 * e - 2.0 * k, 6.0 * g - 3.0 * e + k]
    )


@compiled
def _less_slope(
    roll: Floats, state: Floats, after: Floats, lane: int, h: float, relative: float
) -> Floats:
    """Coefficients of the heel: the roll's less those of the slope between two states."""
    f, d = relative * state[SLOPE, lane], relative * h * state[SLOPE_RATE, lane]
    g = relative * after[SLOPE, lane] - f - d
    e = relative * h * after[SLOPE_RATE, lane] - d
    heel = roll.copy()
    heel[0] -= f
    heel[1] -= d
    heel[2] -= 3.0 * g - e
    heel[3] -= e - 2.0 * g
    return heel


@compiled
def _value(series: Floats, x: float) -> float:
    value = 0.0
    for k in range(series.size - 1, -1, -1):
        value = value * x + series[k]
    return value


@compiled
def _rate(series: Floats, x: float) -> float:
    value = 0.0
    for k in range(series.size - 1, 0, -1):
        value = value * x + k * series[k]
    return value


@compiled
def _turn(series: Floats, low: float, high: float) -> float:
    """Where between low and high the value turns: the root of its rate, by halving."""
    rising = _rate(series, low) > 0.0
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        if (_rate(series, middle) > 0.0) == rising:
            low = middle
        else:
            high = middle
    return high


@compiled
def _first_passing(series: Floats, limit: float) -> float:
    """First x in [0, 1] at which |series| reaches the limit; 2 where it does not."""
    if limit == math.inf:
        return 2.0
    low = 0.0
    if abs(_value(series, low)) >= limit:
        return low
    for part in range(1, 2 * PARTS + 1):
        end = 0.5 * part / PARTS
        high = end
        if abs(_value(series, end)) < limit and _rate(series, low) * _rate(series, end) < 0.0:
            high = _turn(series, low, end)
        if abs(_value(series, high)) >= limit:
            for _ in range(HALVINGS):
                middle = 0.5 * (low + high)
                if abs(_value(series, middle)) < limit:
                    low = middle
                else:
                    high = middle
            return high
        low = end
    return 2.0


@compiled
def _extremes(record: Floats, lane: int, series: Floats, end: float) -> None:
    """Greatest and least value up to x = end, into the record."""
    before = 0.0
    for part in range(PARTS + 1):
        x = end * part / PARTS
        turn = x
        if part > 0 and _rate(series, before) * _rate(series, x) < 0.0:
            turn = _turn(series, before, x)
        for place in (x, turn):
            value = _value(series, place)
            record[ROLL_MAX, lane] = max(record[ROLL_MAX, lane], value)
            record[ROLL_MIN, lane] = min(record[ROLL_MIN, lane], value)
        before = x


@compiled
def closer_look(
    block: Block, now: int, start: float, h: float, counts: bool, limits: Limits, relative: float
) -> bool:
    """Look at the lanes that may pass a bound in the step from state `now` to the other.

    Says whether any lane is still under way after it.
    """
    state, after, record = block.states[now], block.states[1 - now], block.record
    under_way = False
    for lane in range(LANES):
        if not math.isnan(record[END, lane]):
            continue
        if not block.work[OVER, lane] >= 0.0:
            under_way = True
            continue
        roll = _quintic(state, after, lane, h)
        heel = _less_slope(roll, state, after, lane, h, relative)
        capsize = min(_first_passing(roll, limits.capsize), _first_passing(heel, limits.capsize))
        end = min(capsize, 1.0)
        if counts:
            _extremes(record, lane, roll, end)
        for place, x in (
            (PASSED_ROLL, _first_passing(roll, limits.roll)),
            (PASSED_FLOODING, _first_passing(heel, limits.flooding)),
            (PASSED_CAPSIZE, capsize),
        ):
            if x <= end:
                if not counts:
                    record[EARLY, lane] = 1.0
                if math.isnan(record[place, lane]) and (counts or place == PASSED_CAPSIZE):
                    record[place, lane] = start + x * h
        left = math.isnan(record[PASSED_ROLL, lane])
        record[ROLL_BOUND, lane] = min(limits.roll if left else math.inf, limits.capsize)
        left = math.isnan(record[PASSED_FLOODING, lane])
        record[HEEL_BOUND, lane] = min(limits.flooding if left else math.inf, limits.capsize)
        if capsize <= 1.0:
            _close(record, lane, start + capsize * h)
        else:
            under_way = True
    return under_way


@compiled
def _close(record: Floats, lane: int, time: float) -> None:
    """End a lane: keep its numbers, and let nothing look at it again."""
    record[END, lane] = time
    record[KEPT_MAX, lane] = record[ROLL_MAX, lane]
    record[KEPT_MIN, lane] = record[ROLL_MIN, lane]
    record[KEPT_ENERGY, lane] = record[ENERGY, lane]
    record[ROLL_BOUND, lane] = math.inf
    record[HEEL_BOUND, lane] = math.inf
    record[ROLL_MAX, lane] = math.inf
    record[ROLL_MIN, lane] = -math.inf
