"""Between two steps of a solver: outputs, extremes and limit passings from its dense output.

A step is handed over as Chebyshev coefficients of roll and rate, so that every method is watched
by the same compiled code. Passings and extremes are roots, not output points.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from rollsim.compiled import compiled
from rollsim.engines.solution import ROUNDING
from rollsim.motion.moments import wave_slope

if TYPE_CHECKING:
    from rollsim.engines.solution import Limits
    from rollsim.motion.coefficients import Coefficients

Floats = NDArray[np.float64]

ROLL_MAX, ROLL_MIN, PASSED_ROLL, PASSED_FLOODING, PASSED_CAPSIZE, EARLY = range(6)
"""Places in the record that `watch` keeps."""

ROLL, HEEL = 0, 1
"""What is watched: the roll angle φ, or the heel ψ that the levers act on."""

HALVINGS = 60


def new_record() -> Floats:
    """The record before the first step: no extremes, nothing passed."""
    return np.array([-math.inf, math.inf, math.nan, math.nan, math.nan, 0.0])


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


@compiled
def _angle(what: int, derived: int, x: float, step: Floats, span: Floats, c: Coefficients) -> float:
    """φ or ψ (`what`) or its rate (`derived` 1) at x in [-1, 1] of the step over `span`."""
    value = at(step[derived], x)
    if what == HEEL and c.relative:
        time = span[0] + 0.5 * (x + 1.0) * (span[1] - span[0])
        value -= wave_slope(time, c)[derived]
    return value


@compiled
def _turn(what: int, low: float, high: float, step: Floats, span: Floats, c: Coefficients) -> float:
    """Where between low and high the angle turns: the root of its rate, by halving."""
    below = _angle(what, 1, low, step, span, c)
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        if (_angle(what, 1, middle, step, span, c) > 0.0) == (below > 0.0):
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


@compiled
def _passing(
    what: int, limit: float, low: float, high: float, step: Floats, span: Floats, c: Coefficients
) -> float:
    """Where between low (inside) and high (at or past) |angle| reaches the limit, by halving."""
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        if abs(_angle(what, 0, middle, step, span, c)) < limit:
            low = middle
        else:
            high = middle
    return high


@compiled
def _first_passing(
    what: int, limit: float, parts: int, step: Floats, span: Floats, c: Coefficients
) -> float:
    """First x in [-1, 1] at which |angle| reaches the limit; 2 where it does not in this step."""
    if greatest(step[0]) + (c.slope_bound if what == HEEL and c.relative else 0.0) < limit:
        return 2.0
    before = -1.0
    if abs(_angle(what, 0, before, step, span, c)) >= limit:
        return before
    for part in range(parts):
        after = -1.0 + 2.0 * (part + 1) / parts
        if abs(_angle(what, 0, after, step, span, c)) >= limit:
            return _passing(what, limit, before, after, step, span, c)
        rates = _angle(what, 1, before, step, span, c) * _angle(what, 1, after, step, span, c)
        if rates < 0.0:
            turn = _turn(what, before, after, step, span, c)
            if abs(_angle(what, 0, turn, step, span, c)) >= limit:
                return _passing(what, limit, before, turn, step, span, c)
        before = after
    return 2.0


@compiled
def _extremes(
    record: Floats, end: float, parts: int, step: Floats, span: Floats, c: Coefficients
) -> None:
    """Greatest and least roll of the step up to x = end, into the record."""
    bound = greatest(step[0])
    if bound <= record[ROLL_MAX] and -bound >= record[ROLL_MIN]:
        return
    before = -1.0
    for part in range(parts + 1):
        x = min(-1.0 + 2.0 * part / parts, end)
        candidates = (x, x)
        if part > 0 and at(step[1], before) * at(step[1], x) < 0.0:
            candidates = (x, _turn(ROLL, before, x, step, span, c))
        for place in candidates:
            roll = at(step[0], place)
            record[ROLL_MAX] = max(record[ROLL_MAX], roll)
            record[ROLL_MIN] = min(record[ROLL_MIN], roll)
        before = x


@compiled
def watch(
    record: Floats,
    outputs: Floats,
    output_step: float,
    step: Floats,
    span: Floats,
    limits: Limits,
    counts: bool,
    c: Coefficients,
) -> float:
    """Take one step over: write its outputs, extremes and passings; the time it ends at.

    `step` (2, degree + 1) holds the series of roll and rate over `span` (start, end, parts);
    `outputs` (2, n). `counts` is false before settle. The end is cut at a capsize.
    """
    parts = int(span[2])
    length = span[1] - span[0]
    capsize = min(
        _first_passing(ROLL, limits.capsize, parts, step, span, c),
        _first_passing(HEEL, limits.capsize, parts, step, span, c),
    )
    roll = _first_passing(ROLL, limits.roll, parts, step, span, c)
    flooding = _first_passing(HEEL, limits.flooding, parts, step, span, c)
    end = min(capsize, 1.0)
    for place, x in ((PASSED_ROLL, roll), (PASSED_FLOODING, flooding), (PASSED_CAPSIZE, capsize)):
        if x <= end:
            if not counts:
                record[EARLY] = 1.0
            if math.isnan(record[place]) and (counts or place == PASSED_CAPSIZE):
                record[place] = span[0] + 0.5 * (x + 1.0) * length
    if counts:
        _extremes(record, end, parts, step, span, c)
    stop = span[0] + 0.5 * (end + 1.0) * length if end < 1.0 else span[1]
    first = max(math.ceil(span[0] / output_step * (1.0 - 1e-15)), 0)
    for i in range(first, outputs.shape[1]):
        time = i * output_step
        if time > stop * (1.0 + ROUNDING):
            break
        x = min(max(2.0 * (time - span[0]) / length - 1.0, -1.0), 1.0)
        outputs[0, i] = at(step[0], x)
        outputs[1, i] = at(step[1], x)
    return float(stop)
