"""The tables of a report: numbers at rest, outcomes and margins, where everything comes from."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from rollsim.measures.quantiles import median
from rollsim.show import cases, cells
from rollsim.show.columns import Column
from rollsim.show.lineup import Source
from rollsim.show.report_html import Markup, join, paragraph, table, tag
from rollsim.show.summary import STATICS, Row, case_row, with_unit
from rollsim.names import VARIABLES

if TYPE_CHECKING:
    import xarray as xr

MOST_ROWS = 60
"""Cases in a table; of more the summary of the result has them all."""
UNSAID = frozenset({"title", "comment", "summary", "keywords", "scenario_text"})
"""Global attributes that say nothing of where a result comes from, or stand elsewhere."""


def statics_of(ds: xr.Dataset) -> Markup:
    """The numbers of every case at rest; cases alike in name and numbers stand once."""
    seen: dict[tuple[Any, ...], Row] = {}
    for case in range(ds.sizes["case"]):
        row = {name: _static(ds, name, case) for name in STATICS}
        lever, heel = _greatest_lever(ds, case)
        alike = (cases.conditions(ds)[case], lever, heel, *row.values())
        if alike not in seen and len(seen) < MOST_ROWS:
            seen[alike] = case_row(ds, case) | {"lever_m": lever, "lever_at_deg": heel}
    rows = list(seen.values())
    columns = [
        *cells.key(ds, rows),
        *cells.groups(rows)[0],
        cells.numbers(rows, "greatest GZ [m]", "lever_m", 3),
        cells.numbers(rows, "at [°]", "lever_at_deg", 1),
    ]
    return _cut(table(_caption("At rest.", rows, ds), columns), len(rows), ds)


def _static(ds: xr.Dataset, name: str, case: int) -> float | None:
    value = cases.number(ds, name, case=case)
    return value if np.isfinite(value) else None
