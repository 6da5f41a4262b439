"""Between two steps of a solver: outputs, extremes, passings and averages from its dense output.

A step is handed over as Chebyshev coefficients of y and y′, so that every method is watched by the
same compiled code. Passings and extremes are roots, not output points.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from rollsim.compiled import compiled
from rollsim.engines import sides
from rollsim.engines.limits import AT_REST, ROUNDING, flooding_span
from rollsim.engines.sides import change_side
from rollsim.motion.equation import water_at
from rollsim.motion.timeline import wave_factor

if TYPE_CHECKING:
    from rollsim.engines.limits import Limits
    from rollsim.motion.coefficients import Coefficients

Floats = NDArray[np.float64]

(
    ROLL_MAX, ROLL_MIN, HEEL_MOST, PASSED_ROLL, PASSED_FLOODING, PASSED_CAPSIZE, EARLY,
    SUM, SQUARES, UPCROSSINGS, SIDES,
) = range(11)  # fmt: skip
"""Places in the record that `watch` keeps; from SIDES on those of `engines.sides`."""

ROLL, HEEL = 0, 1
"""What is watched: the roll angle φ, or the heel ψ that the levers act on."""

HALVINGS = 60

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(5)


class Watched(NamedTuple):
    """What a run is watched for: limits [rad], the static heel whose upcrossings are counted, the
    bottoms of the wells [rad], in order, what a heel to port counts for, and whether it stops at
    the first limit it passes."""

    limits: Limits
    level: float
    bottoms: Floats
    weight: float = 1.0
    stops: bool = False


def new_record(well: int, settle: float) -> Floats:
    """The record before the first step: no extremes, nothing passed, in the well of that number;
    from `settle` [s] on it counts."""
    record = np.zeros(SIDES + sides.ROWS)
    record[ROLL_MAX], record[ROLL_MIN] = -math.inf, math.inf
    record[PASSED_ROLL : PASSED_CAPSIZE + 1] = math.nan
    record[SIDES + sides.WELL], record[SIDES + sides.ENTERED] = well, settle
    return record


@compiled
def at(series: Floats, x: float) -> float:
    """Value of a Chebyshev `series` at x in [-1, 1] (Clenshaw)."""
    b1 = 0.0
    b2 = 0.0
    for k in range(series.size - 1, 0, -1):
        b1, b2 = series[k] + 2.0 * x * b1 - b2, b1
    value: float = series[0] + x * b1 - b2
    return value


@compiled
def greatest(series: Floats) -> float:
    """A bound on |series| over [-1, 1]: no Chebyshev polynomial goes beyond 1 there."""
    bound = 0.0
    for k in range(series.size):
        bound += abs(series[k])
    return bound


class Step(NamedTuple):
    """One step: `series` (2, degree + 1) of y and y′, its `start` and `length` [s], into how many
    `parts` it is cut to be looked at, and its segment."""

    series: Floats
    start: float
    length: float
    parts: int
    segment: Floats


@compiled
def _share(what: int, c: Coefficients) -> float:
    """How much of the slope is added to y: φ = y + s α, ψ = y − (1 − s) α."""
    return c.added_share if what == ROLL or not c.relative else c.added_share - 1.0


@compiled
def _angle(what: int, derived: int, x: float, step: Step, c: Coefficients) -> float:
    """φ or ψ (`what`) or its rate (`derived` 1) at x in [-1, 1] of the step."""
    value = at(step.series[derived], x)
    share = _share(what, c)
    if share != 0.0:
        time = step.start + 0.5 * (x + 1.0) * step.length
        value += share * water_at(time, c, step.segment)[derived]
    return value


@compiled
def _bound(what: int, step: Step, c: Coefficients) -> float:
    """A bound on |φ| or |ψ| over the step; the waves may be higher than at the start of the run."""
    height, growth = wave_factor(step.start, step.segment)
    highest = max(abs(height), abs(height + growth * step.length))
    return greatest(step.series[0]) + abs(_share(what, c)) * c.slope_bound * highest


@compiled
def _turn(what: int, low: float, high: float, step: Step, c: Coefficients) -> float:
    """Where between low and high the angle turns: the root of its rate, by halving."""
    rising = _angle(what, 1, low, step, c) > 0.0
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        if (_angle(what, 1, middle, step, c) > 0.0) == rising:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


@compiled
def _passing(
    what: int,
    limit: float,
    low: float,
    high: float,
    step: Step,
    c: Coefficients,
    middle_of: float,
) -> float:
    """Where between low (inside) and high (at or past) |angle| reaches the limit, by halving."""
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        if abs(_angle(what, 0, middle, step, c) - middle_of) < limit:
            low = middle
        else:
            high = middle
    return high


@compiled
def _first_passing(
    what: int, limit: float, step: Step, c: Coefficients, middle: float = 0.0
) -> float:
    """First x in [-1, 1] at which |angle − middle| reaches the limit; 2 where it does not."""
    if _bound(what, step, c) + abs(middle) < limit * (1.0 - ROUNDING):
        return 2.0
    before = -1.0
    # A start exactly at the limit may come back from the series a rounding error inside it.
    if abs(_angle(what, 0, before, step, c) - middle) >= limit * (1.0 - ROUNDING):
        return before
    for part in range(step.parts):
        after = -1.0 + 2.0 * (part + 1) / step.parts
        if abs(_angle(what, 0, after, step, c) - middle) >= limit:
            return _passing(what, limit, before, after, step, c, middle)
        if _angle(what, 1, before, step, c) * _angle(what, 1, after, step, c) < 0.0:
            turn = _turn(what, before, after, step, c)
            if abs(_angle(what, 0, turn, step, c) - middle) >= limit:
                return _passing(what, limit, before, turn, step, c, middle)
        before = after
    return 2.0


@compiled
def _extremes(
    record: Floats, what: int, end: float, step: Step, c: Coefficients, weight: float
) -> None:
    """Greatest and least roll, or greatest |heel|, of the step up to x = end, into the record.

    A heel to port counts `weight` times itself.
    """
    bound = _bound(what, step, c)
    if what == HEEL and bound * max(1.0, weight) <= record[HEEL_MOST]:
        return
    if what == ROLL and bound <= record[ROLL_MAX] and -bound >= record[ROLL_MIN]:
        return
    before = -1.0
    for part in range(step.parts + 1):
        x = min(-1.0 + 2.0 * part / step.parts, end)
        turn = x
        if part > 0 and _angle(what, 1, before, step, c) * _angle(what, 1, x, step, c) < 0.0:
            turn = _turn(what, before, x, step, c)
        for place in (x, turn):
            angle = _angle(what, 0, place, step, c)
            if what == ROLL:
                record[ROLL_MAX] = max(record[ROLL_MAX], angle)
                record[ROLL_MIN] = min(record[ROLL_MIN], angle)
            else:
                record[HEEL_MOST] = max(record[HEEL_MOST], angle, -weight * angle)
        before = x


@compiled
def _averages(record: Floats, end: float, step: Step, watched: Watched, c: Coefficients) -> None:
    """Integrals of φ and φ² up to x = end by Gauss's rule part by part, and upward crossings."""
    left = -1.0
    low = _angle(ROLL, 0, left, step, c)
    for part in range(step.parts):
        right = min(-1.0 + 2.0 * (part + 1) / step.parts, end)
        if right <= left:
            break
        half = 0.5 * (right - left)
        for k in range(_NODES.size):
            roll = _angle(ROLL, 0, left + half * (1.0 + _NODES[k]), step, c)
            weight = 0.5 * step.length * half * _WEIGHTS[k]
            record[SUM] += weight * roll
            record[SQUARES] += weight * roll * roll
        high = _angle(ROLL, 0, right, step, c)
        if low < watched.level - AT_REST and high >= watched.level:
            record[UPCROSSINGS] += 1.0
        left, low = right, high


@compiled
def _sides(
    record: Floats, end: float, counts: bool, step: Step, bottoms: Floats, c: Coefficients
) -> None:
    """Which well's bottom was reached last, and when it was another's, as a root."""
    before = -1.0
    for part in range(step.parts):
        x = min(-1.0 + 2.0 * (part + 1) / step.parts, end)
        heel = _angle(HEEL, 0, x, step, c)
        last = int(record[SIDES])
        well = last
        while well + 1 < bottoms.size and heel >= bottoms[well + 1]:
            well += 1
        while well > 0 and heel <= bottoms[well - 1]:
            well -= 1
        if well != last and not counts:
            record[SIDES] = well
        elif well != last:
            # Far behind the bottom, as a limit about it: the bottom is where she comes out.
            behind = bottoms[well] - math.copysign(math.tau, well - last)
            reached = _passing(HEEL, math.tau, before, x, step, c, behind)
            time = step.start + 0.5 * (reached + 1.0) * step.length
            change_side(record[SIDES:], well, time, bottoms.size)
        before = x


@compiled
def watch(
    record: Floats,
    outputs: Floats,
    output_step: float,
    step: Step,
    watched: Watched,
    counts: bool,
    c: Coefficients,
) -> float:
    """Take one step over: its outputs, extremes, passings, averages; the time it ends at [s].

    `outputs` (2, n) are y and y′. `counts` is false before settle. The end is cut at what ends the
    run.
    """
    limits = watched.limits
    capsize = min(
        _first_passing(ROLL, limits.capsize, step, c), _first_passing(HEEL, limits.capsize, step, c)
    )
    roll = _first_passing(ROLL, limits.roll, step, c)
    middle, half = flooding_span(limits.flooding, limits.port)
    flooding = _first_passing(HEEL, half, step, c, middle)
    end = min(capsize, 1.0)
    if watched.stops and counts:
        end = min(end, roll, flooding)
    for place, x in ((PASSED_ROLL, roll), (PASSED_FLOODING, flooding), (PASSED_CAPSIZE, capsize)):
        if x <= end:
            if not counts:
                record[EARLY] = 1.0
            if math.isnan(record[place]) and (counts or place == PASSED_CAPSIZE):
                record[place] = step.start + 0.5 * (x + 1.0) * step.length
    if counts:
        _extremes(record, ROLL, end, step, c, 1.0)
        _extremes(record, HEEL, end, step, c, watched.weight)
        _averages(record, end, step, watched, c)
    if watched.bottoms.size > 1:
        _sides(record, end, counts, step, watched.bottoms, c)
    stop = step.start + (0.5 * (end + 1.0) if end < 1.0 else 1.0) * step.length
    first = max(math.ceil(step.start / output_step * (1.0 - 1e-15)), 0)
    for i in range(first, outputs.shape[1]):
        time = i * output_step
        if time > stop * (1.0 + ROUNDING):
            break
        x = min(max(2.0 * (time - step.start) / step.length - 1.0, -1.0), 1.0)
        outputs[0, i] = at(step.series[0], x)
        outputs[1, i] = at(step.series[1], x)
    return float(stop)
