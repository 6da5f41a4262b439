"""A closer look at single lanes of a block: extremes and limit passings within a step, as roots.

Between a step's ends y is the quintic through angle, rate and acceleration at both, the wave slope
the cubic through value and rate. Here the guard stands too: a lane that the scheme was strained by
is closed, to be stepped again finer, before anything it did counts.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from rollsim.compiled import inner
from rollsim.engines.block.adams import STEPS
from rollsim.engines.block.lanes import (
    AFTER,
    BEFORE,
    EARLY,
    END,
    END_HEEL,
    END_HEEL_RATE,
    ENERGY,
    HEEL_BOUND,
    HEEL_MOST,
    KEPT_ENERGY,
    KEPT_HEEL,
    KEPT_MAX,
    KEPT_MIN,
    KEPT_UPCROSSINGS,
    LANES,
    LAST,
    LAST_RATE,
    LEVEL,
    LIVE,
    OVER,
    PASSED_CAPSIZE,
    PASSED_FLOODING,
    PASSED_ROLL,
    RATE,
    ROLL_BOUND,
    ROLL_MAX,
    ROLL_MIN,
    SLOPE,
    SLOPE_RATE,
    SQUARES,
    STOPS,
    STRAIN,
    SUM,
    TROUBLE,
    UPCROSSINGS,
    Block,
    Y,
)
from rollsim.engines.limits import flooding_span

if TYPE_CHECKING:
    from rollsim.engines.limits import Limits

Floats = NDArray[np.float64]

PARTS = 8
HALVINGS = 48
FARTHEST = 1.1
"""How far an angle may go in a step, in steps at the greater rate of its ends."""


class Step(NamedTuple):
    """The step just made: its number in the stretch, `start` and length `h` [s], the time `since`
    the last sample for the averages [s], whether limits and extremes count."""

    n: int
    start: float
    h: float
    since: float
    counts: bool


@inner
def _quintic(block: Block, lane: int, step: Step) -> Floats:
    """Coefficients in x from 0 to 1 of y over the step."""
    h, state, after = step.h, block.states[BEFORE], block.states[AFTER]
    bend = 0.5 * h * h * block.history[step.n % STEPS, lane]
    bend_after = 0.5 * h * h * block.history[(step.n + 1) % STEPS, lane]
    f, d = np.float64(state[Y, lane]), h * state[RATE, lane]
    g = after[Y, lane] - f - d - bend
    e = h * after[RATE, lane] - d - 2.0 * bend
    k = bend_after - bend
    series = np.empty(6)
    series[0], series[1], series[2] = f, d, bend
    series[3] = 10.0 * g - 4.0 * e + k
    series[4] = -15.0 * g + 7.0 * e - 2.0 * k
    series[5] = 6.0 * g - 3.0 * e + k
    return series


@inner
def _with_slope(angle: Floats, block: Block, lane: int, step: Step, share: float) -> Floats:
    """The series with `share` times the slope over the step added."""
    h, state, after = step.h, block.states[BEFORE], block.states[AFTER]
    f, d = share * np.float64(state[SLOPE, lane]), share * h * np.float64(state[SLOPE_RATE, lane])
    g = share * after[SLOPE, lane] - f - d
    e = share * h * after[SLOPE_RATE, lane] - d
    series = np.empty(6)
    series[0], series[1] = angle[0] + f, angle[1] + d
    series[2], series[3] = angle[2] + 3.0 * g - e, angle[3] + e - 2.0 * g
    series[4], series[5] = angle[4], angle[5]
    return series


@inner
def _value(series: Floats, x: float) -> float:
    value = 0.0
    for k in range(series.size - 1, -1, -1):
        value = value * x + series[k]
    return value


@inner
def _rate(series: Floats, x: float) -> float:
    value = 0.0
    for k in range(series.size - 1, 0, -1):
        value = value * x + k * series[k]
    return value


@inner
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


@inner
def _first_passing(series: Floats, limit: float) -> float:
    """First x in [0, 1] at which |series| reaches the limit; 2 where it does not."""
    if limit == math.inf:
        return 2.0
    bound = 0.0  # x is at most 1
    for k in range(series.size):
        bound += abs(series[k])
    if bound < limit:
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


@inner
def _range(series: Floats, end: float) -> tuple[float, float]:
    """Least and greatest value up to x = end."""
    least, most = math.inf, -math.inf
    before = 0.0
    for part in range(PARTS + 1):
        x = end * part / PARTS
        turn = x
        if part > 0 and _rate(series, before) * _rate(series, x) < 0.0:
            turn = _turn(series, before, x)
        for place in (x, turn):
            value = _value(series, place)
            least, most = min(least, value), max(most, value)
        before = x
    return least, most


@inner
def _leaps(block: Block, lane: int, step: Step) -> bool:
    """Whether y went further than its rates allow, or to no number."""
    state, after = block.states[BEFORE], block.states[AFTER]
    fastest = max(abs(state[RATE, lane]), abs(after[RATE, lane]))
    return not abs(after[Y, lane] - state[Y, lane]) <= FARTHEST * step.h * fastest + 1e-6


@inner
def closer_look(
    block: Block, step: Step, limits: Limits, shares: tuple[float, float, float]
) -> bool:
    """Look at the lanes that may pass a bound in the step, or that strained the scheme.

    `shares` of the slope are added to y for roll and heel, a heel to port counts `shares[2]` times
    itself. Says whether any lane is still under way
    after it.
    """
    record, keep = block.record, block.keep
    under_way = False
    for lane in range(LANES):
        if not math.isnan(record[END, lane]):
            continue
        # Whether a lane is looked at may not depend on its neighbours: its own bounds decide.
        near = not keep[OVER, lane] < 0.0
        if not keep[STRAIN, lane] <= 1.0 or (near and _leaps(block, lane, step)):
            record[TROUBLE, lane] = 1.0
            close(block, lane, step.start)
            continue
        if not near:
            under_way = True
            continue
        if _passes(block, lane, step, limits, shares):
            continue
        under_way = True
    return under_way


@inner
def _passes(
    block: Block, lane: int, step: Step, limits: Limits, shares: tuple[float, float, float]
) -> bool:
    """Note what a lane passes in the step; whether that ends it and it is closed."""
    record, keep = block.record, block.keep
    y = _quintic(block, lane, step)
    roll = _with_slope(y, block, lane, step, shares[0])
    heel = _with_slope(y, block, lane, step, shares[1])
    capsize = min(_first_passing(roll, limits.capsize), _first_passing(heel, limits.capsize))
    past_roll = _first_passing(roll, limits.roll)
    middle, half = flooding_span(limits.flooding, limits.port)
    heel[0] -= middle
    past_flooding = _first_passing(heel, half)
    heel[0] += middle
    closing = capsize
    if record[STOPS, lane] > 0.0 and step.counts:
        closing = min(capsize, past_roll, past_flooding)
    end = min(closing, 1.0)
    if step.counts and keep[ROLL_MAX, lane] < math.inf:  # a search asks for no extremes
        least, most = _range(roll, end)
        keep[ROLL_MAX, lane] = max(keep[ROLL_MAX, lane], most)
        keep[ROLL_MIN, lane] = min(keep[ROLL_MIN, lane], least)
        least, most = _range(heel, end)
        keep[HEEL_MOST, lane] = max(keep[HEEL_MOST, lane], most, -shares[2] * least)
    for place, x in (
        (PASSED_ROLL, past_roll),
        (PASSED_FLOODING, past_flooding),
        (PASSED_CAPSIZE, capsize),
    ):
        if x <= end:
            if not step.counts:
                record[EARLY, lane] = 1.0
            if math.isnan(record[place, lane]) and (step.counts or place == PASSED_CAPSIZE):
                record[place, lane] = step.start + x * step.h
    left = math.isnan(record[PASSED_ROLL, lane])
    keep[ROLL_BOUND, lane] = min(limits.roll if left else math.inf, limits.capsize)
    left = math.isnan(record[PASSED_FLOODING, lane])
    heel_limit = min(limits.flooding, limits.capsize) if left else math.inf
    keep[HEEL_BOUND, lane] = min(heel_limit, limits.capsize * min(1.0, shares[2]))
    if closing > 1.0:
        return False
    record[END_HEEL, lane] = _value(heel, closing)
    record[END_HEEL_RATE, lane] = _rate(heel, closing) / step.h
    if step.counts:
        rate = _rate(roll, closing) / step.h
        add_sample(record, lane, step.since + closing * step.h, _value(roll, closing), rate)
    close(block, lane, step.start + closing * step.h)
    return True


@inner
def add_sample(record: Floats, lane: int, span: float, roll: float, rate: float) -> None:
    """Add `span` [s] up to `roll`, `rate` to a lane's integrals of roll and its square.

    The trapezoidal rule with the rates at both ends, of fourth order: a run that capsizes soon has
    few samples.
    """
    last, last_rate = record[LAST, lane], record[LAST_RATE, lane]
    turned = span * span / 12.0
    record[SUM, lane] += 0.5 * span * (last + roll) + turned * (last_rate - rate)
    record[SQUARES, lane] += 0.5 * span * (last * last + roll * roll) + 2.0 * turned * (
        last * last_rate - roll * rate
    )


@inner
def close(block: Block, lane: int, time: float) -> None:
    """End a lane: keep its numbers, and let nothing look at it again."""
    record, keep = block.record, block.keep
    record[END, lane] = time
    record[LIVE, lane] = 0.0
    record[KEPT_MAX, lane] = keep[ROLL_MAX, lane]
    record[KEPT_MIN, lane] = keep[ROLL_MIN, lane]
    record[KEPT_HEEL, lane] = keep[HEEL_MOST, lane]
    record[KEPT_ENERGY, lane] = keep[ENERGY, lane]
    record[KEPT_UPCROSSINGS, lane] = keep[UPCROSSINGS, lane]
    for row in (ROLL_BOUND, HEEL_BOUND, ROLL_MAX, HEEL_MOST, LEVEL):
        keep[row, lane] = math.inf
    keep[ROLL_MIN, lane] = -math.inf


@inner
def park(block: Block, output: float) -> None:
    """Lay the lanes that have ended upright at rest, once the output at the time `output` [s] is
    written: one within the step of an end, before the end, still belongs to the run."""
    record = block.record
    for lane in range(LANES):
        if math.isnan(record[END, lane]):
            continue
        if output <= record[END, lane]:
            record[KEPT_ENERGY, lane] = block.keep[ENERGY, lane]
        for row in (Y, RATE):
            block.states[0, row, lane] = 0.0
            block.states[1, row, lane] = 0.0
        for row in range(STEPS):
            block.history[row, lane] = 0.0
