"""The static picture of a study: all that needs no run, as a Dataset and as a table."""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from rollsim.engines.base import Case
from rollsim.names import COORDINATES, VARIABLES
from rollsim.ship.equilibria import equilibria
from rollsim.ship.levers import metacentric_height
from rollsim.ship.righting import RightingCurve
from rollsim.ship.statics import greatest_lever
from rollsim.study.at_rest import of_cases
from rollsim.study.equilibrium import about_static_heel, angles
from rollsim.study.plan import Plan

if TYPE_CHECKING:
    import xarray as xr

StaticRow = tuple[str, str, list[float]]
"""Name, unit, one value a case."""


def static_dataset(plan: Plan) -> xr.Dataset:
    """All variables of a result that need no run, labelled as in the file."""
    import xarray as xr

    variables = of_cases(plan, range(len(plan.cases)))
    known = [name for name in variables if name in VARIABLES and name != "weather_digest"]
    data = {
        name: (VARIABLES[name].dims, np.asarray(variables[name]), _attributes(name))
        for name in known
    }
    for name in ("centre_of_gravity_y", "centre_of_gravity_z", "free_surface_rise"):
        if name not in variables:
            continue
        data[name] = (("case", "t"), np.asarray(variables[name])[:, :1], {"units": "m"})
    coordinates: dict[str, Any] = {
        "t": ("t", np.zeros(1), {"units": "s"}),
        "heel": ("heel", plan.heel, {"units": COORDINATES["heel"].units}),
        "condition": ("case", np.array([case.condition for case in plan.cases])),
    }
    for axis in plan.study.axes:
        values = np.array([case.coordinates[axis.name] for case in plan.cases])
        says: dict[str, str | int] = {"units": axis.units, "scenario_key": axis.key}
        says |= {"scenario_offset": 1} if axis.offset else {}
        coordinates[axis.name] = ("case", values, says)
    title = plan.study.base.title or Path(plan.study.file).stem
    return xr.Dataset(data, coordinates, {"title": title, "scenario_text": plan.study.text})


def _attributes(name: str) -> dict[str, str]:
    return {"units": VARIABLES[name].units, "long_name": VARIABLES[name].long_name}


def static_rows(cases: tuple[Case, ...]) -> list[StaticRow]:
    """The rows of the stability table, without wind but for the static heel."""
    start = np.array([case.start[0] for case in cases])
    rest = angles(cases) | about_static_heel(cases, np.arange(len(cases)), start)
    columns = [
        _column(case, {name: float(values[i]) for name, values in rest.items()})
        for i, case in enumerate(cases)
    ]
    return [(name, unit, [column[name, unit] for column in columns]) for name, unit in columns[0]]


def _column(case: Case, rest: dict[str, float]) -> dict[tuple[str, str], float]:
    curve = RightingCurve(case.levers, case.gravity)
    heel, lever = greatest_lever(curve)
    vanishing = rest["vanishing_angle"]
    to_end = case.levers.heel_max if math.isnan(vanishing) else math.radians(vanishing)
    column: dict[tuple[str, str], float] = {
        ("GM", "m"): metacentric_height(case.levers, case.gravity),
        ("angle of loll, starboard", "°"): rest["loll_angle"],
        ("angle of loll, port", "°"): rest["loll_angle_port"],
        ("static heel under mean wind", "°"): rest["static_heel"],
        ("vanishing angle, starboard", "°"): vanishing,
        ("vanishing angle, port", "°"): rest["vanishing_angle_port"],
        ("greatest GZ", "m"): lever,
        ("heel of greatest GZ", "°"): math.degrees(heel),
    }
    for low, high in ((0.0, 30.0), (0.0, 40.0), (30.0, 40.0)):
        column[f"area under GZ, {low:.0f}° to {high:.0f}°", "m rad"] = _area(curve, low, high)
    column["area under GZ to the vanishing angle, or the end", "m rad"] = curve.area(0.0, to_end)
    return column


def _area(curve: RightingCurve, low: float, high: float) -> float:
    """Area between two heels [degree], NaN where the levers end before."""
    if math.radians(high) > curve.levers.heel_max + 1e-12:
        return math.nan
    return curve.area(math.radians(low), math.radians(high))


def equilibrium_lines(cases: tuple[Case, ...], labels: list[str]) -> list[str]:
    """One line a case: every heel at which she can rest under mean wind, and its kind."""
    lines = []
    for case, label in zip(cases, labels, strict=True):
        rests = [f"{math.degrees(e.heel):+.2f}° {e.kind}" for e in equilibria(case.curve)]
        lines.append(f"{label}: {', '.join(rests) or 'none'}")
    return lines
