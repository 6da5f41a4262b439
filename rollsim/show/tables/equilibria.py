"""What `rollsim equilibria` has found, as rows: for the terminal and as JSON."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from rollsim.cautions import CAUTION, LOLL_WARNING
from rollsim.errors import printable
from rollsim.show.query import cases
from rollsim.show.query import equilibria as query
from rollsim.show.tables import cells
from rollsim.show.tables.columns import Column, Split
from rollsim.show.tables.summary import Row, axis_name

if TYPE_CHECKING:
    import xarray as xr
    from rich.console import RenderableType

WORDS = {
    "fold": "two equilibria meet and end",
    "branching": "branches cross",
}


def branch_rows(ds: xr.Dataset, case: int) -> list[Row]:
    """The branches of a case: where they run, and the stable heels that they hold."""
    rows = []
    for branch in query.branches(ds, case):
        lasting = branch.heel[branch.stable]
        rows.append(
            {
                "points": int(branch.value.size),
                "stable_points": int(np.count_nonzero(branch.stable)),
                "from": float(branch.value[0]),
                "heel_from_deg": float(branch.heel[0]),
                "to": float(branch.value[-1]),
                "heel_to_deg": float(branch.heel[-1]),
                "least_stable_deg": float(lasting.min()) if lasting.size else None,
                "greatest_stable_deg": float(lasting.max()) if lasting.size else None,
                "ends": [end.name.lower() for end in branch.ends],
            }
        )
    return rows


def equilibria_json(ds: xr.Dataset) -> list[Row]:
    """A row for each case: branches, folds and crossings; values in the key's unit."""
    rows = []
    for case in range(ds.sizes["case"]):
        now = query.present(ds, case)
        row: Row = {
            "case": cases.number_of(ds, "case", case),
            "condition": cases.conditions(ds)[case],
            **{axis_name(ds, axis): ds[axis].values[case].item() for axis in cases.sweep_axes(ds)},
            "key": query.key(ds),
            "present": {"value": now[0], "heel_deg": now[1]} if now else None,
            "branches": branch_rows(ds, case),
        }
        for kind in query.MEETINGS:
            row[f"{kind}s"] = [
                {"value": value, "heel_deg": heel} for value, heel in query.meetings(ds, case, kind)
            ]
        rows.append(row)
    return rows


def equilibria_table(ds: xr.Dataset) -> RenderableType:
    """The same for people, with the cautions."""
    from rich.console import Group
    from rich.text import Text

    rows = [
        {"case": cases.number_of(ds, "case", case), "condition": cases.conditions(ds)[case]}
        | {axis_name(ds, axis): ds[axis].values[case].item() for axis in cases.sweep_axes(ds)}
        | {"branch": i}
        | row
        for case in range(ds.sizes["case"])
        for i, row in enumerate(branch_rows(ds, case))
    ]
    unit = query.unit(ds)
    numbers: list[list[Column]] = [
        [
            cells.counts(rows, "branch"),
            cells.counts(rows, "points"),
            cells.counts(rows, "stable_points", "of these stable"),
        ],
        [
            cells.numbers(rows, f"from [{unit}]", "from", 3),
            cells.numbers(rows, "heel [°]", "heel_from_deg", 1),
            cells.numbers(rows, f"to [{unit}]", "to", 3),
            cells.numbers(rows, "heel [°]", "heel_to_deg", 1),
        ],
        [
            cells.numbers(rows, "least stable [°]", "least_stable_deg", 1),
            cells.numbers(rows, "greatest stable [°]", "greatest_stable_deg", 1),
        ],
    ]
    parts: list[Any] = [Text(printable(cases.title(ds)), style="bold")]
    parts += [Text(printable(f"Heels of rest over {query.key(ds)}")), Text()]
    parts += [Split(cells.key(ds, rows), numbers), Text()]
    parts += [Text(line) for line in _meeting_lines(ds, unit)]
    parts += [Text(), Text(CAUTION), Text(LOLL_WARNING)]
    return Group(*parts)


def _meeting_lines(ds: xr.Dataset, unit: str) -> list[str]:
    lines = []
    every = range(ds.sizes["case"])
    for case in every:
        for kind, words in WORDS.items():
            points = query.meetings(ds, case, kind)
            if points:
                where = f"case {cases.case_label(ds, case, every)}: " if len(every) > 1 else ""
                text = ", ".join(f"{value:.4g} {unit} ({heel:+.1f}°)" for value, heel in points)
                lines.append(printable(f"{where}{words} at {text}"))
        for i, branch in enumerate(query.branches(ds, case)):
            for value, heel, why in branch.early_ends:
                number = cases.number_of(ds, "case", case)
                at = f"{value:.4g} {unit} ({heel:+.1f}°)"
                lines.append(printable(f"case {number}, branch {i} ends at {at}: {why.words}"))
    return lines
