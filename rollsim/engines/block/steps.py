"""The compiled steps of the block engine: all lanes side by side in every inner loop.

The moments come from `rollsim.motion.moments`: the righting lever by a table that is made from it,
the damping as it stands. Kept flat: a helper that takes arrays would keep a loop from vectorising.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from rollsim.compiled import compiled, vectorised
from rollsim.engines.block.adams import STEPS, coefficients, extrapolation
from rollsim.engines.block.closer import closer_look
from rollsim.engines.block.lanes import (
    ACCELERATION,
    ENERGY,
    EXTRAPOLATED,
    FALL,
    FORESEEN,
    FORESEEN_RATE,
    HEEL,
    HEEL_BOUND,
    HEEL_RATE,
    LANES,
    OVER,
    RATE,
    ROLL,
    ROLL_BOUND,
    ROLL_MAX,
    ROLL_MIN,
    SLOPE,
    SLOPE_RATE,
    Block,
)
from rollsim.engines.solution import Limits
from rollsim.forcing.interpolation import TAPS
from rollsim.motion.coefficients import Coefficients
from rollsim.motion.equation import on_slope
from rollsim.motion.moments import damping, damping_slope, fall

Floats = NDArray[np.float64]

_P = coefficients(0)
P0, P1, P2, P3, P4, P5 = _P[0]
S0, S1, S2, S3, S4, S5 = _P[1]
E0, E1, E2, E3, E4, E5 = extrapolation()
CORRECT_RATE, CORRECT_ROLL = coefficients(1)[:, 0]


class Tables(NamedTuple):
    """Levers on a uniform grid of heels `step` [rad] apart, row `upright` at 0 exactly: a ship at
    rest on the crest of a negative GM must not be pushed off by rounding.

    `righting` (n, 2) GZ [m] and its slope, `potential` (n, 2) of the residual lever [m rad] and
    its slope, both for the loading now; remade when G moves from `kn` (n, 2), KN and slope, and
    `shape` (n, 5): heel, sine, cosine, ∫ KN, ∫ law. `law` (n, 2): the wind's law of heel, slope.
    """

    upright: int
    step: float
    righting: Floats
    potential: Floats
    kn: Floats
    shape: Floats
    law: Floats


def own_tables(tables: Tables) -> Tables:
    """Tables with room of their own for what is remade: blocks may be stepped side by side."""
    righting, potential = np.zeros_like(tables.righting), np.zeros_like(tables.potential)
    return tables._replace(righting=righting, potential=potential)


class Stretch(NamedTuple):
    """Even steps without a corner in them; arrays by step, for the step's end.

    `rows`, `weights` find the sea. `wind` [m] is its lever at heel 0, `steady` that of the mean
    wind, `lever` [m] constant with heel; `height` and `across` place G where it `moves`. `output`
    is the number of the output there or -1, with the potential `low` of the well and its `barrier`
    [m rad]. The first steps are made by Runge-Kutta: `start_rows`, `start_weights` (n, 2, ..) find
    the sea in the middle and at the end of each, `before_row`, `before_weights` at the very start
    of the stretch, `segment` the loading.
    """

    start: float
    step: float
    counts: bool
    moves: bool
    rows: NDArray[np.int64]
    weights: Floats
    wind: Floats
    steady: Floats
    lever: Floats
    height: Floats
    across: Floats
    output: NDArray[np.int64]
    low: Floats
    barrier: Floats
    start_rows: NDArray[np.int64]
    start_weights: Floats
    before_row: int
    before_weights: Floats
    segment: Floats


@compiled
def remake(tables: Tables, stretch: Stretch, n: int) -> None:
    """The tables of righting lever and potential for the loading at the end of step n."""
    g, y = stretch.height[n], stretch.across[n]
    wind, lever = stretch.steady[n], stretch.lever[n]
    for k in range(tables.righting.shape[0]):
        heel, s, t = tables.shape[k, 0], tables.shape[k, 1], tables.shape[k, 2]
        tables.righting[k, 0] = tables.kn[k, 0] - g * s - y * t
        tables.righting[k, 1] = tables.kn[k, 1] - g * t + y * s
        held = tables.shape[k, 3] - g * (1.0 - t) - y * s
        tables.potential[k, 0] = held - wind * tables.shape[k, 4] - lever * heel
        tables.potential[k, 1] = tables.righting[k, 0] - wind * tables.law[k, 0] - lever


@compiled
def complete_state(block: Block, waves: Floats, stretch: Stretch, c: Coefficients) -> None:
    """Complete a state of which only roll and rate are known, at the start of a stretch."""
    state, history = block.states[0], block.history
    for i in range(LANES):
        slope, rate = sea_at(waves, stretch.before_row, stretch.before_weights, i)
        relative = 1.0 if c.relative else 0.0
        state[SLOPE, i], state[SLOPE_RATE, i] = slope, rate
        state[HEEL, i] = state[ROLL, i] - relative * slope
        state[HEEL_RATE, i] = state[RATE, i] - relative * rate
        a = on_slope(state[ROLL, i], state[RATE, i], slope, rate, stretch.start, c, stretch.segment)
        state[ACCELERATION, i] = a
        history[0, i] = a


@compiled
def sea_at(waves: Floats, row: int, weights: Floats, lane: int) -> tuple[float, float]:
    """Slope [rad] and its rate [rad/s] of one lane from the rows from `row` on."""
    slope, rate = 0.0, 0.0
    if waves.shape[0] > 0:
        for tap in range(TAPS):
            slope += weights[tap] * waves[row + tap, lane]
            rate += weights[TAPS + tap] * waves[row + tap, lane]
    return slope, rate


@compiled
def runge_kutta_step(
    block: Block, waves: Floats, stretch: Stretch, n: int, c: Coefficients
) -> None:
    """Step n of a stretch by the classical fourth-order scheme, to the other state."""
    state, after = block.states[n % 2], block.states[(n + 1) % 2]
    h, start, segment = stretch.step, stretch.start + n * stretch.step, stretch.segment
    rows, found = stretch.start_rows[n], stretch.start_weights[n]
    relative = 1.0 if c.relative else 0.0
    middle, end = start + 0.5 * h, start + h
    for i in range(LANES):
        x, v, a0 = state[ROLL, i], state[RATE, i], state[ACCELERATION, i]
        s1, q1 = sea_at(waves, rows[0], found[0], i)
        s2, q2 = sea_at(waves, rows[1], found[1], i)
        v1 = v + 0.5 * h * a0
        a1 = on_slope(x + 0.5 * h * v, v1, s1, q1, middle, c, segment)
        v2 = v + 0.5 * h * a1
        a2 = on_slope(x + 0.5 * h * v1, v2, s1, q1, middle, c, segment)
        v3 = v + h * a2
        a3 = on_slope(x + h * v2, v3, s2, q2, end, c, segment)
        x += h / 6.0 * (v + 2.0 * v1 + 2.0 * v2 + v3)
        v += h / 6.0 * (a0 + 2.0 * a1 + 2.0 * a2 + a3)
        a = on_slope(x, v, s2, q2, end, c, segment)
        after[ROLL, i], after[RATE, i] = x, v
        after[SLOPE, i], after[SLOPE_RATE, i] = s2, q2
        after[HEEL, i], after[HEEL_RATE, i] = x - relative * s2, v - relative * q2
        after[ACCELERATION, i] = a
        block.history[(n + 1) % STEPS, i] = a
        block.work[FALL, i] = fall(x, c)


@vectorised
def adams_steps(
    block: Block,
    waves: Floats,
    tables: Tables,
    stretch: Stretch,
    first: int,
    last: int,
    limits: Limits,
    c: Coefficients,
) -> int:
    """Make steps [first, last) of a stretch; the number of the step after the last one made.

    Predict, evaluate, correct, and let the acceleration follow the correction to first order: the
    accuracy and stability of a second evaluation at the cost of one. Ends early when no lane is
    under way any more.
    """
    states, history, work, record, histories = block
    righting, potential, each = tables.righting, tables.potential, tables.step
    upright = float(tables.upright)
    top = float(righting.shape[0] - 1)
    h = stretch.step
    h2, half = h * h, 0.5 * h
    newest_rate, newest_roll = h * CORRECT_RATE, h2 * CORRECT_ROLL
    per_inertia = 1.0 / c.inertia
    per_each = 1.0 / each
    relative = 1.0 if c.relative else 0.0
    sea = waves.shape[0] > 0
    r0, r1, r2 = (first - 1) % STEPS, (first - 2) % STEPS, (first - 3) % STEPS
    r3, r4, r5 = (first - 4) % STEPS, (first - 5) % STEPS, (first - 6) % STEPS
    for n in range(first, last):
        now, new = n % 2, (n + 1) % 2
        # The oldest acceleration of the ring gives way to the newest.
        r0, r1, r2, r3, r4, r5 = r5, r0, r1, r2, r3, r4
        wind, lever_here = stretch.wind[n], stretch.lever[n]
        if n < stretch.start_rows.shape[0]:
            runge_kutta_step(block, waves, stretch, n, c)
            if stretch.moves:
                remake(tables, stretch, n)
        else:
            if sea:
                row = stretch.rows[n]
                w = stretch.weights[n]
                a0, a1, a2, a3, a4, a5 = w[0], w[1], w[2], w[3], w[4], w[5]
                a6, a7, a8, a9, a10, a11 = w[6], w[7], w[8], w[9], w[10], w[11]
                b0, b1, b2, b3, b4, b5 = w[12], w[13], w[14], w[15], w[16], w[17]
                b6, b7, b8, b9, b10, b11 = w[18], w[19], w[20], w[21], w[22], w[23]
                for i in range(LANES):
                    x0, x1, x2 = waves[row, i], waves[row + 1, i], waves[row + 2, i]
                    x3, x4, x5 = waves[row + 3, i], waves[row + 4, i], waves[row + 5, i]
                    x6, x7, x8 = waves[row + 6, i], waves[row + 7, i], waves[row + 8, i]
                    x9, x10, x11 = waves[row + 9, i], waves[row + 10, i], waves[row + 11, i]
                    states[new, SLOPE, i] = (
                        (a0 * x0 + a1 * x1 + a2 * x2)
                        + (a3 * x3 + a4 * x4 + a5 * x5)
                        + (a6 * x6 + a7 * x7 + a8 * x8)
                        + (a9 * x9 + a10 * x10 + a11 * x11)
                    )
                    states[new, SLOPE_RATE, i] = (
                        (b0 * x0 + b1 * x1 + b2 * x2)
                        + (b3 * x3 + b4 * x4 + b5 * x5)
                        + (b6 * x6 + b7 * x7 + b8 * x8)
                        + (b9 * x9 + b10 * x10 + b11 * x11)
                    )
            for i in range(LANES):
                f0, f1, f2 = history[r0, i], history[r1, i], history[r2, i]
                f3, f4, f5 = history[r3, i], history[r4, i], history[r5, i]
                rate = P0 * f0 + P1 * f1 + P2 * f2 + P3 * f3 + P4 * f4 + P5 * f5
                roll = S0 * f0 + S1 * f1 + S2 * f2 + S3 * f3 + S4 * f4 + S5 * f5
                work[FORESEEN, i] = states[now, ROLL, i] + h * states[now, RATE, i] + h2 * roll
                work[FORESEEN_RATE, i] = states[now, RATE, i] + h * rate
                work[EXTRAPOLATED, i] = E0 * f0 + E1 * f1 + E2 * f2 + E3 * f3 + E4 * f4 + E5 * f5
            if c.heel_law > 0:
                for i in range(LANES):
                    x = work[FORESEEN, i] * per_each + upright
                    x = x if x > 0.0 else 0.0
                    x = x if x < top else top
                    k = int(x + 0.5)
                    work[FALL, i] = tables.law[k, 0] + (x - k) * each * tables.law[k, 1]
            if stretch.moves:
                remake(tables, stretch, n)
            for i in range(LANES):
                roll, rate = work[FORESEEN, i], work[FORESEEN_RATE, i]
                heel = roll - relative * states[new, SLOPE, i]
                through = rate - relative * states[new, SLOPE_RATE, i]
                x = heel * per_each + upright
                x = x if x > 0.0 else 0.0
                x = x if x < top else top
                k = int(x + 0.5)
                stiffness = righting[k, 1]
                lever = lever_here + wind * work[FALL, i] + c.absolute_gm * states[new, SLOPE, i]
                lever -= righting[k, 0] + (x - k) * each * stiffness
                a = lever * per_inertia - damping(through, c)
                # The corrector differs from the predictor by its newest weight times what the
                # acceleration differs from the extrapolated one.
                miss = a - work[EXTRAPOLATED, i]
                shift, turn = newest_roll * miss, newest_rate * miss
                a -= stiffness * per_inertia * shift + damping_slope(through, c) * turn
                states[new, ROLL, i] = roll + shift
                states[new, RATE, i] = rate + turn
                states[new, HEEL, i] = heel + shift
                states[new, HEEL_RATE, i] = through + turn
                states[new, ACCELERATION, i] = a
                history[r5, i] = a
        # Within a step an angle reaches no further than half a step at both ends' rates together:
        # so few lanes come near a limit, or past their greatest roll so far, that only a count
        # of them is made here.
        near, further = 0, 0
        for i in range(LANES):
            y = states[new, ROLL, i]
            reach = half * (abs(states[now, RATE, i]) + abs(states[new, RATE, i]))
            wide = half * (abs(states[now, HEEL_RATE, i]) + abs(states[new, HEEL_RATE, i]))
            wide += abs(states[new, HEEL, i]) - record[HEEL_BOUND, i]
            over = abs(y) + reach - record[ROLL_BOUND, i]
            over = over if over > wide else wide
            work[OVER, i] = over
            beyond, below = y + reach - record[ROLL_MAX, i], record[ROLL_MIN, i] + reach - y
            beyond = beyond if beyond > below else below
            near += 1 if over >= 0.0 else 0
            further += 1 if beyond > 0.0 else 0
        if further > 0:
            for i in range(LANES):
                x, y = states[now, ROLL, i], states[new, ROLL, i]
                p, q = states[now, RATE, i], states[new, RATE, i]
                # The roll turns, if it does, where the rate's chord is nought; the cubic there is
                # off by (ωh)⁴/384 of the swing.
                u = p / (p - q) if p * q < 0.0 else 1.0
                v = 1.0 - u
                left, right = x * (1.0 + 2.0 * u) + h * p * u, y * (1.0 + 2.0 * v) - h * q * v
                peak = v * v * left + u * u * right
                # Its own reach decides for a lane: its bits must not depend on its neighbours.
                reach = half * (abs(p) + abs(q))
                own = work[OVER, i] < 0.0
                high = max(y, peak) if own & (y + reach > record[ROLL_MAX, i]) else -math.inf
                deep = min(y, peak) if own & (y - reach < record[ROLL_MIN, i]) else math.inf
                record[ROLL_MAX, i] = max(record[ROLL_MAX, i], high)
                record[ROLL_MIN, i] = min(record[ROLL_MIN, i], deep)
        if near > 0:
            start = stretch.start + n * h
            if not closer_look(block, now, start, h, stretch.counts, limits, relative):
                return n + 1
        output = stretch.output[n]
        if output >= 0:
            if stretch.counts:
                per_barrier = 1.0 / stretch.barrier[n]
                for i in range(LANES):
                    x = states[new, HEEL, i] * per_each + upright
                    x = x if x > 0.0 else 0.0
                    x = x if x < top else top
                    k = int(x + 0.5)
                    energy = potential[k, 0] + (x - k) * each * potential[k, 1]
                    energy += (
                        0.5 * c.inertia * states[new, HEEL_RATE, i] * states[new, HEEL_RATE, i]
                    )
                    ratio = (energy - stretch.low[n]) * per_barrier
                    record[ENERGY, i] = max(record[ENERGY, i], ratio)
            if histories.shape[1] > 0:
                for i in range(LANES):
                    histories[0, output, i] = states[new, ROLL, i]
                    histories[1, output, i] = states[new, RATE, i]
                    histories[2, output, i] = states[new, SLOPE, i]
                    histories[3, output, i] = wind * work[FALL, i] + lever_here
    return last


@compiled
def settle_state(block: Block, made: int) -> None:
    """Put the state after `made` steps of a stretch where the next stretch begins."""
    if made % 2 == 1:
        block.states[0] = block.states[1]
