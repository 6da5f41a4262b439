"""The compiled steps of a block: a lane loop each for stepping, extremes, averages and outputs.

The sources are flat on purpose: helpers that take arrays would leave reference counts in the lane
loops and keep LLVM from vectorising them. What a case lacks (sea, elevation, turbulence, a law of
heel) is None, and numba leaves its code out.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from rollsim.compiled import compiled, vectorised
from rollsim.engines.block.adams import STEPS, Scheme
from rollsim.engines.block.closer import Step, closer_look, park
from rollsim.engines.block.heart import Ship, foresee, kink, row_of, settle
from rollsim.engines.block.lanes import (
    AHEAD,
    ENERGY,
    GUST,
    HEEL_BOUND,
    HEEL_MOST,
    LANES,
    LAST,
    LAST_RATE,
    LEVEL,
    LEVER,
    LEVER_SLOPE,
    LIVE,
    OVER,
    RATE,
    ROLL_BOUND,
    ROLL_MAX,
    ROLL_MIN,
    ROWS,
    SIDE_CHANGES,
    SLOPE,
    SLOPE_RATE,
    SQUARES,
    STRAIN,
    SUM,
    UPCROSSINGS,
    WELL,
    WIND_FACTOR,
    WIND_SQUARE,
    ZETA,
    Block,
    Y,
)
from rollsim.engines.block.tables import Tables, remake_potential, remake_righting
from rollsim.engines.limits import Limits
from rollsim.forcing.interpolation import TAPS
from rollsim.motion.coefficients import Coefficients
from rollsim.motion.equation import on_water
from rollsim.motion.moments import wind_lever
from rollsim.motion.timeline import loading

Floats = NDArray[np.float64]
Reals = NDArray[Any]
Whole = NDArray[np.int64]


class Stretch(NamedTuple):
    """Even steps of `step` [s] without a corner in them; arrays by step, for the step's end.

    `rows`, `weights` (n, 2 TAPS) find the sea, `gust_rows`, `gust_weights` (n, TAPS) the
    turbulence, `noted_rows`, `noted_weights` that at the outputs from `first_output` on. `speed`
    [m/s] is the wind with its gusts, `press` the lever per V² there, `steady`
    the lever of the mean wind at heel 0, `lever` [m] constant with heel, `height` (virtual) and
    `across` place G where it `moves`, `filling` is the coordinate of tanks that fill; these hold
    one value more, the last, for the stretch's start. `output` is the number of the output within
    the step or -1 and `place` where in it, 1 at its end; `sample` [s] the time since the last
    sample for the averages or 0 where none is taken, `since` [s] that from it to the step's start.
    The first `started` steps are made by Runge-Kutta.
    """

    start: float
    step: float
    counts: bool
    moves: bool
    rows: Whole
    weights: Reals
    gust_rows: Whole
    gust_weights: Reals
    noted_rows: Whole
    noted_weights: Reals
    first_output: int
    speed: Reals
    press: Reals
    steady: Floats
    lever: Reals
    height: Floats
    across: Floats
    filling: Floats
    output: Whole
    place: Floats
    sample: Floats
    since: Floats
    started: int


class Start(NamedTuple):
    """How the first steps of a stretch find the storm: at its start, and in the middle and at the
    end of each; arrays by place (2 started + 1)."""

    rows: Whole
    weights: Floats
    gust_rows: Whole
    gust_weights: Floats


class Watch(NamedTuple):
    """What a case is watched for; `wells` (outputs, 4) are `ship.wells.Well`, `bottoms` [rad]."""

    limits: Limits
    wells: Floats
    bottoms: Floats


class Storms(NamedTuple):
    """The channels of a block's storms, (rows, lanes) each, or None."""

    slope: Any
    elevation: Any
    gust: Any


@compiled
def storm_at(
    slope: Any, elevation: Any, gust: Any, start: Start, k: int | np.int64, lane: int
) -> tuple[float, float, float, float]:
    """Slope [rad], its rate, elevation [m] and turbulence [m/s] of a lane at place k of a start."""
    alpha, rate, zeta, u = 0.0, 0.0, 0.0, 0.0
    row = start.rows[k]
    w = start.weights[k]
    if slope is not None:
        for tap in range(TAPS):
            alpha += w[tap] * slope[row + tap, lane]
            rate += w[TAPS + tap] * slope[row + tap, lane]
    if elevation is not None:
        for tap in range(TAPS):
            zeta += w[tap] * elevation[row + tap, lane]
    if gust is not None:
        row = start.gust_rows[k]
        for tap in range(TAPS):
            u += start.gust_weights[k, tap] * gust[row + tap, lane]
    return alpha, rate, zeta, u


@compiled
def complete_state(
    block: Block,
    slope: Any,
    elevation: Any,
    gust: Any,
    start: Start,
    time: float,
    segment: Floats,
    c: Coefficients,
) -> None:
    """Slope and acceleration of every lane at the start of a stretch, where y and y′ are known."""
    state = block.states[0]
    for i in range(LANES):
        storm = storm_at(slope, elevation, gust, start, np.int64(0), i)
        state[SLOPE, i], state[SLOPE_RATE, i] = storm[0], storm[1]
        block.history[0, i] = _acceleration(
            block, i, (np.float64(state[Y, i]), np.float64(state[RATE, i])), storm, time, segment, c
        )


@compiled
def _acceleration(
    block: Block,
    i: int,
    state: tuple[float, float],
    storm: tuple[float, float, float, float],
    time: float,
    segment: Floats,
    c: Coefficients,
) -> float:
    """Second derivative of y of a lane, from the moments themselves."""
    v = np.float64(block.keep[WIND_FACTOR, i]) * (loading(time, segment).wind + storm[3])
    return on_water(state, (storm[0], storm[1], storm[2]), v, time, c, segment)


@compiled
def runge_kutta_step(
    block: Block,
    slope: Any,
    elevation: Any,
    gust: Any,
    start: Start,
    n: int,
    span: tuple[float, float],
    segment: Floats,
    c: Coefficients,
    most_damping: float,
) -> None:
    """Step n of a stretch by the classical fourth-order scheme; `span` is its start and h [s]."""
    state, after = block.states[n % 2], block.states[(n + 1) % 2]
    begin, h = span
    middle, end = begin + 0.5 * h, begin + h
    share = (1.0 if c.relative else 0.0) - c.added_share
    for i in range(LANES):
        y, v = np.float64(state[Y, i]), np.float64(state[RATE, i])
        a0 = np.float64(block.history[n % STEPS, i])
        half = storm_at(slope, elevation, gust, start, 2 * n + 1, i)
        full = storm_at(slope, elevation, gust, start, 2 * n + 2, i)
        v1 = v + 0.5 * h * a0
        a1 = _acceleration(block, i, (y + 0.5 * h * v, v1), half, middle, segment, c)
        v2 = v + 0.5 * h * a1
        a2 = _acceleration(block, i, (y + 0.5 * h * v1, v2), half, middle, segment, c)
        v3 = v + h * a2
        a3 = _acceleration(block, i, (y + h * v2, v3), full, end, segment, c)
        y += h / 6.0 * (v + 2.0 * v1 + 2.0 * v2 + v3)
        v += h / 6.0 * (a0 + 2.0 * a1 + 2.0 * a2 + a3)
        a = _acceleration(block, i, (y, v), full, end, segment, c)
        after[Y, i], after[RATE, i] = y, v
        after[SLOPE, i], after[SLOPE_RATE, i] = full[0], full[1]
        block.history[(n + 1) % STEPS, i] = a
        through = abs(v - share * full[1])
        before = abs(np.float64(state[RATE, i]) - share * np.float64(state[SLOPE_RATE, i]))
        through = through if through > before else before
        damped = c.linear + through * (2.0 * c.quadratic + 3.0 * c.cubic * through)
        block.keep[STRAIN, i] = damped / most_damping


@compiled
def look_over(
    block: Block, now: int, half: float, ship: Ship, counting: float
) -> tuple[bool, bool]:
    """After a Runge-Kutta step what `adams_steps` does beside the step itself: bounds, upcrossings.

    Gives whether any lane may pass a bound or is strained, and whether any may pass an extreme.
    """
    state, after, keep = block.states[now], block.states[1 - now], block.keep
    near, further = False, False
    for i in range(LANES):
        roll, before = (
            after[Y, i] + ship.added * after[SLOPE, i],
            state[Y, i] + ship.added * state[SLOPE, i],
        )
        p0, p1 = (
            state[RATE, i] + ship.added * state[SLOPE_RATE, i],
            after[RATE, i] + ship.added * after[SLOPE_RATE, i],
        )
        q0, q1 = (
            state[RATE, i] - ship.share * state[SLOPE_RATE, i],
            after[RATE, i] - ship.share * after[SLOPE_RATE, i],
        )
        heel = after[Y, i] - ship.share * after[SLOPE, i]
        heel = max(heel, -ship.port_weight * heel) + ship.port_reach * half * (abs(q0) + abs(q1))
        reach = half * (abs(p0) + abs(p1))
        over = max(abs(roll) + reach - keep[ROLL_BOUND, i], heel - keep[HEEL_BOUND, i])
        keep[OVER, i] = over
        near = near or not (over < 0.0 and keep[STRAIN, i] <= 1.0)
        beyond = max(roll + reach - keep[ROLL_MAX, i], keep[ROLL_MIN, i] + reach - roll)
        further = further or max(beyond, heel - keep[HEEL_MOST, i]) > 0.0
        if before < keep[LEVEL, i] - ship.slack and roll >= keep[LEVEL, i]:
            keep[UPCROSSINGS, i] += counting
    return near, further


@vectorised
def adams_steps(
    block: Block,
    slope: Any,
    elevation: Any,
    gust: Any,
    law: Any,
    tables: Tables,
    stretch: Stretch,
    start: Start,
    first: int,
    last: int,
    watch: Watch,
    ship: Ship,
    m: Scheme,
    segment: Floats,
    c: Coefficients,
) -> int:
    """Make steps [first, last) of a stretch; the number of the step after the last one made.

    Ends early when no lane is under way any more.
    """
    states, history, keep, _, histories, _, work = block
    righting, potential = tables.righting, tables.potential
    levers, lever_slopes = righting[0, 0], righting[0, 1]
    zero, one = ship.zero, ship.one
    counting = one if stretch.counts else zero
    r0, r1, r2 = (first - 1) % STEPS, (first - 2) % STEPS, (first - 3) % STEPS
    r3, r4, r5 = (first - 4) % STEPS, (first - 5) % STEPS, (first - 6) % STEPS
    h = stretch.step
    for n in range(first, last):
        now, new = n % 2, (n + 1) % 2
        # The oldest acceleration of the ring gives way to the newest.
        r0, r1, r2, r3, r4, r5 = r5, r0, r1, r2, r3, r4
        near, further = False, False
        if stretch.moves:
            remake_righting(tables, stretch.height[n], stretch.across[n], stretch.filling[n])
        if n < stretch.started:
            span = (stretch.start + n * h, h)
            runge_kutta_step(
                block,
                slope,
                elevation,
                gust,
                start,
                n,
                span,
                segment,
                c,
                np.float64(one / ship.per_most_damping),
            )
            near, further = look_over(block, now, np.float64(m.half), ship, counting)
        else:
            lever_here, press, speed = stretch.lever[n], stretch.press[n], stretch.speed[n]
            wind_here = press * speed * abs(speed)
            # One row of zeros stands for all steps where there is no such channel.
            at = min(n, stretch.rows.size - 1)
            row, w = stretch.rows[at], stretch.weights[at]
            a0, a1, a2, a3, a4, a5 = w[0], w[1], w[2], w[3], w[4], w[5]
            a6, a7, a8, a9, a10, a11 = w[6], w[7], w[8], w[9], w[10], w[11]
            b0, b1, b2, b3, b4, b5 = w[12], w[13], w[14], w[15], w[16], w[17]
            b6, b7, b8, b9, b10, b11 = w[18], w[19], w[20], w[21], w[22], w[23]
            at = min(n, stretch.gust_rows.size - 1)
            gust_row, g = stretch.gust_rows[at], stretch.gust_weights[at]
            g0, g1, g2, g3, g4, g5 = g[0], g[1], g[2], g[3], g[4], g[5]
            g6, g7, g8, g9, g10, g11 = g[6], g[7], g[8], g[9], g[10], g[11]
            if slope is not None:
                for i in range(LANES):
                    x0, x1, x2 = slope[row, i], slope[row + 1, i], slope[row + 2, i]
                    x3, x4, x5 = slope[row + 3, i], slope[row + 4, i], slope[row + 5, i]
                    x6, x7, x8 = slope[row + 6, i], slope[row + 7, i], slope[row + 8, i]
                    x9, x10, x11 = slope[row + 9, i], slope[row + 10, i], slope[row + 11, i]
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
            if elevation is not None:
                for i in range(LANES):
                    x0, x1, x2 = elevation[row, i], elevation[row + 1, i], elevation[row + 2, i]
                    x3, x4, x5 = elevation[row + 3, i], elevation[row + 4, i], elevation[row + 5, i]
                    x6, x7, x8 = elevation[row + 6, i], elevation[row + 7, i], elevation[row + 8, i]
                    x9, x10 = elevation[row + 9, i], elevation[row + 10, i]
                    work[ZETA, i] = (
                        (a0 * x0 + a1 * x1 + a2 * x2)
                        + (a3 * x3 + a4 * x4 + a5 * x5)
                        + (a6 * x6 + a7 * x7 + a8 * x8)
                        + (a9 * x9 + a10 * x10 + a11 * elevation[row + 11, i])
                    )
            if gust is not None:
                for i in range(LANES):
                    x0, x1, x2 = gust[gust_row, i], gust[gust_row + 1, i], gust[gust_row + 2, i]
                    x3, x4, x5 = gust[gust_row + 3, i], gust[gust_row + 4, i], gust[gust_row + 5, i]
                    x6, x7, x8 = gust[gust_row + 6, i], gust[gust_row + 7, i], gust[gust_row + 8, i]
                    x9, x10 = gust[gust_row + 9, i], gust[gust_row + 10, i]
                    work[GUST, i] = (
                        (g0 * x0 + g1 * x1 + g2 * x2)
                        + (g3 * x3 + g4 * x4 + g5 * x5)
                        + (g6 * x6 + g7 * x7 + g8 * x8)
                        + (g9 * x9 + g10 * x10 + g11 * gust[gust_row + 11, i])
                    )
            # Predict, and look up what turns her there.
            for i in range(LANES):
                f = (
                    history[r0, i],
                    history[r1, i],
                    history[r2, i],
                    history[r3, i],
                    history[r4, i],
                    history[r5, i],
                )
                y, v, ahead = foresee(states[now, Y, i], states[now, RATE, i], f, m)
                alpha = states[new, SLOPE, i]
                along, k = row_of(y - ship.share * alpha, ship)
                if elevation is None:
                    lever_slope = lever_slopes[k]
                    lever = lever_here - (levers[k] + along * lever_slope)
                else:
                    level = (work[ZETA, i] - ship.first_level) * ship.per_level
                    level = level if level > ship.least_level else ship.least_level
                    level = level if level < ship.most_level else ship.most_level
                    below = np.floor(level)
                    below = below if below > zero else zero
                    below = below if below < ship.last_level else ship.last_level
                    part = level - below
                    j = np.uint32(below)
                    above = j + np.uint32(1)
                    value, lever_slope = righting[j, 0, k], righting[j, 1, k]
                    value += part * (righting[above, 0, k] - value)
                    lever_slope += part * (righting[above, 1, k] - lever_slope)
                    lever = lever_here - (value + along * lever_slope)
                if gust is None:
                    wind = keep[WIND_SQUARE, i] * wind_here
                else:
                    blow = keep[WIND_FACTOR, i] * (speed + work[GUST, i])
                    wind = press * blow * abs(blow)
                if law is not None:
                    past, k = row_of(y + ship.added * alpha, ship)
                    wind = wind * (law[0, k] + past * law[1, k])
                work[LEVER, i] = lever + wind + ship.absolute_gm * alpha
                work[LEVER_SLOPE, i] = lever_slope
                work[AHEAD, i] = ahead
                states[new, Y, i], states[new, RATE, i] = y, v
            # Correct, and see how far the step may have gone: within it an angle reaches no
            # further than half a step at both ends' rates together, so few lanes come near a
            # limit, or past an extreme so far, that only flags are raised here.
            for i in range(LANES):
                y0, v0 = states[now, Y, i], states[now, RATE, i]
                alpha, alpha_rate = states[new, SLOPE, i], states[new, SLOPE_RATE, i]
                alpha0, rate0 = states[now, SLOPE, i], states[now, SLOPE_RATE, i]
                y, v = states[new, Y, i], states[new, RATE, i]
                through = v - ship.share * alpha_rate
                a, shift, turn, strain = settle(
                    work[LEVER, i], work[LEVER_SLOPE, i], through, work[AHEAD, i], ship, m
                )
                through0, through = v0 - ship.share * rate0, through + turn
                y, v = y + shift, v + turn + kink(through0, through, ship, m)
                roll, before = y + ship.added * alpha, y0 + ship.added * alpha0
                rolling = abs(v0 + ship.added * rate0) + abs(v + ship.added * alpha_rate)
                reach = m.half * rolling
                farthest = y - ship.share * alpha
                to_port = -ship.port_weight * farthest
                farthest = farthest if farthest > to_port else to_port
                farthest += ship.port_reach * m.half * (abs(through0) + abs(through))
                over = abs(roll) + reach - keep[ROLL_BOUND, i]
                wide = farthest - keep[HEEL_BOUND, i]
                over = over if over > wide else wide
                beyond, less = roll + reach - keep[ROLL_MAX, i], keep[ROLL_MIN, i] + reach - roll
                beyond = beyond if beyond > less else less
                wider = farthest - keep[HEEL_MOST, i]
                beyond = beyond if beyond > wider else wider
                near = near | (over >= zero) | ~(strain <= one)
                further = further | (beyond > zero)
                level_heel = keep[LEVEL, i]
                keep[UPCROSSINGS, i] += (
                    counting if (before < level_heel - ship.slack) & (roll >= level_heel) else zero
                )
                keep[OVER, i], keep[STRAIN, i] = over, strain
                states[new, Y, i], states[new, RATE, i] = y, v
                history[r5, i] = a
        if further and stretch.counts:
            _extremes(block, now, ship, m)
        under_way = True
        if near:
            step = Step(n, stretch.start + n * h, h, stretch.since[n], stretch.counts)
            shares = (np.float64(ship.added), -np.float64(ship.share), np.float64(ship.port_weight))
            under_way = closer_look(block, step, watch.limits, shares)
        if stretch.sample[n] > 0.0:
            _average(block, new, stretch.sample[n] if stretch.counts else 0.0, ship)
        if watch.bottoms.size > 1:
            _sides(block, new, watch.bottoms, stretch.counts, np.float64(ship.share))
        output = stretch.output[n]
        if output >= 0:
            _at_output(block, now, stretch.place[n], m)
            if stretch.counts:
                if stretch.moves:
                    _potential_within(tables, stretch, n)
                energies(block, potential, watch.wells[output], 0.5 * c.inertia, ship)
            if histories.shape[1] > 0:
                _note(block, output, stretch, n, gust, law, ship)
        if near:
            park(block, stretch.start + (n + stretch.place[n]) * h if output >= 0 else np.inf)
            if not under_way:
                return n + 1
    return last


@compiled
def _potential_within(tables: Tables, stretch: Stretch, n: int) -> None:
    """The potential of the loading at the output within step n; index -1 is the stretch's start."""
    x = stretch.place[n]
    z = 1.0 - x
    remake_potential(
        tables,
        z * stretch.height[n - 1] + x * stretch.height[n],
        z * stretch.across[n - 1] + x * stretch.across[n],
        z * stretch.steady[n - 1] + x * stretch.steady[n],
        z * stretch.lever[n - 1] + x * stretch.lever[n],
        z * stretch.filling[n - 1] + x * stretch.filling[n],
    )


@vectorised
def _extremes(block: Block, now: int, ship: Ship, m: Scheme) -> None:
    """Greatest and least roll and greatest |heel| of a step, lanes near a bound left out.

    An angle turns, if it does, where its rate's chord is zero; the cubic there is off by
    (ωh)⁴/384 of the swing.
    """
    states, keep = block.states, block.keep
    new = 1 - now
    zero, one, two = ship.zero, ship.one, ship.one + ship.one
    for i in range(LANES):
        own = (keep[OVER, i] < zero) & (keep[STRAIN, i] <= one)
        y0, y1 = states[now, Y, i], states[new, Y, i]
        v0, v1 = states[now, RATE, i], states[new, RATE, i]
        s0, s1 = states[now, SLOPE, i], states[new, SLOPE, i]
        q0, q1 = states[now, SLOPE_RATE, i], states[new, SLOPE_RATE, i]
        x, y = y0 + ship.added * s0, y1 + ship.added * s1
        p, q = v0 + ship.added * q0, v1 + ship.added * q1
        u = p / (p - q) if p * q < zero else one
        v = one - u
        left, right = x * (one + two * u) + m.h * p * u, y * (one + two * v) - m.h * q * v
        peak = v * v * left + u * u * right
        high = y if y > peak else peak
        deep = y if y < peak else peak
        keep[ROLL_MAX, i] = high if own & (high > keep[ROLL_MAX, i]) else keep[ROLL_MAX, i]
        keep[ROLL_MIN, i] = deep if own & (deep < keep[ROLL_MIN, i]) else keep[ROLL_MIN, i]
        x, y = y0 - ship.share * s0, y1 - ship.share * s1
        p, q = v0 - ship.share * q0, v1 - ship.share * q1
        u = p / (p - q) if p * q < zero else one
        v = one - u
        left, right = x * (one + two * u) + m.h * p * u, y * (one + two * v) - m.h * q * v
        peak = v * v * left + u * u * right
        high = y if y > peak else peak
        deep = -ship.port_weight * (y if y < peak else peak)
        high = high if high > deep else deep
        keep[HEEL_MOST, i] = high if own & (high > keep[HEEL_MOST, i]) else keep[HEEL_MOST, i]


@vectorised
def _average(block: Block, new: int, span: float, ship: Ship) -> None:
    """Add the `span` [s] since the last sample to the integrals of roll and its square.

    As `closer.add_sample`, flat for the lane loop.
    """
    states, record = block.states, block.record
    half, turned = 0.5 * span, span * span / 12.0
    for i in range(LANES):
        roll = np.float64(states[new, Y, i] + ship.added * states[new, SLOPE, i])
        rate = np.float64(states[new, RATE, i] + ship.added * states[new, SLOPE_RATE, i])
        last, last_rate, live = record[LAST, i], record[LAST_RATE, i], record[LIVE, i]
        record[SUM, i] += live * (half * (last + roll) + turned * (last_rate - rate))
        record[SQUARES, i] += live * (
            half * (last * last + roll * roll) + 2.0 * turned * (last * last_rate - roll * rate)
        )
        record[LAST, i], record[LAST_RATE, i] = roll, rate


@compiled
def _sides(block: Block, new: int, bottoms: Floats, counts: bool, share: float) -> None:
    """Which well's bottom each lane reached last, and how often another one's."""
    state, record = block.states[new], block.record
    for i in range(LANES):
        heel = state[Y, i] - share * state[SLOPE, i]
        before = int(record[WELL, i])
        well = before
        while well + 1 < bottoms.size and heel >= bottoms[well + 1]:
            well += 1
        while well > 0 and heel <= bottoms[well - 1]:
            well -= 1
        if well != before:
            record[WELL, i] = well
            if counts:
                record[SIDE_CHANGES, i] += abs(well - before) * record[LIVE, i]


@vectorised
def _at_output(block: Block, now: int, place: float, m: Scheme) -> None:
    """The state at an output within a step: angle and slope by the cubics through value and rate
    at both ends, their rates by the cubics' slopes."""
    states, outputs = block.states, block.outputs
    new, h = 1 - now, np.float64(m.h)
    x, z = place, 1.0 - place
    f0, f1 = z * z * (1.0 + 2.0 * x), x * x * (1.0 + 2.0 * z)
    g0, g1 = h * x * z * z, -h * x * x * z
    p = 6.0 * x * z / h
    q0, q1 = z * (1.0 - 3.0 * x), x * (1.0 - 3.0 * z)
    for row in range(0, ROWS, 2):
        for i in range(LANES):
            a, b = states[now, row, i], states[new, row, i]
            c, d = states[now, row + 1, i], states[new, row + 1, i]
            outputs[row, i] = f0 * a + f1 * b + g0 * c + g1 * d
            outputs[row + 1, i] = p * (b - a) + q0 * c + q1 * d


@vectorised
def energies(block: Block, potential: Reals, well: Floats, half_inertia: float, ship: Ship) -> None:
    """The greatest E/E_b so far, of every lane at an output; at least 1 beyond a barrier's heel."""
    outputs, keep = block.outputs, block.keep
    values, slopes = potential[0], potential[1]
    one = ship.one
    low, port, starboard = well[0], well[2], well[3]
    per_barrier = 1.0 / well[1]
    for i in range(LANES):
        heel = outputs[Y, i] - ship.share * outputs[SLOPE, i]
        rate = outputs[RATE, i] - ship.share * outputs[SLOPE_RATE, i]
        past, k = row_of(heel, ship)
        energy = values[k] + past * slopes[k]
        ratio = (energy - low + half_inertia * rate * rate) * per_barrier
        ratio = one if ((heel > starboard) | (heel < port)) & (ratio < one) else ratio
        keep[ENERGY, i] = ratio if ratio > keep[ENERGY, i] else keep[ENERGY, i]


@compiled
def _note(
    block: Block, output: int, stretch: Stretch, n: int, gust: Any, law: Any, ship: Ship
) -> None:
    """The histories at an output: roll, rate, slope, heeling lever."""
    state, histories = block.outputs, block.histories
    place = stretch.place[n]
    # What the timeline brings runs straight enough within a step; turbulence does not.
    speed = stretch.speed[n - 1] + place * (stretch.speed[n] - stretch.speed[n - 1])
    press = stretch.press[n - 1] + place * (stretch.press[n] - stretch.press[n - 1])
    lever = stretch.lever[n - 1] + place * (stretch.lever[n] - stretch.lever[n - 1])
    for i in range(LANES):
        roll = state[Y, i] + ship.added * state[SLOPE, i]
        v = speed
        if gust is not None:
            v += _gust_noted(stretch, output - stretch.first_output, gust, i)
        v = block.keep[WIND_FACTOR, i] * v
        wind = press * v * abs(v)
        if law is not None:
            past, k = row_of(roll, ship)
            wind *= law[0, k] + past * law[1, k]
        histories[0, output, i] = roll
        histories[1, output, i] = state[RATE, i] + ship.added * state[SLOPE_RATE, i]
        histories[2, output, i] = state[SLOPE, i]
        histories[3, output, i] = lever + wind


@compiled
def _gust_noted(stretch: Stretch, k: int, gust: Any, lane: int) -> float:
    """Turbulence [m/s] at output k of a stretch."""
    u = 0.0
    for tap in range(TAPS):
        u += stretch.noted_weights[k, tap] * gust[stretch.noted_rows[k] + tap, lane]
    return u


@compiled
def note_start(
    block: Block,
    output: int,
    gust: Any,
    start: Start,
    time: float,
    segment: Floats,
    c: Coefficients,
) -> None:
    """The histories at the output that a stretch begins with."""
    state, histories = block.states[0], block.histories
    now = loading(time, segment)
    for i in range(LANES):
        roll = state[Y, i] + c.added_share * state[SLOPE, i]
        _, _, _, u = storm_at(None, None, gust, start, np.int64(0), i)
        v = block.keep[WIND_FACTOR, i] * (now.wind + u)
        histories[0, output, i] = roll
        histories[1, output, i] = state[RATE, i] + c.added_share * state[SLOPE_RATE, i]
        histories[2, output, i] = state[SLOPE, i]
        histories[3, output, i] = now.lever + wind_lever(roll, v, c) / now.mass


@compiled
def settle_state(block: Block, made: int) -> None:
    """Put the state after `made` steps of a stretch where the next stretch begins."""
    if made % 2 == 1:
        # Written out: an array put into another would bring a page of checks into the code.
        for row in range(ROWS):
            for i in range(LANES):
                block.states[0, row, i] = block.states[1, row, i]
