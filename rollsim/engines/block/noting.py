"""What is noted of a block after a step: extremes, averages, sides, outputs and energies.

Loops over lanes, put whole into the steps.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from rollsim.compiled import inner, merged
from rollsim.engines.block.adams import Scheme
from rollsim.engines.block.closer import Step
from rollsim.engines.block.given import Start, Stretch
from rollsim.engines.block.heart import Ship, place_of, row_of
from rollsim.engines.block.lanes import (
    ENERGY,
    HEEL_MOST,
    LANES,
    LAST,
    LAST_RATE,
    LEVER,
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
    ROLL_MAX,
    ROLL_MIN,
    SIDES,
    SLOPE,
    SLOPE_RATE,
    SQUARES,
    STRAIN,
    SUM,
    WIND_FACTOR,
    Block,
    Y,
)
from rollsim.engines.block.pairs import both
from rollsim.engines.block.tables import Tables, remake_potential
from rollsim.engines.sides import change_side
from rollsim.forcing.interpolation import TAPS

Floats = NDArray[np.float64]
Reals = NDArray[Any]
Whole = NDArray[np.int64]


@merged
def extremes(flat: Block, ship: Ship, m: Scheme) -> None:
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
def average(flat: Block, span: float, ship: Ship) -> None:
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
def sides(flat: Block, step: Step, bottoms: Floats, share: float) -> None:
    """Which well's bottom each lane reached last; when it was another one's, the chord tells."""
    states, record = flat.states, flat.record
    for i in range(LANES):
        heel = states[NEW_Y + i] - share * states[NEW_SLOPE + i]
        before = np.int64(record[SIDES * LANES + i])
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
def at_output(flat: Block, stretch: Stretch, n: int) -> None:
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
def note(
    flat: Block, output: int, stretch: Stretch, n: int, gust: Any, law: Any, ship: Ship
) -> None:
    """The histories at the output within step n."""
    place, k = stretch.place[n], output - stretch.first_output
    # What the timeline brings runs straight enough within a step; turbulence does not.
    speed = stretch.speed[n - 1] + place * (stretch.speed[n] - stretch.speed[n - 1])
    press = stretch.press[n - 1] + place * (stretch.press[n] - stretch.press[n - 1])
    lever = stretch.lever[n - 1] + place * (stretch.lever[n] - stretch.lever[n - 1])
    acting = speed, press, lever
    _write(flat, output, acting, stretch.noted_rows, stretch.noted_weights, k, gust, law, ship)


@inner
def note_start(flat: Block, output: int, gust: Any, law: Any, start: Start, ship: Ship) -> None:
    """The histories at the output that a stretch begins with."""
    acting = np.float64(start.speed[0]), np.float64(start.press[0]), np.float64(start.lever[0])
    k = np.int64(0)
    _write(flat, output, acting, start.gust_rows, start.gust_weights, k, gust, law, ship)


@inner
def _write(
    flat: Block,
    output: int,
    acting: tuple[float, float, float],
    rows: Whole,
    weights: Reals,
    k: int | np.int64,
    gust: Any,
    law: Any,
    ship: Ship,
) -> None:
    """Roll, rate, slope and heeling lever at an output, under a wind speed, its lever per V² and a
    steady lever; row k of `rows` and `weights` finds the turbulence there."""
    state, histories = flat.outputs, flat.histories
    speed, press, lever = acting
    for i in range(LANES):
        roll = state[Y * LANES + i] + ship.added * state[SLOPE * LANES + i]
        v = speed
        if gust is not None:
            for tap in range(TAPS):
                v += weights[k, tap] * gust[rows[k] + tap, i]
        v = flat.keep[WIND_FACTOR * LANES + i] * v
        wind = press * v * abs(v)
        if law is not None:
            past, at = row_of(place_of(roll, ship), ship)
            part_of_wind, its_slope = both(law[at])
            wind *= part_of_wind + past * its_slope
        rate = state[RATE * LANES + i] + ship.added * state[SLOPE_RATE * LANES + i]
        histories[0, output, i] = roll
        histories[1, output, i] = rate
        histories[2, output, i] = state[SLOPE * LANES + i]
        histories[3, output, i] = lever + wind


@inner
def potential_within(tables: Tables, stretch: Stretch, n: int) -> None:
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
