"""Any single run of a result made again, bit for bit, from the result file alone."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from rollsim.engines.runs import NUMBERS
from rollsim.errors import Fault, InputError
from rollsim.names import VARIABLES, Outcome
from rollsim.scenario.load import loads
from rollsim.store.netcdf import write_result
from rollsim.study.plan import make_plan
from rollsim.study.result import single
from rollsim.study.run import attributes, axes
from rollsim.study.workers import Engines

if TYPE_CHECKING:
    import xarray as xr


def replay(ds: xr.Dataset, case: int, realisation: int, path: Path) -> bool:
    """Run one run of `ds` again and write it to `path`; whether its numbers are those of `ds`.

    `case` and `realisation` are positions in `ds`. The numbers are the same, bit for bit, under the
    same versions and kind of processor; a run that `ds` has not run has none that could differ.
    """
    at = {"case": case, "realisation": realisation}
    case, realisation = (int(ds[name][position]) for name, position in at.items())
    file = str(ds.attrs.get("scenario_file", "scenario"))
    plan = make_plan(loads(str(ds.attrs["scenario_text"]), file))
    if case >= len(plan.cases):
        problem = f"its scenario has {len(plan.cases)} cases, none of number {case}"
        raise InputError(file, [Fault("", problem, "the result is damaged or was edited")])
    chunk = plan.chunk([case], [realisation if plan.random[case] else 0])
    (runs,) = Engines(plan).make([chunk], histories=True)
    variables = single(plan, case, runs)
    numbers = {"case": np.array([case]), "realisation": np.array([realisation])}
    one = [replace(axis, values=[axis.values[case]]) for axis in axes(plan)]
    words = attributes(plan) | {
        "history": f"rollsim replay of case {case}, realisation {realisation}",
        "histories": "all",
    }
    write_result(path, variables | numbers, one, words, plan.study.text)
    if ds["outcome"].isel(at) == Outcome.NOT_RUN:
        return True
    return all(
        np.array_equal(
            np.ravel(variables[name]), np.ravel(ds[name].isel(at).values), equal_nan=True
        )
        for name in NUMBERS
        if VARIABLES[name].dtype != "str" and name in ds
    )
