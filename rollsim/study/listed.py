"""A list of runs of one case as a Dataset."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from rollsim.engines.base import RunList
from rollsim.engines.runs import HISTORIES, Runs
from rollsim.names import VARIABLES
from rollsim.study.plan import Plan

if TYPE_CHECKING:
    import xarray as xr


def runs_dataset(plan: Plan, wanted: RunList, runs: Runs) -> xr.Dataset:
    """The runs over dimension `run`: what was wanted as coordinates, what came of it as variables.

    Angles in degrees, in the units of a result; histories where the runs hold them.
    """
    import xarray as xr

    data: dict[str, Any] = {
        name: ("run", np.asarray(values).astype(str) if name == "message" else values)
        for name, values in runs.numbers.items()
    }
    coordinates: dict[str, Any] = {
        "realisation": ("run", wanted.realisation.astype(np.int64)),
        "start_roll": ("run", np.degrees(wanted.roll), {"units": "degree"}),
        "start_roll_rate": ("run", np.degrees(wanted.rate), {"units": "degree s-1"}),
        "waves_factor": ("run", wanted.waves, {"units": "1"}),
        "wind_factor": ("run", wanted.wind, {"units": "1"}),
    }
    if runs.histories.shape[2]:
        data |= {
            name: (("run", "t"), values)
            for name, values in zip(HISTORIES, runs.histories, strict=True)
        }
        coordinates["t"] = ("t", plan.times, {"units": "s"})
    dataset = xr.Dataset(data, coordinates)
    for name in data:
        dataset[name].attrs |= {
            "units": VARIABLES[name].units,
            "long_name": VARIABLES[name].long_name,
        }
    return dataset
