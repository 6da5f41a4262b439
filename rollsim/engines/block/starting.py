"""The start of a stretch and its first steps, by Runge-Kutta: nothing goes on past a corner."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from rollsim.compiled import inner, vectorised_inner
from rollsim.engines.block.adams import STEPS, Scheme
from rollsim.engines.block.given import Start, Stretch, Watch
from rollsim.engines.block.heart import Ship, place_of
from rollsim.engines.block.lanes import (
    GUST,
    HEEL_BOUND,
    HEEL_MOST,
    LANES,
    LAW,
    LEVEL,
    LEVER,
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
    ROWS,
    STAGE_RATE,
    STAGE_Y,
    STRAIN,
    UPCROSSINGS,
    WIND_FACTOR,
    WIND_SQUARE,
    ZETA,
    Block,
)
from rollsim.engines.block.noting import energies, note_start
from rollsim.engines.block.tables import Tables, look_up, remake_potential, remake_righting
from rollsim.forcing.interpolation import TAPS
from rollsim.motion.moments import damping, damping_slope

Reals = NDArray[Any]


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


@vectorised_inner
def begin(
    flat: Block,
    slope: Any,
    elevation: Any,
    gust: Any,
    law: Any,
    tables: Tables,
    stretch: Stretch,
    start: Start,
    watch: Watch,
    ship: Ship,
    half_inertia: Any,
) -> None:
    """Tables, slope and acceleration at the start of a stretch, where y and y′ are known, and the
    output there, if there is one."""
    states, outputs, work = flat.states, flat.outputs, flat.work
    output = stretch.at_start
    righting_at(tables, start, np.int64(0))
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
            note_start(flat, output, gust, law, start, ship)
        if stretch.counts:
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
        righting_at(tables, start, 2 * n + 1)
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
        righting_at(tables, start, 2 * n + 2)
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


@inner
def righting_at(tables: Tables, start: Start, k: int | np.int64) -> None:
    """The righting lever for the loading at place k of a start."""
    remake_righting(tables, start.height[k], start.across[k], start.filling[k])
