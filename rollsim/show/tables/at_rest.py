"""A case at rest as a row of numbers: what the result holds, and what its curves say."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from rollsim.ship.righting import RightingCurve
from rollsim.ship.statics import greatest_lever
from rollsim.show.query import cases
from rollsim.show.query.curves import at_heel, heels, righting
from rollsim.show.tables import cells
from rollsim.show.tables.columns import Column
from rollsim.show.tables.summary import Row, static_row

if TYPE_CHECKING:
    import xarray as xr

AREAS = ((0, 30), (0, 40), (30, 40))
"""The heels [degree] between which the area under GZ is given."""


def rest_row(ds: xr.Dataset, case: int) -> Row:
    """The static numbers of a case, KG and KM, and the greatest lever and areas under GZ.

    GZ is that of the start, off-centre G included, heeling levers left out; None where unknown.
    """
    row = static_row(ds, case)
    if "displacement" in ds.variables:
        row["displacement_t"] = cases.number(ds, "displacement", case=case)
    row["kg_m"] = cases.number(ds, "centre_of_gravity_z", case=case, t=0)
    height = cases.values(ds, "metacentre_z", case=case)
    row["km_m"] = float(at_heel(np.zeros(1), heels(ds), height)[0])
    curve = righting(ds, case)
    heel, lever = greatest_lever(curve) if curve else (math.nan, math.nan)
    row |= {"greatest_gz_m": lever, "greatest_gz_deg": math.degrees(heel)}
    return row | {f"area_{a}_{b}_m_rad": _area(curve, a, b) for a, b in AREAS}


def _area(curve: RightingCurve | None, low: float, high: float) -> float | None:
    """The area under GZ between two heels [degree]; None where the levers end before."""
    if curve is None or math.radians(high) > curve.levers.heel_max + 1e-12:
        return None
    return curve.area(math.radians(low), math.radians(high))


def columns(rows: Sequence[Row]) -> list[Column]:
    """The numbers at rest, one row a case."""
    gm, *angles = cells.statics(rows)
    return [
        *cells.stored(rows, "displacement [t]", "displacement_t", 1),
        cells.numbers(rows, "KG [m]", "kg_m", 3),
        cells.numbers(rows, "KM [m]", "km_m", 3),
        gm,
        *angles,
        cells.numbers(rows, "greatest GZ [m]", "greatest_gz_m", 3),
        cells.numbers(rows, "at heel [°]", "greatest_gz_deg", 1),
        *(
            cells.numbers(rows, f"area under GZ {a}° to {b}° [m·rad]", f"area_{a}_{b}_m_rad", 4)
            for a, b in AREAS
        ),
    ]
