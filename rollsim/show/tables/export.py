"""One run as plain columns of numbers, for spreadsheets and animation programs."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from rollsim.cautions import CAUTION, LOLL_WARNING
from rollsim.errors import REPLAY, Fault, InputError, printable
from rollsim.names import COORDINATES, VARIABLES
from rollsim.show.query import cases
from rollsim.show.query.runs import history, outcome_text
from rollsim.show.tables.summary import with_unit

if TYPE_CHECKING:
    import xarray as xr

RUN = ("roll_angle", "roll_rate", "wave_slope", "heeling_lever")
LOADING = ("centre_of_gravity_y", "centre_of_gravity_z")


def run_csv(ds: xr.Dataset, case: int, realisation: int, *, notes: bool = False) -> str:
    """A run as CSV: time, roll, what drove it, and G; units in the header, missing cells empty.

    `notes` puts the cautions and where the run comes from before the header, in lines that begin
    with "#". Numbers are written so that they read back as exactly what the result holds.
    """
    columns = {with_unit("t", COORDINATES["t"].units): _texts(ds["t"].values)}
    for name in (*RUN, *LOADING):
        columns[with_unit(name, VARIABLES[name].units)] = _column(ds, name, case, realisation)
    if all(not any(columns[with_unit(name, VARIABLES[name].units)]) for name in RUN):
        raise _no_history(ds, case, realisation)
    lines = [",".join(columns), *(",".join(row) for row in zip(*columns.values(), strict=True))]
    before = _notes(ds, case, realisation) if notes else []
    return "\n".join([*before, *lines]) + "\n"


def _column(ds: xr.Dataset, name: str, case: int, realisation: int) -> list[str]:
    """A history as text, empty where it is missing altogether."""
    if name in LOADING:
        return _texts(cases.values(ds, name, case=case))
    stored = history(ds, name, case, realisation)
    if stored is None:
        return [""] * ds.sizes["t"]
    return _texts(stored.astype(VARIABLES[name].dtype))


def _texts(values: NDArray[Any]) -> list[str]:
    """Numbers in the fewest digits that read back as the same, missing ones empty."""
    return [str(value) if np.isfinite(value) else "" for value in values]


def _no_history(ds: xr.Dataset, case: int, realisation: int) -> InputError:
    number, run = (
        cases.number_of(ds, name, position)
        for name, position in (("case", case), ("realisation", realisation))
    )
    problem = f"the result holds no history of realisation {run} of case {number}"
    hint = f"it was not run or not kept; {REPLAY}"
    return InputError("", [Fault("--realisation", problem, hint)])


def _notes(ds: xr.Dataset, case: int, realisation: int) -> list[str]:
    """The cautions, and what run this is: no cell of it is taken for a formula or a column."""
    lines = [
        cases.title(ds),
        f"case {cases.case_label(ds, case, range(ds.sizes['case']))}",
        f"realisation {cases.number_of(ds, 'realisation', realisation)}: "
        f"{outcome_text(ds, case, realisation)}",
        *(
            f"{name} {ds.attrs[name]}"
            for name in ("scenario_file", "scenario_sha256", "seed", "method", "versions")
            if name in ds.attrs
        ),
        CAUTION,
        *([LOLL_WARNING] if cases.has_loll(ds, [case]) else []),
    ]
    return ["# " + re.sub(r'[,;"\t]+', " ", printable(line)) for line in lines]
