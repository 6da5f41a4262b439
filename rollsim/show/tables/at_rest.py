"""A case at rest as a row of numbers: what the result holds, and what its curves say."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from rollsim.names import VARIABLES
from rollsim.ship.righting import RightingCurve
from rollsim.ship.statics import greatest_lever
from rollsim.show.query import cases
from rollsim.show.query.curves import at_heel, heels, righting
from rollsim.show.tables import cells
from rollsim.show.tables.columns import Column
from rollsim.show.tables.summary import Row, plain, static_row, with_unit

if TYPE_CHECKING:
    import xarray as xr

AREAS = ((0, 30), (0, 40), (30, 40))
"""The heels [degree] between which the area under GZ is given."""


def rest_row(ds: xr.Dataset, case: int) -> Row:
    """The static numbers of a case, its loading and periods, and what its levers come to.

    GZ is that of the start, off-centre G included, heeling levers left out; None where unknown.
    """
    row = static_row(ds, case)
    for name in ("displacement", "encounter_period"):
        if name in ds.variables:
            known = with_unit(name, VARIABLES[name].units)
            row[known] = plain(cases.number(ds, name, case=case))
    row["kg_m"] = cases.number(ds, "centre_of_gravity_z", case=case, t=0)
    height = cases.values(ds, "metacentre_z", case=case)
    row["km_m"] = plain(float(at_heel(np.zeros(1), heels(ds), height)[0]))
    curve = righting(ds, case)
    heel, lever = greatest_lever(curve) if curve else (math.nan, math.nan)
    row |= {"greatest_gz_m": plain(lever), "greatest_gz_deg": plain(math.degrees(heel))}
    row |= {f"area_{a}_{b}_m_rad": _area(curve, a, b) for a, b in AREAS}
    ends = (row["vanishing_angle_deg"], row["gz_positive_to_deg"])
    last = next((end for end in ends if end is not None), None)
    return row | {"area_to_vanishing_m_rad": None if last is None else _area(curve, 0.0, last)}


def _area(curve: RightingCurve | None, low: float, high: float) -> float | None:
    """The area under GZ between two heels [degree]; None where the levers end before."""
    if curve is None or math.radians(high) > curve.levers.heel_max + 1e-12:
        return None
    return curve.area(math.radians(low), min(math.radians(high), curve.levers.heel_max))


def columns(rows: Sequence[Row]) -> list[Column]:
    """The numbers at rest, one row a case."""
    gm, loll, heel, vanishing = cells.statics(rows)
    areas = [(f"area under GZ {a}° to {b}°", f"area_{a}_{b}_m_rad") for a, b in AREAS]
    areas.append(("area under GZ to vanishing, or the end", "area_to_vanishing_m_rad"))
    return [
        *cells.stored(rows, "displacement [t]", "displacement_t", 1),
        cells.numbers(rows, "KG [m]", "kg_m", 3),
        cells.numbers(rows, "KM [m]", "km_m", 3),
        gm,
        *cells.stored(rows, "roll period upright [s]", "roll_period_upright_s", 1),
        loll,
        heel,
        *cells.stored(rows, "roll period about static heel [s]", "roll_period_s", 1),
        *_met(rows),
        vanishing,
        cells.numbers(rows, "greatest GZ [m]", "greatest_gz_m", 3),
        Column("at heel [°]", [_greatest_at(row) for row in rows]),
        *(cells.numbers(rows, f"{words} [m·rad]", name, 4) for words, name in areas),
    ]


def _greatest_at(row: Row) -> str:
    """The heel of the greatest GZ; levers that end there may go on rising."""
    heel, end = row["greatest_gz_deg"], row["gz_positive_to_deg"]
    at_end = heel is not None and end is not None and heel >= end - 1e-6
    return cells.number(heel, 1) + cells.END_OF_LEVERS * at_end


def _met(rows: Sequence[Row]) -> list[Column]:
    """The encounter period, where there are waves in any case."""
    if not any(row.get("encounter_period_s") for row in rows):
        return []
    return [cells.numbers(rows, "encounter period of the waves [s]", "encounter_period_s", 1)]
