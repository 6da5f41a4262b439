"""The tables of a report: numbers at rest, outcomes and margins, where everything comes from."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from rollsim.measures.quantiles import median
from rollsim.names import VARIABLES
from rollsim.show.query import cases
from rollsim.show.query.lineup import Source
from rollsim.show.report.html import Markup, join, paragraph, table, tag
from rollsim.show.tables import cells
from rollsim.show.tables.columns import Column
from rollsim.show.tables.summary import STATICS, Row, case_row, static_row, with_unit

if TYPE_CHECKING:
    import xarray as xr

MOST_ROWS = 60
"""Cases in a table; of more the summary of the result has them all."""
NUMBERS = tuple((name, VARIABLES[name].units) for name in STATICS)
UNSAID = frozenset({"title", "comment", "summary", "keywords", "scenario_text"})
"""Global attributes that say nothing of where a result comes from, or stand elsewhere."""


def statics_of(ds: xr.Dataset) -> Markup:
    """The numbers of every case at rest; cases alike in name and numbers stand once."""
    distinct: dict[tuple[object, ...], Row] = {}
    for case in range(ds.sizes["case"]):
        row = static_row(ds, case)
        numbers = _greatest_lever(ds, case) | {with_unit(*n): row[with_unit(*n)] for n in NUMBERS}
        distinct.setdefault((row["condition"], *numbers.values()), row | numbers)
    rows = list(distinct.values())[:MOST_ROWS]
    columns = [
        *cells.key(ds, rows),
        *cells.statics(rows),
        cells.numbers(rows, "greatest GZ [m]", "greatest_lever_m", 3),
        cells.numbers(rows, "at heel [°]", "greatest_lever_at_deg", 1),
    ]
    words = "Numbers at rest."
    if len(distinct) < ds.sizes["case"]:
        words += " Cases of a condition that are alike at rest stand once, as the first of them."
    return _with_cut(table(words, columns), len(rows), len(distinct))


def _greatest_lever(ds: xr.Dataset, case: int) -> Row:
    """The greatest righting lever [m] to starboard on the stored heels, and where [degree]."""
    heel = np.asarray(ds["heel"].values, dtype=float)
    lever = np.where(heel >= 0.0, cases.values(ds, "righting_lever", case=case), np.nan)
    if not np.isfinite(lever).any():
        return {"greatest_lever_m": None, "greatest_lever_at_deg": None}
    at = int(np.nanargmax(lever))
    return {"greatest_lever_m": float(lever[at]), "greatest_lever_at_deg": float(heel[at])}


def margins_of(ds: xr.Dataset) -> Markup:
    """Outcomes and margins of every case, and where something is random its probabilities."""
    count = ds.sizes["case"]
    rows = [case_row(ds, case) for case in range(min(count, MOST_ROWS))]
    key = cells.key(ds, rows)
    middle = Column("median energy margin", [_median(ds, i) for i in range(len(rows))])
    found = [table("Outcomes, in runs, and margins.", [*key, *cells.outcomes(rows), middle])]
    if len(cells.groups(rows)) > 2:
        columns = [*key, *cells.chances(rows), *cells.rates(rows)]
        found.append(table("Probabilities and failure rates with 95 % limits.", columns))
    return _with_cut(join(found), len(rows), count)


def _median(ds: xr.Dataset, case: int) -> str:
    """The median energy margin of the runs of a case, with limits where there are enough runs."""
    margin = cases.values(ds, "energy_margin", case=case).ravel()
    found = median(margin[np.isfinite(margin)])
    said = cells.number(found.value, 2)
    random = np.isfinite(cases.number(ds, "failure_probability", case=case))
    if not random or not np.isfinite(found.lower):
        return said
    return f"{said} [{found.lower:.2f}, {found.upper:.2f}]"


def provenance_of(source: Source) -> Markup:
    """Where a result comes from: its file and all that the file says of its making."""
    held = {str(k): v for k, v in sorted(source.ds.attrs.items()) if str(k) not in UNSAID}
    sizes = ("case", "realisation", "t")
    said = {
        "file": source.name or "in memory",
        "file_sha256": source.digest or "not taken",
        "sizes": ", ".join(f"{n} {source.ds.sizes[n]}" for n in sizes if n in source.ds.sizes),
    } | {name: str(value) for name, value in held.items()}
    columns = [
        Column("what", [tag("code", name) for name in said], words=True),
        Column("value", list(said.values()), words=True),
    ]
    return table("As the result says of itself.", columns)


def _with_cut(found: Markup, shown: int, count: int) -> Markup:
    """The tables, and where rows were left out how many and where they are."""
    if shown == count:
        return found
    words = f"Shown: the first {shown} of {count}; rollsim summary --csv writes all cases."
    return join([found, paragraph(words)])
