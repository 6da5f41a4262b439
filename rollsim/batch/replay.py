"""Any single run of a result made again, bit for bit, from the result file alone."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from rollsim.batch.plan import Chunk, Plan, make_plan
from rollsim.batch.result import Arrays, of_case, probabilities
from rollsim.batch.run import attributes, axes
from rollsim.batch.runs import HISTORIES
from rollsim.batch.workers import run_here
from rollsim.errors import Fault, InputError
from rollsim.names import RUN, VARIABLES, Outcome
from rollsim.scenario.load import loads
from rollsim.store.netcdf import AxisCoordinate, write_result

if TYPE_CHECKING:
    import xarray as xr


def replay(ds: xr.Dataset, case: int, realisation: int, path: Path) -> bool:
    """Run one run of `ds` again and write it to `path`; whether its numbers are those of `ds`.

    `case` and `realisation` are places in `ds`. The numbers are the same, bit for bit, under the
    same versions and kind of processor; a run that `ds` has not run has none that could differ.
    """
    place = {"case": case, "realisation": realisation}
    case, realisation = (int(ds[name][at]) for name, at in place.items())
    file = str(ds.attrs.get("scenario_file", "scenario"))
    plan = make_plan(loads(str(ds.attrs["scenario_text"]), file))
    if case >= len(plan.cases):
        problem = f"its scenario has {len(plan.cases)} cases, none of number {case}"
        raise InputError(file, [Fault("", problem, "the result is damaged or was edited")])
    found = _variables(plan, case, realisation)
    numbers = {"case": np.array([case]), "realisation": np.array([realisation])}
    one = [
        AxisCoordinate(axis.name, axis.key, axis.unit, [axis.values[case]]) for axis in axes(plan)
    ]
    said = attributes(plan) | {
        "history": f"rollsim replay of case {case}, realisation {realisation}",
        "histories": "all",
    }
    write_result(path, found | numbers, one, said, plan.study.text)
    if ds["outcome"].isel(place) == Outcome.NOT_RUN:
        return True
    return all(
        np.array_equal(np.ravel(found[name]), np.ravel(ds[name].isel(place).values), equal_nan=True)
        for name, variable in VARIABLES.items()
        if variable.dims == RUN and variable.dtype != "str"
    )


def _variables(plan: Plan, case: int, realisation: int) -> Arrays:
    """Every variable of a result of this one run."""
    runs = run_here(plan, Chunk(case, realisation, realisation + 1))
    held = of_case(plan.cases[case], plan)
    found: Arrays = {name: np.array([value]) for name, value in held.items()}
    found |= {name: values[None] for name, values in runs.numbers.items()}
    found["message"] = found["message"].astype(np.str_)
    found |= dict(zip(HISTORIES, runs.histories[:, None], strict=True))
    found |= probabilities(found, np.array([False]))
    found["condition"] = np.array([plan.cases[case].condition])
    found["t"], found["heel"] = plan.times, plan.heel
    return found
