"""The levers of a case as the block's steps look them up, remade where G moves."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from rollsim.compiled import inner, merged
from rollsim.engines.base import Case
from rollsim.engines.block.heart import Ship, place_of, row_of
from rollsim.engines.block.lanes import (
    LANES,
    LAW,
    LEVER,
    LEVER_SLOPE,
    NEW_SLOPE,
    PLACE,
    STAGE_Y,
    ZETA,
    Block,
)
from rollsim.engines.block.pairs import both, no_pairs, paired, pairs_of
from rollsim.ship.lever_table import LeverTable, filled_rows, tabulated
from rollsim.ship.levers import Levers
from rollsim.ship.righting import HEELING_LAWS
from rollsim.ship.wave_levers import WaveLevers

Floats = NDArray[np.float64]
Reals = NDArray[Any]

WIDEST_STEP = math.radians(0.1)
LEAST_STEP = math.radians(0.002)
LASTING = 10.0
"""Periods from which errors count as lasting."""
LEVER_SHARE = 0.05
"""Error of a lever [m] that is allowed for each radian of accuracy: a twentieth of what would heel
a ship of a metre of GM by so much."""


class Tables(NamedTuple):
    """Levers on a uniform grid of heels `step` [rad] apart, row `upright` at 0 exactly: a ship at
    rest on the crest of a negative GM must not be pushed off by rounding.

    `righting` (levels, n) GZ [m] and its slope for the loading now, as `pairs`, a level for each
    elevation in the levers' table; `potential` (n) of the residual lever [m rad] and its slope;
    both remade when G moves from `kn` (levels, 2, n), KN and slope, and `shape` (7, n): heel, sine,
    cosine, ∫ KN, ∫ law, KN, law, all of still water. `law` (n): the wind's law of heel and its
    slope.
    `filling` (states, 3, n) is what tanks that fill add over their coordinate: value, slope,
    integral; zeros where none does. Each number lies in one row, for loops over the heels.
    """

    upright: int
    step: float
    first_level: float
    level_step: float
    righting: Reals
    potential: Reals
    kn: Floats
    shape: Floats
    law: Reals
    filling: Floats


def make_tables(case: Case, kind: type, periods: float) -> Tables:
    """Tables over the levers' whole range, as fine as the case's accuracy needs.

    `periods` is how many of her shortest rolls an error lasts for.
    """
    law = case.heeling.law
    assert HEELING_LAWS[law].power == case.coefficients.heel_law
    step = _step(case, periods)
    table, kn, shape = _of_hull(case.levers, step, case.gm_per_m, case.waves, law)
    levels, _, count = kn.shape
    filling = np.zeros((2, 3, count))
    if case.filling is not None:
        filling = np.moveaxis(filled_rows(case.filling, table, "integral"), 2, 1)
    return Tables(
        upright=table.upright,
        step=table.step,
        first_level=table.first_level,
        level_step=table.level_step,
        righting=no_pairs((levels, count), kind),
        potential=no_pairs((count,), kind),
        kn=kn,
        shape=shape,
        law=pairs_of(shape[6], HEELING_LAWS[law].slope(shape[0]), kind),
        filling=np.ascontiguousarray(filling),
    )


@lru_cache(maxsize=8)
def _of_hull(
    levers: Levers, step: float, gm_per_m: float, waves: WaveLevers | None, law: str
) -> tuple[LeverTable, Floats, Floats]:
    """The table of the levers, and `kn` and `shape` of Tables: the same for all loadings, and not
    to be changed."""
    table, heeling = tabulated(levers, step, gm_per_m, waves), HEELING_LAWS[law]
    heel = table.heel
    known: Floats = np.asarray(np.clip(heel, levers.heel_min, levers.heel_max))
    integral = levers.integral(known) + levers.kn(known) * (heel - known)
    still = table.kn[table.still, :, 0]
    shape = [
        heel, np.sin(heel), np.cos(heel), integral, heeling.integral(heel), still,
        heeling.value(heel),
    ]  # fmt: skip
    kn = np.ascontiguousarray(np.moveaxis(table.kn[:, :, :2], 2, 1))
    return table, kn, np.stack(shape)


def _step(case: Case, periods: float) -> float:
    """Distance of the rows [rad]: value and slope of the nearest miss by curvature · step² / 8.

    Where errors last for many `periods`, rows are twice as near.
    """
    bend = case.levers.greatest_curvature + abs(case.gravity.virtual_kg)
    step = math.sqrt(8.0 * LEVER_SHARE * case.accuracy / max(bend, 1e-9))
    widest = WIDEST_STEP if periods < LASTING else 0.5 * WIDEST_STEP
    return min(max(step, LEAST_STEP), widest)


def own_tables(tables: Tables) -> Tables:
    """Tables with room of their own for what is remade: blocks may be stepped side by side."""
    righting, potential = np.zeros_like(tables.righting), np.zeros_like(tables.potential)
    return tables._replace(righting=righting, potential=potential)


@inner
def remake_righting(tables: Tables, g: float, y: float, filling: float) -> None:
    """GZ and its slope for G at the virtual height `g` and `y` off the centreline [m].

    `filling` is the coordinate of tanks that fill.
    """
    kn, shape, fills, righting = tables.kn, tables.shape, tables.filling, tables.righting
    j = min(max(np.int64(filling), 0), fills.shape[0] - 2)
    part = filling - j
    empty = tables.potential[0]
    for level in range(kn.shape[0]):
        for k in range(shape.shape[1]):
            s, t = shape[1, k], shape[2, k]
            value = fills[j, 0, k] + part * (fills[j + 1, 0, k] - fills[j, 0, k])
            change = fills[j, 1, k] + part * (fills[j + 1, 1, k] - fills[j, 1, k])
            righting[level, k] = paired(
                empty,
                kn[level, 0, k] - g * s - y * t + value,
                kn[level, 1, k] - g * t + y * s + change,
            )


@inner
def remake_potential(
    tables: Tables, g: float, y: float, mean_wind: float, lever: float, filling: float
) -> None:
    """The residual lever and its integral from upright, under two steady levers besides."""
    shape, fills, potential = tables.shape, tables.filling, tables.potential
    j = min(max(np.int64(filling), 0), fills.shape[0] - 2)
    part = filling - j
    empty = potential[0]
    for k in range(shape.shape[1]):
        s, t = shape[1, k], shape[2, k]
        value = fills[j, 0, k] + part * (fills[j + 1, 0, k] - fills[j, 0, k])
        more = fills[j, 2, k] + part * (fills[j + 1, 2, k] - fills[j, 2, k])
        stored = shape[3, k] - g * (1.0 - t) - y * s + more
        potential[k] = paired(
            empty,
            stored - mean_wind * shape[4, k] - lever * shape[0, k],
            shape[5, k] - g * s - y * t + value - mean_wind * shape[6, k] - lever,
        )


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
