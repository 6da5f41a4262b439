"""The compiled steps of a block: loops over lanes, and what follows a step.

The sources are flat on purpose: helpers that take arrays would leave reference counts in the lane
loops and keep LLVM from vectorising them. What a case lacks (sea, elevation, turbulence, a law of
heel) is None, and numba leaves its code out.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from rollsim.compiled import vectorised
from rollsim.engines.block.adams import STEPS, Scheme
from rollsim.engines.block.closer import Step, closer_look, park
from rollsim.engines.block.given import Start, Stretch, Watch
from rollsim.engines.block.heart import Ship, foresee, kink, place_of, settle
from rollsim.engines.block.lanes import (
    AHEAD,
    GUST,
    HEEL_BOUND,
    HEEL_MOST,
    LANES,
    LAW,
    LEVEL,
    LEVER,
    LEVER_SLOPE,
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
    ROLL_BOUND,
    ROLL_MAX,
    ROLL_MIN,
    STAGE_Y,
    STRAIN,
    UPCROSSINGS,
    WIND_FACTOR,
    WIND_SQUARE,
    ZETA,
    Block,
)
from rollsim.engines.block.noting import (
    at_output,
    average,
    energies,
    extremes,
    note,
    potential_within,
    sides,
)
from rollsim.engines.block.starting import begin, look_over, runge_kutta_step
from rollsim.engines.block.tables import Tables, look_up, remake_righting
from rollsim.forcing.interpolation import TAPS

BEGINNING = -1
"""In place of a first step: the beginning of the stretch."""


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

    Ends early when no lane is under way any more. Where `first` is BEGINNING the stretch is begun,
    and no step is made.
    """
    if first == BEGINNING:
        begin(flat, slope, elevation, gust, law, tables, stretch, start, watch, ship, half_inertia)
        return 0
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
            gust_at = min(n, stretch.gust_rows.size - 1)
            gust_row, u = stretch.gust_rows[gust_at], stretch.gust_weights
            if slope is not None:
                for i in range(LANES):
                    value, rate = zero, zero
                    for tap in range(TAPS):
                        x = slope[row + tap, i]
                        value += w[at, tap] * x
                        rate += w[at, TAPS + tap] * x
                    states[OLD_SLOPE + i] = states[NEW_SLOPE + i]
                    states[OLD_SLOPE_RATE + i] = states[NEW_SLOPE_RATE + i]
                    states[NEW_SLOPE + i], states[NEW_SLOPE_RATE + i] = value, rate
            if elevation is not None:
                for i in range(LANES):
                    value = zero
                    for tap in range(TAPS):
                        value += w[at, tap] * elevation[row + tap, i]
                    work[ZETA * LANES + i] = value
            if gust is not None:
                for i in range(LANES):
                    value = zero
                    for tap in range(TAPS):
                        value += u[gust_at, tap] * gust[gust_row + tap, i]
                    work[GUST * LANES + i] = value
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
            extremes(flat, ship, m)
        under_way = True
        if near:
            step = Step(n, stretch.start + n * h, h, stretch.since[n], stretch.counts)
            shares = (np.float64(ship.added), -np.float64(ship.share), np.float64(ship.port_weight))
            under_way = closer_look(flat, step, watch.limits, shares)
        if stretch.sample[n] > 0.0:
            average(flat, stretch.sample[n] if stretch.counts else 0.0, ship)
        if watch.bottoms.size > 1:
            step = Step(n, stretch.start + n * h, h, stretch.since[n], stretch.counts)
            sides(flat, step, watch.bottoms, np.float64(ship.share))
        output = stretch.output[n]
        if output >= 0:
            at_output(flat, stretch, n)
            if stretch.counts:
                if stretch.moves:
                    potential_within(tables, stretch, n)
                energies(flat, potential, watch.wells, output, half_inertia, ship)
            if histories.shape[1] > 0:
                note(flat, output, stretch, n, gust, law, ship)
        if near:
            noted = stretch.start + (n + stretch.place[n]) * h if output >= 0 else np.inf
            park(flat, noted)
            if not under_way:
                return n + 1
    return last
