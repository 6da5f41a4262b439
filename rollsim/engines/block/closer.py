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

from rollsim.compiled import compiled, inner
from rollsim.engines.block.adams import STEPS
from rollsim.engines.block.lanes import (
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
    NEW_RATE,
    NEW_SLOPE,
    NEW_SLOPE_RATE,
    NEW_Y,
    OLD_RATE,
    OLD_SLOPE,
    OLD_SLOPE_RATE,
    OLD_Y,
    OVER,
    PASSED_CAPSIZE,
    PASSED_FLOODING,
    PASSED_ROLL,
    ROLL_BOUND,
    ROLL_MAX,
    ROLL_MIN,
    SQUARES,
    STOPS,
    STRAIN,
    SUM,
    TROUBLE,
    UPCROSSINGS,
    Block,
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
def _quintic(flat: Block, lane: int, step: Step) -> Floats:
    """Coefficients in x from 0 to 1 of y over the step."""
    h, states = step.h, flat.states
    bend = 0.5 * h * h * flat.history[step.n % STEPS, lane]
    bend_after = 0.5 * h * h * flat.history[(step.n + 1) % STEPS, lane]
    f, d = np.float64(states[OLD_Y + lane]), h * states[OLD_RATE + lane]
    g = states[NEW_Y + lane] - f - d - bend
    e = h * states[NEW_RATE + lane] - d - 2.0 * bend
    k = bend_after - bend
    series = np.empty(6)
    series[0], series[1], series[2] = f, d, bend
    series[3] = 10.0 * g - 4.0 * e + k
    series[4] = -15.0 * g + 7.0 * e - 2.0 * k
    series[5] = 6.0 * g - 3.0 * e + k
    return series


@inner
def _with_slope(angle: Floats, flat: Block, lane: int, step: Step, share: float) -> Floats:
    """The series with `share` times the slope over the step added."""
    h, states = step.h, flat.states
    f, d = (
        share * np.float64(states[OLD_SLOPE + lane]),
        share * h * np.float64(states[OLD_SLOPE_RATE + lane]),
    )
    g = share * states[NEW_SLOPE + lane] - f - d
    e = share * h * states[NEW_SLOPE_RATE + lane] - d
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
def _leaps(flat: Block, lane: int, step: Step) -> bool:
    """Whether y went further than its rates allow, or to no number."""
    states = flat.states
    fastest = max(abs(states[OLD_RATE + lane]), abs(states[NEW_RATE + lane]))
    return (
        not abs(states[NEW_Y + lane] - states[OLD_Y + lane]) <= FARTHEST * step.h * fastest + 1e-6
    )


@inner
def closer_look(
    flat: Block, step: Step, limits: Limits, shares: tuple[float, float, float]
) -> bool:
    """Look at the lanes that may pass a bound in the step, or that strained the scheme.

    `shares` of the slope are added to y for roll and heel, a heel to port counts `shares[2]` times
    itself. Says whether any lane is still under way
    after it.
    """
    record, keep = flat.record, flat.keep
    under_way = False
    for lane in range(LANES):
        if not math.isnan(record[END * LANES + lane]):
            continue
        # Whether a lane is looked at may not depend on its neighbours: its own bounds decide.
        near = not keep[OVER * LANES + lane] < 0.0
        if not keep[STRAIN * LANES + lane] <= 1.0 or (near and _leaps(flat, lane, step)):
            record[TROUBLE * LANES + lane] = 1.0
            close(flat, lane, step.start)
            continue
        if not near:
            under_way = True
            continue
        if _passes(flat, lane, step, limits, shares):
            continue
        under_way = True
    return under_way


@inner
def _passes(
    flat: Block, lane: int, step: Step, limits: Limits, shares: tuple[float, float, float]
) -> bool:
    """Note what a lane passes in the step; whether that ends it and it is closed."""
    record, keep = flat.record, flat.keep
    y = _quintic(flat, lane, step)
    roll = _with_slope(y, flat, lane, step, shares[0])
    heel = _with_slope(y, flat, lane, step, shares[1])
    capsize = min(_first_passing(roll, limits.capsize), _first_passing(heel, limits.capsize))
    past_roll = _first_passing(roll, limits.roll)
    middle, half = flooding_span(limits.flooding, limits.port)
    heel[0] -= middle
    past_flooding = _first_passing(heel, half)
    heel[0] += middle
    closing = capsize
    if record[STOPS * LANES + lane] > 0.0 and step.counts:
        closing = min(capsize, min(past_roll, past_flooding))
    end = min(closing, 1.0)
    if step.counts and keep[ROLL_MAX * LANES + lane] < math.inf:  # a search asks for no extremes
        least, most = _range(roll, end)
        keep[ROLL_MAX * LANES + lane] = max(np.float64(keep[ROLL_MAX * LANES + lane]), most)
        keep[ROLL_MIN * LANES + lane] = min(np.float64(keep[ROLL_MIN * LANES + lane]), least)
        least, most = _range(heel, end)
        farthest = max(most, -shares[2] * least)
        keep[HEEL_MOST * LANES + lane] = max(np.float64(keep[HEEL_MOST * LANES + lane]), farthest)
    for place, x in (
        (PASSED_ROLL, past_roll),
        (PASSED_FLOODING, past_flooding),
        (PASSED_CAPSIZE, capsize),
    ):
        if x <= end:
            if not step.counts:
                record[EARLY * LANES + lane] = 1.0
            if math.isnan(record[place * LANES + lane]) and (
                step.counts or place == PASSED_CAPSIZE
            ):
                record[place * LANES + lane] = step.start + x * step.h
    left = math.isnan(record[PASSED_ROLL * LANES + lane])
    keep[ROLL_BOUND * LANES + lane] = min(limits.roll if left else math.inf, limits.capsize)
    left = math.isnan(record[PASSED_FLOODING * LANES + lane])
    heel_limit = min(limits.flooding, limits.capsize) if left else math.inf
    keep[HEEL_BOUND * LANES + lane] = min(heel_limit, limits.capsize * min(1.0, shares[2]))
    if closing > 1.0:
        return False
    record[END_HEEL * LANES + lane] = _value(heel, closing)
    record[END_HEEL_RATE * LANES + lane] = _rate(heel, closing) / step.h
    if step.counts:
        rate = _rate(roll, closing) / step.h
        add_sample(record, lane, step.since + closing * step.h, _value(roll, closing), rate)
    close(flat, lane, step.start + closing * step.h)
    return True


@inner
def add_sample(record: Floats, lane: int, span: float, roll: float, rate: float) -> None:
    """Add `span` [s] up to `roll`, `rate` to a lane's integrals of roll and its square.

    The trapezoidal rule with the rates at both ends, of fourth order: a run that capsizes soon has
    few samples.
    """
    last, last_rate = record[LAST * LANES + lane], record[LAST_RATE * LANES + lane]
    turned = span * span / 12.0
    record[SUM * LANES + lane] += 0.5 * span * (last + roll) + turned * (last_rate - rate)
    record[SQUARES * LANES + lane] += 0.5 * span * (last * last + roll * roll) + 2.0 * turned * (
        last * last_rate - roll * rate
    )


@compiled
def close(flat: Block, lane: int, time: float) -> None:
    """End a lane: keep its numbers, and let nothing look at it again."""
    record, keep = flat.record, flat.keep
    record[END * LANES + lane] = time
    record[LIVE * LANES + lane] = 0.0
    record[KEPT_MAX * LANES + lane] = keep[ROLL_MAX * LANES + lane]
    record[KEPT_MIN * LANES + lane] = keep[ROLL_MIN * LANES + lane]
    record[KEPT_HEEL * LANES + lane] = keep[HEEL_MOST * LANES + lane]
    record[KEPT_ENERGY * LANES + lane] = keep[ENERGY * LANES + lane]
    record[KEPT_UPCROSSINGS * LANES + lane] = keep[UPCROSSINGS * LANES + lane]
    for row in (ROLL_BOUND, HEEL_BOUND, ROLL_MAX, HEEL_MOST, LEVEL):
        keep[row * LANES + lane] = math.inf
    keep[ROLL_MIN * LANES + lane] = -math.inf


@inner
def park(flat: Block, output: float) -> None:
    """Lay the lanes that have ended upright at rest, once the output at the time `output` [s] is
    written: one within the step of an end, before the end, still belongs to the run."""
    record = flat.record
    for lane in range(LANES):
        if math.isnan(record[END * LANES + lane]):
            continue
        if output <= record[END * LANES + lane]:
            record[KEPT_ENERGY * LANES + lane] = flat.keep[ENERGY * LANES + lane]
        for row in (OLD_Y, OLD_RATE, NEW_Y, NEW_RATE):
            flat.states[row + lane] = 0.0
        for row in range(STEPS):
            flat.history[row, lane] = 0.0
