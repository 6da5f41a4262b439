"""The compiled steps of a block: a lane loop each for stepping, extremes, averages and outputs.

The sources are flat on purpose: helpers that take arrays would leave reference counts in the lane
loops and keep LLVM from vectorising them. What a case lacks (sea, elevation, turbulence, a law of
heel) is None, and numba leaves its code out.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from rollsim.compiled import inner, merged, vectorised, vectorised_inner
from rollsim.engines.block.adams import STEPS, Scheme
from rollsim.engines.block.closer import Step, closer_look, park
from rollsim.engines.block.heart import Ship, foresee, kink, place_of, row_of, settle
from rollsim.engines.block.lanes import (
    AHEAD,
    ENERGY,
    GUST,
    HEEL_BOUND,
    HEEL_MOST,
    LANES,
    LAST,
    LAST_RATE,
    LAW,
    LEVEL,
    LEVER,
    LEVER_SLOPE,
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
    PLACE,
    RATE,
    ROLL_BOUND,
    ROLL_MAX,
    ROLL_MIN,
    ROWS,
    SIDES,
    SLOPE,
    SLOPE_RATE,
    SQUARES,
    STAGE_RATE,
    STAGE_Y,
    STRAIN,
    SUM,
    UPCROSSINGS,
    WIND_FACTOR,
    WIND_SQUARE,
    ZETA,
    Block,
    Y,
)
from rollsim.engines.block.pairs import both
from rollsim.engines.block.tables import Tables, remake_potential, remake_righting
from rollsim.engines.limits import Limits
from rollsim.engines.sides import change_side
from rollsim.forcing.interpolation import TAPS
from rollsim.motion.moments import damping, damping_slope

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
    cubic: Reals
    sample: Floats
    since: Floats
    started: int


class Start(NamedTuple):
    """The storm, and what the timeline brings, where the first steps of a stretch look: at its
    start, and in the middle and at the end of each; arrays by place (2 started + 1), as in
    `Stretch`."""

    rows: Whole
    weights: Reals
    gust_rows: Whole
    gust_weights: Reals
    speed: Reals
    press: Reals
    lever: Reals
    steady: Floats
    height: Floats
    across: Floats
    filling: Floats


class Watch(NamedTuple):
    """What a case is watched for; `wells` (outputs, 4) are `ship.wells.Well`, `bottoms` [rad]."""

    limits: Limits
    wells: Reals
    bottoms: Floats


class Storms(NamedTuple):
    """The channels of a block's storms, (rows, lanes) each, or None."""

    slope: Any
    elevation: Any
    gust: Any


@merged
def look_up(
    flat: Block, elevation: Any, law: Any, righting: Reals, lever_here: Any, ship: Ship
) -> None:
    """What turns every lane at its place in the tables but for the wind, its lever's slope and the
    law of heel there. A loop of its own: whole pairs fill half as many lanes of a register."""
    states, work = flat.states, flat.work
    levers = righting[0]
    zero = ship.zero
    for i in range(LANES):
        along, k = row_of(work[PLACE * LANES + i], ship)
        if elevation is None:
            value, lever_slope = both(levers[k])
        else:
            level = (work[ZETA * LANES + i] - ship.first_level) * ship.per_level
            level = level if level > ship.least_level else ship.least_level
            level = level if level < ship.most_level else ship.most_level
            below = np.floor(level)
            below = below if below > zero else zero
            below = below if below < ship.last_level else ship.last_level
            part = level - below
            j = np.uint32(below)
            above = j + np.uint32(1)
            value, lever_slope = both(righting[j, k])
            value_above, slope_above = both(righting[above, k])
            value += part * (value_above - value)
            lever_slope += part * (slope_above - lever_slope)
        work[LEVER * LANES + i] = lever_here - (value + along * lever_slope)
        work[LEVER_SLOPE * LANES + i] = lever_slope
        if law is not None:
            roll = work[STAGE_Y * LANES + i] + ship.added * states[NEW_SLOPE + i]
            past, k = row_of(place_of(roll, ship), ship)
            part_of_wind, its_slope = both(law[k])
            work[LAW * LANES + i] = part_of_wind + past * its_slope


@vectorised_inner
def accelerate(
    flat: Block,
    slope: Any,
    elevation: Any,
    gust: Any,
    law: Any,
    tables: Tables,
    start: Start,
    k: int | np.int64,
    turned: Reals,
    ship: Ship,
) -> None:
    """Put into `turned` y″ of every lane at place k of a start, for y and y′ of the room to work
    in; slope and its rate there become those of the state."""
    states, keep, work = flat.states, flat.keep, flat.work
    zero = ship.zero
    lever_here, press, speed = start.lever[k], start.press[k], start.speed[k]
    row, gust_row = start.rows[k], start.gust_rows[k]
    if slope is not None:
        for i in range(LANES):
            states[NEW_SLOPE + i], states[NEW_SLOPE_RATE + i] = zero, zero
        for tap in range(TAPS):
            a, b = start.weights[k, tap], start.weights[k, TAPS + tap]
            for i in range(LANES):
                states[NEW_SLOPE + i] += a * slope[row + tap, i]
                states[NEW_SLOPE_RATE + i] += b * slope[row + tap, i]
    if elevation is not None:
        for i in range(LANES):
            work[ZETA * LANES + i] = zero
        for tap in range(TAPS):
            a = start.weights[k, tap]
            for i in range(LANES):
                work[ZETA * LANES + i] += a * elevation[row + tap, i]
    if gust is not None:
        for i in range(LANES):
            work[GUST * LANES + i] = zero
        for tap in range(TAPS):
            a = start.gust_weights[k, tap]
            for i in range(LANES):
                work[GUST * LANES + i] += a * gust[gust_row + tap, i]
    for i in range(LANES):
        heel = work[STAGE_Y * LANES + i] - ship.share * states[NEW_SLOPE + i]
        work[PLACE * LANES + i] = place_of(heel, ship)
    look_up(flat, elevation, law, tables.righting, lever_here, ship)
    for i in range(LANES):
        if gust is None:
            wind = keep[WIND_SQUARE * LANES + i] * (press * speed * abs(speed))
        else:
            blow = keep[WIND_FACTOR * LANES + i] * (speed + work[GUST * LANES + i])
            wind = press * blow * abs(blow)
        if law is not None:
            wind = wind * work[LAW * LANES + i]
        lever = work[LEVER * LANES + i] + wind + ship.absolute_gm * states[NEW_SLOPE + i]
        through = work[STAGE_RATE * LANES + i] - ship.share * states[NEW_SLOPE_RATE + i]
        resisted = damping(through, ship.linear, ship.quadratic, ship.cubic)
        turned[i] = lever * ship.per_inertia - resisted


@vectorised
def begin_stretch(
    flat: Block,
    slope: Any,
    elevation: Any,
    gust: Any,
    law: Any,
    tables: Tables,
    start: Start,
    watch: Watch,
    output: int,
    counts: bool,
    ship: Ship,
    half_inertia: Any,
) -> None:
    """Tables, slope and acceleration at the start of a stretch, where y and y′ are known, and the
    output there, if its number is not -1."""
    states, outputs, work = flat.states, flat.outputs, flat.work
    _righting_at(tables, start, np.int64(0))
    remake_potential(
        tables, start.height[0], start.across[0], start.steady[0], np.float64(start.lever[0]),
        start.filling[0],
    )  # fmt: skip
    for i in range(LANES):
        work[STAGE_Y * LANES + i] = states[NEW_Y + i]
        work[STAGE_RATE * LANES + i] = states[NEW_RATE + i]
    first = flat.history[np.int64(0)]
    accelerate(flat, slope, elevation, gust, law, tables, start, np.int64(0), first, ship)
    if output >= 0:
        for i in range(ROWS * LANES):
            outputs[i] = states[NEW_Y + i]
        if flat.histories.shape[1] > 0:
            _note_start(flat, output, gust, law, start, ship)
        if counts:
            energies(flat, tables.potential, watch.wells, output, half_inertia, ship)


@vectorised_inner
def runge_kutta_step(
    flat: Block,
    slope: Any,
    elevation: Any,
    gust: Any,
    law: Any,
    tables: Tables,
    start: Start,
    n: int,
    moves: bool,
    ship: Ship,
    m: Scheme,
) -> None:
    """Step n of a stretch by the classical fourth-order scheme."""
    states, work = flat.states, flat.work
    turns0, turns1, turns2 = flat.history[n % STEPS], flat.turns[0], flat.turns[1]
    turns3, after = flat.turns[2], flat.history[(n + 1) % STEPS]
    h, sixth = m.h, m.half / (ship.one + ship.one + ship.one)
    for i in range(LANES):
        y, v = states[NEW_Y + i], states[NEW_RATE + i]
        states[OLD_Y + i], states[OLD_RATE + i] = y, v
        states[OLD_SLOPE + i] = states[NEW_SLOPE + i]
        states[OLD_SLOPE_RATE + i] = states[NEW_SLOPE_RATE + i]
        work[STAGE_Y * LANES + i] = y + m.half * v
        work[STAGE_RATE * LANES + i] = v + m.half * turns0[i]
    if moves:
        _righting_at(tables, start, 2 * n + 1)
    accelerate(flat, slope, elevation, gust, law, tables, start, 2 * n + 1, turns1, ship)
    for i in range(LANES):
        y, v = states[OLD_Y + i], states[OLD_RATE + i]
        work[STAGE_Y * LANES + i] = y + m.half * (v + m.half * turns0[i])
        work[STAGE_RATE * LANES + i] = v + m.half * turns1[i]
    accelerate(flat, slope, elevation, gust, law, tables, start, 2 * n + 1, turns2, ship)
    for i in range(LANES):
        y, v = states[OLD_Y + i], states[OLD_RATE + i]
        work[STAGE_Y * LANES + i] = y + h * (v + m.half * turns1[i])
        work[STAGE_RATE * LANES + i] = v + h * turns2[i]
    if moves:
        _righting_at(tables, start, 2 * n + 2)
    accelerate(flat, slope, elevation, gust, law, tables, start, 2 * n + 2, turns3, ship)
    for i in range(LANES):
        y, v = states[OLD_Y + i], states[OLD_RATE + i]
        twice = turns1[i] + turns2[i]
        y += h * (v + sixth * (turns0[i] + twice))
        v += sixth * (turns0[i] + twice + twice + turns3[i])
        states[NEW_Y + i], work[STAGE_Y * LANES + i] = y, y
        states[NEW_RATE + i], work[STAGE_RATE * LANES + i] = v, v
    accelerate(flat, slope, elevation, gust, law, tables, start, 2 * n + 2, after, ship)


@vectorised_inner
def look_over(flat: Block, ship: Ship, m: Scheme, counting: Any) -> tuple[bool, bool]:
    """After a Runge-Kutta step what `adams_steps` does beside the step itself: strain, bounds,
    upcrossings.

    Gives whether any lane may pass a bound or is strained, and whether any may pass an extreme.
    """
    states, keep = flat.states, flat.keep
    near, further = False, False
    for i in range(LANES):
        roll = states[NEW_Y + i] + ship.added * states[NEW_SLOPE + i]
        before = states[OLD_Y + i] + ship.added * states[OLD_SLOPE + i]
        p0 = abs(states[OLD_RATE + i] + ship.added * states[OLD_SLOPE_RATE + i])
        p1 = abs(states[NEW_RATE + i] + ship.added * states[NEW_SLOPE_RATE + i])
        q0 = abs(states[OLD_RATE + i] - ship.share * states[OLD_SLOPE_RATE + i])
        q1 = abs(states[NEW_RATE + i] - ship.share * states[NEW_SLOPE_RATE + i])
        slope = damping_slope(max(q0, q1), ship.linear, ship.twice_quadratic, ship.thrice_cubic)
        strain = slope * ship.per_most_damping
        heel = states[NEW_Y + i] - ship.share * states[NEW_SLOPE + i]
        heel = max(heel, -ship.port_weight * heel) + ship.port_reach * m.half * (q0 + q1)
        reach = m.half * (p0 + p1)
        over = max(
            abs(roll) + reach - keep[ROLL_BOUND * LANES + i], heel - keep[HEEL_BOUND * LANES + i]
        )
        keep[OVER * LANES + i], keep[STRAIN * LANES + i] = over, strain
        near = near or not (over < ship.zero and strain <= ship.one)
        beyond = max(
            roll + reach - keep[ROLL_MAX * LANES + i], keep[ROLL_MIN * LANES + i] + reach - roll
        )
        further = further or max(beyond, heel - keep[HEEL_MOST * LANES + i]) > ship.zero
        level = keep[LEVEL * LANES + i]
        if before < level - ship.slack and roll >= level:
            keep[UPCROSSINGS * LANES + i] += counting
    return near, further


@vectorised
def adams_steps(
    flat: Block,
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
    half_inertia: Any,
) -> int:
    """Make steps [first, last) of a stretch; the number of the step after the last one made.

    `flat` is a block with its rows end to end: their places are then known beforehand, and LLVM
    need not look at every step whether they overlap.

    Ends early when no lane is under way any more.
    """
    history, histories = flat.history, flat.histories
    states, keep, work = flat.states, flat.keep, flat.work
    righting, potential = tables.righting, tables.potential
    zero, one = ship.zero, ship.one
    counting = one if stretch.counts else zero
    r0, r1, r2 = (first - 1) % STEPS, (first - 2) % STEPS, (first - 3) % STEPS
    r3, r4, r5 = (first - 4) % STEPS, (first - 5) % STEPS, (first - 6) % STEPS
    h = stretch.step
    for n in range(first, last):
        # The oldest acceleration of the ring gives way to the newest.
        r0, r1, r2, r3, r4, r5 = r5, r0, r1, r2, r3, r4
        near, further = False, False
        if stretch.moves and n >= stretch.started:
            remake_righting(tables, stretch.height[n], stretch.across[n], stretch.filling[n])
        if n < stretch.started:
            runge_kutta_step(
                flat, slope, elevation, gust, law, tables, start, n, stretch.moves, ship, m
            )
            near, further = look_over(flat, ship, m, counting)
        else:
            lever_here, press, speed = stretch.lever[n], stretch.press[n], stretch.speed[n]
            wind_here = press * speed * abs(speed)
            # One row of zeros stands for all steps where there is no such channel.
            at = min(n, stretch.rows.size - 1)
            row = stretch.rows[at]
            w = stretch.weights
            a0, a1, a2 = w[at, 0], w[at, 1], w[at, 2]
            a3, a4, a5 = w[at, 3], w[at, 4], w[at, 5]
            a6, a7, a8 = w[at, 6], w[at, 7], w[at, 8]
            a9, a10, a11 = w[at, 9], w[at, 10], w[at, 11]
            b0, b1, b2 = w[at, 12], w[at, 13], w[at, 14]
            b3, b4, b5 = w[at, 15], w[at, 16], w[at, 17]
            b6, b7, b8 = w[at, 18], w[at, 19], w[at, 20]
            b9, b10, b11 = w[at, 21], w[at, 22], w[at, 23]
            at = min(n, stretch.gust_rows.size - 1)
            gust_row, u = stretch.gust_rows[at], stretch.gust_weights
            g0, g1, g2 = u[at, 0], u[at, 1], u[at, 2]
            g3, g4, g5 = u[at, 3], u[at, 4], u[at, 5]
            g6, g7, g8 = u[at, 6], u[at, 7], u[at, 8]
            g9, g10, g11 = u[at, 9], u[at, 10], u[at, 11]
            if slope is not None:
                for i in range(LANES):
                    x0, x1, x2 = slope[row, i], slope[row + 1, i], slope[row + 2, i]
                    x3, x4, x5 = slope[row + 3, i], slope[row + 4, i], slope[row + 5, i]
                    x6, x7, x8 = slope[row + 6, i], slope[row + 7, i], slope[row + 8, i]
                    x9, x10, x11 = slope[row + 9, i], slope[row + 10, i], slope[row + 11, i]
                    states[OLD_SLOPE + i] = states[NEW_SLOPE + i]
                    states[OLD_SLOPE_RATE + i] = states[NEW_SLOPE_RATE + i]
                    states[NEW_SLOPE + i] = (
                        (a0 * x0 + a1 * x1 + a2 * x2)
                        + (a3 * x3 + a4 * x4 + a5 * x5)
                        + (a6 * x6 + a7 * x7 + a8 * x8)
                        + (a9 * x9 + a10 * x10 + a11 * x11)
                    )
                    states[NEW_SLOPE_RATE + i] = (
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
                    work[ZETA * LANES + i] = (
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
                    work[GUST * LANES + i] = (
                        (g0 * x0 + g1 * x1 + g2 * x2)
                        + (g3 * x3 + g4 * x4 + g5 * x5)
                        + (g6 * x6 + g7 * x7 + g8 * x8)
                        + (g9 * x9 + g10 * x10 + g11 * gust[gust_row + 11, i])
                    )
            # Predict, ..
            for i in range(LANES):
                f = (
                    history[r0, i],
                    history[r1, i],
                    history[r2, i],
                    history[r3, i],
                    history[r4, i],
                    history[r5, i],
                )
                y0, v0 = states[NEW_Y + i], states[NEW_RATE + i]
                y, v, ahead = foresee(y0, v0, f, m)
                states[OLD_Y + i], states[OLD_RATE + i] = y0, v0
                work[AHEAD * LANES + i] = ahead
                work[PLACE * LANES + i] = place_of(y - ship.share * states[NEW_SLOPE + i], ship)
                states[NEW_Y + i], states[NEW_RATE + i] = y, v
                if law is not None:
                    work[STAGE_Y * LANES + i] = y
            # .. look up what turns her there, ..
            look_up(flat, elevation, law, righting, lever_here, ship)
            # .. correct, and see how far the step may have gone: within it an angle reaches no
            # further than half a step at both ends' rates together, so few lanes come near a
            # limit, or past an extreme so far, that only flags are raised here.
            for i in range(LANES):
                y0, v0 = states[OLD_Y + i], states[OLD_RATE + i]
                alpha, alpha_rate = states[NEW_SLOPE + i], states[NEW_SLOPE_RATE + i]
                alpha0, rate0 = states[OLD_SLOPE + i], states[OLD_SLOPE_RATE + i]
                y, v = states[NEW_Y + i], states[NEW_RATE + i]
                through = v - ship.share * alpha_rate
                if gust is None:
                    wind = keep[WIND_SQUARE * LANES + i] * wind_here
                else:
                    blow = keep[WIND_FACTOR * LANES + i] * (speed + work[GUST * LANES + i])
                    wind = press * blow * abs(blow)
                if law is not None:
                    wind = wind * work[LAW * LANES + i]
                lever = work[LEVER * LANES + i] + wind + ship.absolute_gm * alpha
                a, shift, turn, strain = settle(
                    lever, work[LEVER_SLOPE * LANES + i], through, work[AHEAD * LANES + i], ship, m
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
                over = abs(roll) + reach - keep[ROLL_BOUND * LANES + i]
                wide = farthest - keep[HEEL_BOUND * LANES + i]
                over = over if over > wide else wide
                beyond, less = (
                    roll + reach - keep[ROLL_MAX * LANES + i],
                    keep[ROLL_MIN * LANES + i] + reach - roll,
                )
                beyond = beyond if beyond > less else less
                wider = farthest - keep[HEEL_MOST * LANES + i]
                beyond = beyond if beyond > wider else wider
                near = near | (over >= zero) | ~(strain <= one)
                further = further | (beyond > zero)
                level_heel = keep[LEVEL * LANES + i]
                keep[UPCROSSINGS * LANES + i] += (
                    counting if (before < level_heel - ship.slack) & (roll >= level_heel) else zero
                )
                keep[OVER * LANES + i], keep[STRAIN * LANES + i] = over, strain
                states[NEW_Y + i], states[NEW_RATE + i] = y, v
                history[r5, i] = a
        if further and stretch.counts:
            _extremes(flat, ship, m)
        under_way = True
        if near:
            step = Step(n, stretch.start + n * h, h, stretch.since[n], stretch.counts)
            shares = (np.float64(ship.added), -np.float64(ship.share), np.float64(ship.port_weight))
            under_way = closer_look(flat, step, watch.limits, shares)
        if stretch.sample[n] > 0.0:
            _average(flat, stretch.sample[n] if stretch.counts else 0.0, ship)
        if watch.bottoms.size > 1:
            step = Step(n, stretch.start + n * h, h, stretch.since[n], stretch.counts)
            _sides(flat, step, watch.bottoms, np.float64(ship.share))
        output = stretch.output[n]
        if output >= 0:
            _at_output(flat, stretch, n)
            if stretch.counts:
                if stretch.moves:
                    _potential_within(tables, stretch, n)
                energies(flat, potential, watch.wells, output, half_inertia, ship)
            if histories.shape[1] > 0:
                _note(flat, output, stretch, n, gust, law, ship)
        if near:
            noted = stretch.start + (n + stretch.place[n]) * h if output >= 0 else np.inf
            park(flat, noted)
            if not under_way:
                return n + 1
    return last


@inner
def _righting_at(tables: Tables, start: Start, k: int | np.int64) -> None:
    """The righting lever for the loading at place k of a start."""
    remake_righting(tables, start.height[k], start.across[k], start.filling[k])


@inner
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


@merged
def _extremes(flat: Block, ship: Ship, m: Scheme) -> None:
    """Greatest and least roll and greatest |heel| of a step, lanes near a bound left out.

    An angle turns, if it does, where its rate's chord is zero; the cubic there is off by
    (ωh)⁴/384 of the swing.
    """
    states, keep = flat.states, flat.keep
    zero, one, two = ship.zero, ship.one, ship.one + ship.one
    for i in range(LANES):
        own = (keep[OVER * LANES + i] < zero) & (keep[STRAIN * LANES + i] <= one)
        y0, y1 = states[OLD_Y + i], states[NEW_Y + i]
        v0, v1 = states[OLD_RATE + i], states[NEW_RATE + i]
        s0, s1 = states[OLD_SLOPE + i], states[NEW_SLOPE + i]
        q0, q1 = states[OLD_SLOPE_RATE + i], states[NEW_SLOPE_RATE + i]
        x, y = y0 + ship.added * s0, y1 + ship.added * s1
        p, q = v0 + ship.added * q0, v1 + ship.added * q1
        u = p / (p - q) if p * q < zero else one
        v = one - u
        left, right = x * (one + two * u) + m.h * p * u, y * (one + two * v) - m.h * q * v
        peak = v * v * left + u * u * right
        high = y if y > peak else peak
        deep = y if y < peak else peak
        keep[ROLL_MAX * LANES + i] = (
            high if own & (high > keep[ROLL_MAX * LANES + i]) else keep[ROLL_MAX * LANES + i]
        )
        keep[ROLL_MIN * LANES + i] = (
            deep if own & (deep < keep[ROLL_MIN * LANES + i]) else keep[ROLL_MIN * LANES + i]
        )
        x, y = y0 - ship.share * s0, y1 - ship.share * s1
        p, q = v0 - ship.share * q0, v1 - ship.share * q1
        u = p / (p - q) if p * q < zero else one
        v = one - u
        left, right = x * (one + two * u) + m.h * p * u, y * (one + two * v) - m.h * q * v
        peak = v * v * left + u * u * right
        high = y if y > peak else peak
        deep = -ship.port_weight * (y if y < peak else peak)
        high = high if high > deep else deep
        keep[HEEL_MOST * LANES + i] = (
            high if own & (high > keep[HEEL_MOST * LANES + i]) else keep[HEEL_MOST * LANES + i]
        )


@merged
def _average(flat: Block, span: float, ship: Ship) -> None:
    """Add the `span` [s] since the last sample to the integrals of roll and its square.

    As `closer.add_sample`, flat for the lane loop.
    """
    states, record = flat.states, flat.record
    half, turned = 0.5 * span, span * span / 12.0
    for i in range(LANES):
        roll = np.float64(states[NEW_Y + i] + ship.added * states[NEW_SLOPE + i])
        rate = np.float64(states[NEW_RATE + i] + ship.added * states[NEW_SLOPE_RATE + i])
        last, last_rate, live = (
            record[LAST * LANES + i],
            record[LAST_RATE * LANES + i],
            record[LIVE * LANES + i],
        )
        record[SUM * LANES + i] += live * (half * (last + roll) + turned * (last_rate - rate))
        record[SQUARES * LANES + i] += live * (
            half * (last * last + roll * roll) + 2.0 * turned * (last * last_rate - roll * rate)
        )
        record[LAST * LANES + i], record[LAST_RATE * LANES + i] = roll, rate


@merged
def _sides(flat: Block, step: Step, bottoms: Floats, share: float) -> None:
    """Which well's bottom each lane reached last; when it was another one's, the chord tells."""
    states, record = flat.states, flat.record
    for i in range(LANES):
        heel = states[NEW_Y + i] - share * states[NEW_SLOPE + i]
        before = int(record[SIDES * LANES + i])
        well = before
        while well + 1 < bottoms.size and heel >= bottoms[well + 1]:
            well += 1
        while well > 0 and heel <= bottoms[well - 1]:
            well -= 1
        if well != before and not step.counts:
            record[SIDES * LANES + i] = well
        elif well != before and record[LIVE * LANES + i] > 0.0:
            old = states[OLD_Y + i] - share * states[OLD_SLOPE + i]
            time = step.start + step.h * (bottoms[well] - old) / (heel - old)
            change_side(record[SIDES * LANES + i :: LANES], well, time, bottoms.size)


@merged
def _at_output(flat: Block, stretch: Stretch, n: int) -> None:
    """The state at the output within step n: angle and slope by the cubics through value and rate
    at both ends, their rates by the cubics' slopes."""
    states, outputs, w = flat.states, flat.outputs, stretch.cubic
    f0, f1, g0, g1 = w[n, 0], w[n, 1], w[n, 2], w[n, 3]
    p, q0, q1 = w[n, 4], w[n, 5], w[n, 6]
    for i in range(LANES):
        a, b = states[OLD_Y + i], states[NEW_Y + i]
        c, d = states[OLD_RATE + i], states[NEW_RATE + i]
        outputs[Y * LANES + i] = f0 * a + f1 * b + g0 * c + g1 * d
        outputs[RATE * LANES + i] = p * (b - a) + q0 * c + q1 * d
        a, b = states[OLD_SLOPE + i], states[NEW_SLOPE + i]
        c, d = states[OLD_SLOPE_RATE + i], states[NEW_SLOPE_RATE + i]
        outputs[SLOPE * LANES + i] = f0 * a + f1 * b + g0 * c + g1 * d
        outputs[SLOPE_RATE * LANES + i] = p * (b - a) + q0 * c + q1 * d


@merged
def energies(
    flat: Block,
    potential: Reals,
    wells: Reals,
    output: int,
    half_inertia: Any,
    ship: Ship,
) -> None:
    """The greatest E/E_b so far, of every lane at an output; at least 1 beyond a barrier's heel."""
    outputs, keep, work = flat.outputs, flat.keep, flat.work
    one = ship.one
    low, port, starboard = wells[output, 0], wells[output, 2], wells[output, 3]
    per_barrier = one / wells[output, 1]
    for i in range(LANES):
        heel = outputs[Y * LANES + i] - ship.share * outputs[SLOPE * LANES + i]
        work[PLACE * LANES + i] = place_of(heel, ship)
    for i in range(LANES):
        past, k = row_of(work[PLACE * LANES + i], ship)
        stored, residual = both(potential[k])
        work[LEVER * LANES + i] = stored + past * residual
    for i in range(LANES):
        heel = outputs[Y * LANES + i] - ship.share * outputs[SLOPE * LANES + i]
        rate = outputs[RATE * LANES + i] - ship.share * outputs[SLOPE_RATE * LANES + i]
        energy = work[LEVER * LANES + i]
        ratio = (energy - low + half_inertia * rate * rate) * per_barrier
        ratio = one if ((heel > starboard) | (heel < port)) & (ratio < one) else ratio
        greatest = keep[ENERGY * LANES + i]
        keep[ENERGY * LANES + i] = ratio if ratio > greatest else greatest


@inner
def _note(
    flat: Block, output: int, stretch: Stretch, n: int, gust: Any, law: Any, ship: Ship
) -> None:
    """The histories at an output: roll, rate, slope, heeling lever."""
    state, histories = flat.outputs, flat.histories
    place = stretch.place[n]
    # What the timeline brings runs straight enough within a step; turbulence does not.
    speed = stretch.speed[n - 1] + place * (stretch.speed[n] - stretch.speed[n - 1])
    press = stretch.press[n - 1] + place * (stretch.press[n] - stretch.press[n - 1])
    lever = stretch.lever[n - 1] + place * (stretch.lever[n] - stretch.lever[n - 1])
    for i in range(LANES):
        roll = state[Y * LANES + i] + ship.added * state[SLOPE * LANES + i]
        v = speed
        if gust is not None:
            v += _gust_noted(stretch, output - stretch.first_output, gust, i)
        v = flat.keep[WIND_FACTOR * LANES + i] * v
        wind = press * v * abs(v)
        if law is not None:
            past, k = row_of(place_of(roll, ship), ship)
            part_of_wind, its_slope = both(law[k])
            wind *= part_of_wind + past * its_slope
        histories[0, output, i] = roll
        rate = state[RATE * LANES + i] + ship.added * state[SLOPE_RATE * LANES + i]
        histories[1, output, i] = rate
        histories[2, output, i] = state[SLOPE * LANES + i]
        histories[3, output, i] = lever + wind


@inner
def _gust_noted(stretch: Stretch, k: int, gust: Any, lane: int) -> float:
    """Turbulence [m/s] at output k of a stretch."""
    u = 0.0
    for tap in range(TAPS):
        u += stretch.noted_weights[k, tap] * gust[stretch.noted_rows[k] + tap, lane]
    return u


@inner
def _note_start(flat: Block, output: int, gust: Any, law: Any, start: Start, ship: Ship) -> None:
    """The histories at the output that a stretch begins with."""
    state, histories = flat.outputs, flat.histories
    for i in range(LANES):
        roll = state[Y * LANES + i] + ship.added * state[SLOPE * LANES + i]
        v = start.speed[0]
        if gust is not None:
            for tap in range(TAPS):
                v += start.gust_weights[0, tap] * gust[start.gust_rows[0] + tap, i]
        v = flat.keep[WIND_FACTOR * LANES + i] * v
        wind = start.press[0] * v * abs(v)
        if law is not None:
            past, k = row_of(place_of(roll, ship), ship)
            part_of_wind, its_slope = both(law[k])
            wind *= part_of_wind + past * its_slope
        rate = state[RATE * LANES + i] + ship.added * state[SLOPE_RATE * LANES + i]
        histories[0, output, i] = roll
        histories[1, output, i] = rate
        histories[2, output, i] = state[SLOPE * LANES + i]
        histories[3, output, i] = start.lever[0] + wind
