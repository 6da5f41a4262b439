"""The compiled steps of the block engine: all lanes side by side in every inner loop.

The moments come from `rollsim.motion.moments`: the righting lever by a table that is made from it,
the damping as it stands. Kept flat: a helper that takes arrays would keep a loop from vectorising.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from rollsim.compiled import compiled, vectorised
from rollsim.integrate.adams import STEPS, coefficients, extrapolation
from rollsim.integrate.closer import closer_look
from rollsim.integrate.lanes import (
    ACCELERATION,
    ENERGY,
    HEEL,
    HEEL_BOUND,
    HEEL_RATE,
    LANES,
    RATE,
    ROLL,
    ROLL_BOUND,
    ROLL_MAX,
    ROLL_MIN,
    SLOPE,
    SLOPE_RATE,
    Block,
)
from rollsim.integrate.solution import Limits
from rollsim.motion.coefficients import Coefficients
from rollsim.motion.equation import lever_on, on_slope
from rollsim.motion.interpolation import TAPS
from rollsim.motion.moments import damping, damping_slope

Floats = NDArray[np.float64]

_P = coefficients(0)
P0, P1, P2, P3, P4, P5 = _P[0]
S0, S1, S2, S3, S4, S5 = _P[1]
E0, E1, E2, E3, E4, E5 = extrapolation()
CORRECT_RATE, CORRECT_ROLL = coefficients(1)[:, 0]


SUBSTEPS = 2
"""Runge-Kutta steps in each of the steps that start a stretch."""


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


class Stretch(NamedTuple):
    """Even steps without a corner in them; arrays by step, for the step's end.

    `rows`, `weights` find the sea. `wind` [m] is its lever at heel 0, `steady` that of the mean
    wind, `lever` [m] constant with heel; `height` and `across` place G where it `moves`. `output`
    is the number of the output there or -1, with the potential `low` of the well and its `barrier`
    [m rad]. The first steps are made by Runge-Kutta: `start_rows`, `start_weights` (n, 2 SUBSTEPS +
    1, ..) find the sea at its stages, `segment` the loading.
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
        slope, rate = sea_at(waves, stretch.start_rows[0, 0], stretch.start_weights[0, 0], i)
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
    """Step n of a stretch by SUBSTEPS of the classical fourth-order scheme, to the other state."""
    state, after = block.states[n % 2], block.states[(n + 1) % 2]
    d = stretch.step / SUBSTEPS
    for i in range(LANES):
        x, v = state[ROLL, i], state[RATE, i]
        for k in range(SUBSTEPS):
            t = stretch.start + n * stretch.step + k * d
            rows, w = stretch.start_rows[n], stretch.start_weights[n]
            s0, q0 = sea_at(waves, rows[2 * k], w[2 * k], i)
            s1, q1 = sea_at(waves, rows[2 * k + 1], w[2 * k + 1], i)
            s2, q2 = sea_at(waves, rows[2 * k + 2], w[2 * k + 2], i)
            a0 = on_slope(x, v, s0, q0, t, c, stretch.segment)
            v1 = v + 0.5 * d * a0
            a1 = on_slope(x + 0.5 * d * v, v1, s1, q1, t + 0.5 * d, c, stretch.segment)
            v2 = v + 0.5 * d * a1
            a2 = on_slope(x + 0.5 * d * v1, v2, s1, q1, t + 0.5 * d, c, stretch.segment)
            v3 = v + d * a2
            a3 = on_slope(x + d * v2, v3, s2, q2, t + d, c, stretch.segment)
            x += d / 6.0 * (v + 2.0 * v1 + 2.0 * v2 + v3)
            v += d / 6.0 * (a0 + 2.0 * a1 + 2.0 * a2 + a3)
        relative = 1.0 if c.relative else 0.0
        end = stretch.start + (n + 1) * stretch.step
        after[ROLL, i], after[RATE, i] = x, v
        after[SLOPE, i], after[SLOPE_RATE, i] = s2, q2
        after[HEEL, i], after[HEEL_RATE, i] = x - relative * s2, v - relative * q2
        a = on_slope(x, v, s2, q2, end, c, stretch.segment)
        after[ACCELERATION, i] = a
        block.history[(n + 1) % STEPS, i] = a
        block.work[2, i] = lever_on(x, end, c, stretch.segment)


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
    states, history, work, record, flags, histories = block
    righting, potential, each = tables.righting, tables.potential, tables.step
    upright = float(tables.upright)
    top = float(righting.shape[0] - 1)
    h = stretch.step
    h2 = h * h
    newest_rate, newest_roll = h * CORRECT_RATE, h2 * CORRECT_ROLL
    per_inertia = 1.0 / c.inertia
    per_each = 1.0 / each
    relative = 1.0 if c.relative else 0.0
    sea = waves.shape[0] > 0
    for n in range(first, last):
        now, new = n % 2, (n + 1) % 2
        if n < stretch.start_rows.shape[0]:
            runge_kutta_step(block, waves, stretch, n, c)
            if stretch.moves:
                remake(tables, stretch, n)
        else:
            r0, r1, r2 = n % STEPS, (n - 1) % STEPS, (n - 2) % STEPS
            r3, r4, r5 = (n - 3) % STEPS, (n - 4) % STEPS, (n - 5) % STEPS
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
                work[0, i] = states[now, ROLL, i] + h * states[now, RATE, i] + h2 * roll
                work[1, i] = states[now, RATE, i] + h * rate
                work[3, i] = E0 * f0 + E1 * f1 + E2 * f2 + E3 * f3 + E4 * f4 + E5 * f5
            if c.heel_law == 0:
                for i in range(LANES):
                    work[2, i] = stretch.wind[n] + stretch.lever[n]
            else:
                for i in range(LANES):
                    x = work[0, i] * per_each + upright
                    x = x if x > 0.0 else 0.0
                    x = x if x < top else top
                    k = int(x + 0.5)
                    law = tables.law[k, 0] + (x - k) * each * tables.law[k, 1]
                    work[2, i] = stretch.wind[n] * law + stretch.lever[n]
            if stretch.moves:
                remake(tables, stretch, n)
            for i in range(LANES):
                roll, rate = work[0, i], work[1, i]
                heel = roll - relative * states[new, SLOPE, i]
                through = rate - relative * states[new, SLOPE_RATE, i]
                x = heel * per_each + upright
                x = x if x > 0.0 else 0.0
                x = x if x < top else top
                k = int(x + 0.5)
                stiffness = righting[k, 1]
                lever = work[2, i] + c.absolute_gm * states[new, SLOPE, i]
                lever -= righting[k, 0] + (x - k) * each * stiffness
                a = lever * per_inertia - damping(through, c)
                # The corrector differs from the predictor by its newest weight times what the
                # acceleration differs from the extrapolated one.
                miss = a - work[3, i]
                shift, turn = newest_roll * miss, newest_rate * miss
                a -= stiffness * per_inertia * shift + damping_slope(through, c) * turn
                states[new, ROLL, i] = roll + shift
                states[new, RATE, i] = rate + turn
                states[new, HEEL, i] = heel + shift
                states[new, HEEL_RATE, i] = through + turn
                states[new, ACCELERATION, i] = a
                history[r5, i] = a
        flagged = 0
        for i in range(LANES):
            x, y, p, q = (
                states[now, ROLL, i],
                states[new, ROLL, i],
                states[now, RATE, i],
                states[new, RATE, i],
            )
            # Between the ends the roll turns, if it does, where the rate's chord is nought; the
            # cubic there is off by (ωh)⁴/384 of the swing.
            u = p / (p - q) if p * q < 0.0 else 1.0
            v = 1.0 - u
            left, right = x * (1.0 + 2.0 * u) + h * p * u, y * (1.0 + 2.0 * v) - h * q * v
            peak = v * v * left + u * u * right
            high = max(y, peak)
            deep = min(y, peak)
            near = abs(y) + 0.5 * h * (abs(p) + abs(q)) >= record[ROLL_BOUND, i]
            p, q = states[now, HEEL_RATE, i], states[new, HEEL_RATE, i]
            wide = abs(states[new, HEEL, i]) + 0.5 * h * (abs(p) + abs(q))
            flag = 1 if near | (wide >= record[HEEL_BOUND, i]) else 0
            flags[i] = flag
            flagged += flag
            work[0, i] = high
            work[1, i] = deep
        if flagged > 0:
            start = stretch.start + n * h
            if not closer_look(block, now, start, h, stretch.counts, limits, relative):
                return n + 1
        elif stretch.counts:
            for i in range(LANES):
                record[ROLL_MAX, i] = max(record[ROLL_MAX, i], work[0, i])
                record[ROLL_MIN, i] = min(record[ROLL_MIN, i], work[1, i])
        output = stretch.output[n]
        if output >= 0:
            if stretch.counts:
                per_barrier = 1.0 / stretch.barrier[n]
                for i in range(LANES):
                    x = states[new, HEEL, i] * per_each + upright
                    x = x if x > 0.0 else 0.0
                    x = x if x < top else top
                    k = int(x + 0.5)
                    d = (x - k) * each
                    energy = potential[k, 0] + d * (potential[k, 1] + 0.5 * d * righting[k, 1])
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
                    histories[3, output, i] = work[2, i]
    return last


@compiled
def settle_state(block: Block, made: int) -> None:
    """Put the state after `made` steps of a stretch where the next stretch begins."""
    if made % 2 == 1:
        block.states[0] = block.states[1]
