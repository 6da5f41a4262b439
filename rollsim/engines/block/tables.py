"""The levers of a case as the block's steps look them up, remade where G moves."""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from rollsim.compiled import inner
from rollsim.engines.base import Case
from rollsim.engines.block.pairs import no_pairs, paired, pairs_of
from rollsim.motion.coefficients import NO_FILLING
from rollsim.ship.lever_table import filled_rows, tabulated
from rollsim.ship.righting import HEELING_LAWS

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
    both remade when G moves from `kn` (levels, n, 2), KN and slope, and `shape` (n, 7): heel, sine,
    cosine, ∫ KN, ∫ law, KN, law, all of still water. `law` (n): the wind's law of heel and its
    slope.
    `filling` (states, n, 3) is what tanks that fill add over their coordinate: value, slope,
    integral.
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
    levers, c = case.levers, case.coefficients
    table = tabulated(levers, _step(case, periods), case.gm_per_m, case.waves)
    heel = table.heel
    known: Floats = np.asarray(np.clip(heel, levers.heel_min, levers.heel_max))
    law = HEELING_LAWS[case.heeling.law]
    integral = levers.integral(known) + levers.kn(known) * (heel - known)
    still = table.kn[table.still, :, 0]
    shape = [
        heel, np.sin(heel), np.cos(heel), integral, law.integral(heel), still, law.value(heel)
    ]  # fmt: skip
    levels, count = table.kn.shape[:2]
    assert law.power == c.heel_law
    return Tables(
        upright=table.upright,
        step=table.step,
        first_level=table.first_level,
        level_step=table.level_step,
        righting=no_pairs((levels, count), kind),
        potential=no_pairs((count,), kind),
        kn=np.ascontiguousarray(table.kn[:, :, :2]),
        shape=np.stack(shape, axis=1),
        law=pairs_of(law.value(heel), law.slope(heel), kind),
        filling=filled_rows(case.filling, table, "integral") if case.filling else NO_FILLING,
    )


def _step(case: Case, periods: float) -> float:
    """Distance of the rows [rad]: value and slope of the nearest miss by curvature · step² / 8.

    Where errors last for many `periods`, rows are twice as near.
    """
    heel = case.levers.grid.heel
    bend = np.abs(case.levers.curvature(heel)) + abs(case.gravity.virtual_kg)
    step = math.sqrt(8.0 * LEVER_SHARE * case.accuracy / max(float(np.max(bend)), 1e-9))
    widest = WIDEST_STEP if periods < LASTING else 0.5 * WIDEST_STEP
    return min(max(step, LEAST_STEP), widest)


def own_tables(tables: Tables) -> Tables:
    """Tables with room of their own for what is remade: blocks may be stepped side by side."""
    righting, potential = np.zeros_like(tables.righting), np.zeros_like(tables.potential)
    return tables._replace(righting=righting, potential=potential)


@inner
def remake(
    tables: Tables, kg: float, off_centre: float, mean_wind: float, lever: float, filling: float
) -> None:
    """The tables for G at the virtual height `kg` and `off_centre` [m], and two steady levers.

    `filling` is the coordinate of tanks that fill.
    """
    g, y = kg, off_centre
    fills = tables.filling.shape[0] > 1
    j = min(max(int(filling), 0), tables.filling.shape[0] - 2)
    part = filling - j
    value, rate, area = 0.0, 0.0, 0.0
    empty = tables.potential[0]
    for k in range(tables.shape.shape[0]):
        heel, s, t = tables.shape[k, 0], tables.shape[k, 1], tables.shape[k, 2]
        if fills:
            low, high = tables.filling[j, k], tables.filling[j + 1, k]
            value = low[0] + part * (high[0] - low[0])
            rate = low[1] + part * (high[1] - low[1])
            area = low[2] + part * (high[2] - low[2])
        for level in range(tables.kn.shape[0]):
            tables.righting[level, k] = paired(
                empty,
                tables.kn[level, k, 0] - g * s - y * t + value,
                tables.kn[level, k, 1] - g * t + y * s + rate,
            )
        stored = tables.shape[k, 3] - g * (1.0 - t) - y * s + area
        lever_now = tables.shape[k, 5] - g * s - y * t + value
        tables.potential[k] = paired(
            empty,
            stored - mean_wind * tables.shape[k, 4] - lever * heel,
            lever_now - mean_wind * tables.shape[k, 6] - lever,
        )
