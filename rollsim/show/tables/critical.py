"""Critical values as rows, for the terminal and as JSON."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from rollsim.cautions import CAUTION
from rollsim.errors import printable
from rollsim.map_names import Search
from rollsim.show.query import cases, critical
from rollsim.show.tables import cells
from rollsim.show.tables.columns import Column, Split
from rollsim.show.tables.summary import Row, placed_row

if TYPE_CHECKING:
    import xarray as xr
    from rich.console import RenderableType


def critical_row(ds: xr.Dataset, case: int) -> Row:
    """The answer of one case; values in the unit of the key, None where missing."""
    trials = int(np.count_nonzero(ds["trial_runs"].values[case]))
    return placed_row(ds, case) | {
        "search": Search(int(ds["critical_search"].values[case])).name.lower(),
        **{
            name: _known(float(ds[name].values[case]))
            for name in (
                "critical_probability",
                "critical_value",
                "critical_value_lower",
                "critical_value_upper",
                "own_value",
            )
        },
        "rises": bool(ds["critical_rises"].values[case]),
        "runs": int(ds["trial_runs"].values[case].sum()),
        "solved": int(ds["trial_solved"].values[case].sum()),
        "note": str(ds["note"].values[case]),
        "trials": [
            {
                "value": float(ds["trial_value"].values[case, i]),
                **{
                    name: int(ds[f"trial_{name}"].values[case, i])
                    for name in ("runs", "events", "solved")
                },
            }
            for i in range(trials)
        ],
    }


def _known(value: float) -> float | None:
    return None if np.isnan(value) else value


def critical_json(ds: xr.Dataset) -> dict[str, Any]:
    """All answers, ready for `json.dumps`."""
    return {
        "title": cases.title(ds),
        "key": str(ds.attrs["searched_key"]),
        "unit": critical.unit(ds),
        "from": float(ds.attrs["searched_from"]),
        "to": float(ds.attrs["searched_to"]),
        "event": str(ds.attrs["event"]),
        "tolerance": float(ds.attrs["tolerance"]),
        "most_runs": int(ds.attrs["most_runs"]),
        "caution": CAUTION,
        "cases": [critical_row(ds, case) for case in range(ds.sizes["case"])],
    }


def critical_table(ds: xr.Dataset) -> RenderableType:
    """One row a case, what the value means, and the notes of all cases."""
    from rich.console import Group
    from rich.text import Text

    rows = [critical_row(ds, case) for case in range(ds.sizes["case"])]
    digits = critical.decimals(ds)
    unit = f" [{critical.unit(ds)}]" if critical.unit(ds) else ""
    columns = [
        cells.numbers(rows, f"critical {critical.name(ds)}{unit}", "critical_value", digits),
        Column("limits", [_limits(row, digits) for row in rows]),
        Column(f"in the scenario{unit}", [_own(row) for row in rows]),
        Column("runs", [str(row["runs"]) for row in rows]),
    ]
    if len(critical.sides(ds)) > 1:
        columns.insert(2, Column("likelier", [_side(row) for row in rows], words=True))
    notes = [Text(printable(f"case {row['case']}: {row['note']}")) for row in rows if row["note"]]
    sentences = [f"Critical value: {critical.meaning(ds)}.", critical.side_meaning(ds)]
    sentences = [each for each in (*sentences, critical.limits_meaning(ds)) if each]
    return Group(
        Text(printable(cases.title(ds)), style="bold"),
        Text(),
        Split(cells.key(ds, rows), [columns]),
        Text(),
        Text(printable(" ".join(sentences))),
        *([Text(), *notes] if notes else []),
        Text(),
        Text(CAUTION, style="bold"),
    )


def _side(row: Row) -> str:
    if row["critical_value"] is None:
        return cells.MISSING
    return "above" if row["rises"] else "below"


def _limits(row: Row, digits: int) -> str:
    if row["critical_value"] is None:
        return cells.MISSING
    lower, upper = (
        cells.number(row[f"critical_value_{end}"], digits) for end in ("lower", "upper")
    )
    return f"[{lower}, {upper}]"


def _own(row: Row) -> str:
    own = row["own_value"]
    return cells.MISSING if own is None else cases.value_text(own)
