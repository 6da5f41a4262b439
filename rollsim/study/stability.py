"""The static picture of a study: all that needs no run, as a Dataset, and where she can rest."""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from rollsim.engines.base import Case
from rollsim.names import COORDINATES, VARIABLES
from rollsim.ship.equilibria import equilibria
from rollsim.study.at_rest import of_cases
from rollsim.study.plan import Plan

if TYPE_CHECKING:
    import xarray as xr


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
        says |= {"scenario_item": axis.item} if axis.item else {}
        coordinates[axis.name] = ("case", values, says)
    title = plan.study.base.title or Path(plan.study.file).stem
    return xr.Dataset(data, coordinates, {"title": title, "scenario_text": plan.study.text})


def _attributes(name: str) -> dict[str, str]:
    return {"units": VARIABLES[name].units, "long_name": VARIABLES[name].long_name}


def resting_places(case: Case) -> list[tuple[float, str]]:
    """Every heel [degree] at which she can rest under the mean wind of t = 0, and its kind."""
    return [(math.degrees(rest.heel), rest.kind) for rest in equilibria(case.curve)]
