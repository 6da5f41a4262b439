"""The static picture of a study: a Dataset without runs, and the numbers of its stability table."""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from rollsim.batch.build import Case
from rollsim.batch.case import curves, statics
from rollsim.batch.study import Plan
from rollsim.names import COORDINATES, VARIABLES
from rollsim.ship.statics import RightingCurve, equilibria, greatest_lever

if TYPE_CHECKING:
    import xarray as xr

StaticRow = tuple[str, str, list[float]]
"""Name, unit, one value a case."""


def static_dataset(plan: Plan) -> xr.Dataset:
    """All variables of a result that need no run, labelled as in the file."""
    import xarray as xr

    rows = [{**statics(case), **curves(case, plan.heel)} for case in plan.cases]
    data = {
        name: (VARIABLES[name].dims, np.array([row[name] for row in rows]), _attributes(name))
        for name in rows[0]
    }
    coordinates = {
        "heel": ("heel", plan.heel, {"units": COORDINATES["heel"].units}),
        "condition": ("case", np.array([case.condition for case in plan.cases])),
    }
    for axis in plan.study.axes:
        values = np.array([case.coordinates[axis.name] for case in plan.cases])
        coordinates[axis.name] = ("case", values, {"units": axis.units})
    title = plan.study.base.title or Path(plan.study.file).stem
    return xr.Dataset(data, coordinates, {"title": title})


def _attributes(name: str) -> dict[str, str]:
    return {"units": VARIABLES[name].units, "long_name": VARIABLES[name].long_name}


def static_rows(cases: tuple[Case, ...]) -> list[StaticRow]:
    """The rows of the stability table, without wind but for the static heel."""
    columns = [_column(case) for case in cases]
    return [(name, unit, [column[name, unit] for column in columns]) for name, unit in columns[0]]


def _column(case: Case) -> dict[tuple[str, str], float]:
    rest = statics(case)
    curve = RightingCurve(case.levers, case.gravity)
    heel, lever = greatest_lever(curve)
    vanishing = rest["vanishing_angle"]
    assert isinstance(vanishing, float)
    to_end = case.levers.heel_max if math.isnan(vanishing) else math.radians(vanishing)
    found: dict[tuple[str, str], float] = {
        ("GM", "m"): float(rest["gm"]),
        ("angle of loll, starboard", "°"): float(rest["loll_angle"]),
        ("angle of loll, port", "°"): float(rest["loll_angle_port"]),
        ("static heel under mean wind", "°"): float(rest["static_heel"]),
        ("vanishing angle, starboard", "°"): vanishing,
        ("vanishing angle, port", "°"): float(rest["vanishing_angle_port"]),
        ("greatest GZ", "m"): lever,
        ("heel of greatest GZ", "°"): math.degrees(heel),
    }
    for low, high in ((0.0, 30.0), (0.0, 40.0), (30.0, 40.0)):
        found[f"area under GZ, {low:.0f}° to {high:.0f}°", "m rad"] = _area(curve, low, high)
    found["area under GZ to the vanishing angle, or the end", "m rad"] = curve.area(0.0, to_end)
    return found


def _area(curve: RightingCurve, low: float, high: float) -> float:
    """Area between two heels [degree], NaN where the levers end before."""
    if math.radians(high) > curve.levers.heel_max + 1e-12:
        return math.nan
    return curve.area(math.radians(low), math.radians(high))


def equilibrium_lines(cases: tuple[Case, ...], labels: list[str]) -> list[str]:
    """One line a case: every heel at which she can rest under mean wind, and its kind."""
    lines = []
    for case, label in zip(cases, labels, strict=True):
        found = [f"{math.degrees(e.heel):+.2f}° {e.kind}" for e in equilibria(case.curve)]
        lines.append(f"{label}: {', '.join(found) or 'none'}")
    return lines
