"""A result's numbers for programs: as JSON and as CSV."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from rollsim.cautions import CAUTION, LOLL_WARNING
from rollsim.errors import printable
from rollsim.measures.outcome import Event
from rollsim.show.query import cases
from rollsim.show.query.loading import stored
from rollsim.show.tables.at_rest import rest_row
from rollsim.show.tables.extremes import extremes_row, random_cases
from rollsim.show.tables.loaded import loaded_row
from rollsim.show.tables.pairs import comparisons
from rollsim.show.tables.severity import severity_json
from rollsim.show.tables.summary import Row, case_row, warnings

if TYPE_CHECKING:
    import xarray as xr


def summary_json(
    ds: xr.Dataset, event: Event | None = None, *, with_extremes: bool = False
) -> dict[str, Any]:
    """Everything the margins table says, ready for `json.dumps`; missing numbers are None.

    The comparisons are of the `event`, by default the one that the result is about. The laws of
    the greatest roll are fitted `with_extremes` alone.
    """
    laws = [extremes_row(ds, case) for case in random_cases(ds)] if with_extremes else None
    count = ds.sizes["case"]
    pairs, neighbours, omitted = comparisons(ds, event)
    return {
        "title": cases.title(ds),
        "of": event or cases.event_of(ds),
        "warnings": warnings(ds),
        "caution": CAUTION,
        "loll_warning": LOLL_WARNING if cases.has_loll(ds, range(count)) else None,
        "cases": [case_row(ds, case) | loaded_row(ds, case) for case in range(count)],
        "pairs": pairs,
        "neighbours": neighbours,
        "not_compared": [
            {"case": cases.number_of(ds, "case", case), "reason": reason}
            for case, reason in omitted
        ],
        "severity": severity_json(ds),
        **({"loading": sheets} if (sheets := stored(ds)) else {}),
    } | ({} if laws is None else {"extremes": laws})


def static_json(ds: xr.Dataset, places: Sequence[Sequence[tuple[float, str]]]) -> str:
    """The numbers at rest of every case with all heels [degree] at which she can rest, as JSON."""
    count = ds.sizes["case"]
    equilibria = [[{"heel_deg": heel, "kind": kind} for heel, kind in each] for each in places]
    whole = {
        "title": cases.title(ds),
        "caution": CAUTION,
        "loll_warning": LOLL_WARNING if cases.has_loll(ds, range(count)) else None,
        "cases": [rest_row(ds, case) | {"equilibria": equilibria[case]} for case in range(count)],
    }
    return json.dumps(whole, indent=2, ensure_ascii=False)


def static_csv(ds: xr.Dataset) -> str:
    """The numbers at rest, one line a case, units in the header, missing numbers empty."""
    return csv_text([_warned(ds, case, rest_row(ds, case)) for case in range(ds.sizes["case"])])


def _warned(ds: xr.Dataset, case: int, row: Row) -> Row:
    """A row of a case with the cautions that belong to it."""
    return row | {"caution": f"{CAUTION} {LOLL_WARNING}" if cases.has_loll(ds, [case]) else CAUTION}


def summary_csv(ds: xr.Dataset) -> str:
    """One line a case, units in the header, missing numbers empty; pairs are in the JSON only."""
    rows = [case_row(ds, case) | loaded_row(ds, case) for case in range(ds.sizes["case"])]
    names = dict.fromkeys(name for row in rows for name in row)
    whole = [{name: row.get(name) for name in names} for row in rows]
    return csv_text([_warned(ds, case, row) for case, row in enumerate(whole)])


def csv_text(rows: Sequence[Row]) -> str:
    """Rows as CSV, the names of the first as header, missing cells empty."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow([_harmless(name) for name in rows[0]])
    writer.writerows([_harmless(value) for value in row.values()] for row in rows)
    return text.getvalue()


def _harmless(value: Any) -> Any:
    """A cell safe on a terminal, and that no spreadsheet program takes for a formula."""
    if not isinstance(value, str):
        return value
    text = printable(value)
    return "'" + text if text.lstrip().startswith(("=", "+", "-", "@")) else text
