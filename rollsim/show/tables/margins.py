"""Tables for the terminal: the margins of a result and the static numbers, at any width."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from rollsim.cautions import CAUTION, LOLL_WARNING
from rollsim.errors import printable
from rollsim.measures.outcome import Event
from rollsim.show.query import cases, inputs
from rollsim.show.query import sides as query_sides
from rollsim.show.tables import cells, severity
from rollsim.show.tables.columns import Column, Split
from rollsim.show.tables.extremes import extremes_table
from rollsim.show.tables.loaded import loaded_parts, loaded_row
from rollsim.show.tables.pairs import pair_tables
from rollsim.show.tables.summary import Row, case_row, warnings

if TYPE_CHECKING:
    import xarray as xr
    from rich.console import RenderableType

FIRST_ROWS = 40
"""How many rows a table shows unless all are requested."""


def margins_table(
    ds: xr.Dataset,
    *,
    event: Event | None = None,
    all_rows: bool = False,
    with_extremes: bool = False,
) -> RenderableType:
    """What a study gave, one row a case; the conditions compared in common storms; cautions.

    Rates and comparisons are of the `event`, by default the one that the result is about. The laws
    of the greatest roll are fitted `with_extremes` alone: it takes a second a case.
    """
    from rich.console import Group
    from rich.text import Text

    count = ds.sizes["case"]
    shown = count if all_rows else min(count, FIRST_ROWS)
    rows = [case_row(ds, case) | loaded_row(ds, case) for case in range(shown)]
    of = event or cases.event_of(ds)
    parts: list[Any] = [Text(printable(cases.title(ds)), style="bold"), Text()]
    searched = [severity.columns(ds, rows)] if severity.columns(ds, rows) else []
    groups = cells.groups(rows, of)
    tables = Split(cells.key(ds, rows), [*groups[:1], *searched, *groups[1:]])
    parts += [tables, *cells.more(count, shown, "cases")]
    parts += [Text(), *(Text(line, style="bold") for line in warnings(ds))]
    parts.append(Text(_meaning(ds, rows, of)))
    parts += severity.parts(ds, all_rows=all_rows)
    parts += pair_tables(ds, of, count * count if all_rows else FIRST_ROWS)
    if with_extremes:
        parts += extremes_table(ds, count if all_rows else FIRST_ROWS)
    parts += loaded_parts(ds, rows)
    return Group(*parts, *_cautions(cases.has_loll(ds, range(count))))


def _meaning(ds: xr.Dataset, rows: Sequence[Row], event: Event) -> str:
    """What the columns mean, in a few lines."""
    energy = (
        " Energy margin: 1 at rest, 0 at the barrier, negative where the motion relative to the "
        "water had energy enough to go over; the least of all runs."
    )
    sides = "P port (negative), S starboard." + (
        "" if any(row.get("severity_found") for row in rows) else energy
    )
    lines = [*severity.meaning(ds), sides]
    if "least_limit_margin" in rows[0]:
        lines.append(
            "Limit margin: 1 upright, 0 where the first limit is passed; the least of all runs."
        )
    if "roll_std_deg" in rows[0]:
        lines.append("Roll std: standard deviation of roll from settle_s on, over all runs.")
    if cells.stays(rows):
        lines.append(query_sides.STAYS)
    if cases.random(ds):
        lines += _meaning_of_chances(ds, rows, event)
    if any(row["failed_before_settle"] for row in rows):
        lines.append("Runs that passed a limit before settle_s stay in every count.")
    return "\n".join(lines)


def _meaning_of_chances(ds: xr.Dataset, rows: Sequence[Row], event: Event) -> list[str]:
    """What probabilities and rates mean, and how the runs were counted."""
    lines = [
        "Probabilities are for one run, with exact (Clopper-Pearson) 95 % limits; "
        f"{event_words(ds, event)}."
    ]
    if f"{event}_rate_per_h" in rows[0]:
        lines.append(
            f"{event.capitalize()} rate: events per hour from settle_s on, runs without one "
            f"counted with their time, with Poisson 95 % limits; mean time to {event} is its "
            "inverse."
        )
        if inputs.at_set_times(ds):
            lines.append(
                "Gusts or events come at set times here: a rate spreads what they do over the "
                "whole run and changes with duration_s. Take the probability."
            )
    if any(row["failure_probability"] is None and _ran(row) for row in rows):
        lines.append("No probability: nothing is random there, one run stands for all.")
    if rule := inputs.until(ds):
        lines.append(
            f"Counted on until the {rule[2]} probability was known within {100.0 * rule[0]:g} % "
            f"of itself, or to {rule[1]} realisations: what was not needed is not run. Where the "
            "counting ends depends on what was counted, so the limits hold a little less often "
            "than in 95 of 100 studies."
        )
    return lines


def _ran(row: Row) -> bool:
    """Whether any run of a case has a result."""
    return bool(row["runs"] > row["not_run"] + row["not_solved"])


def event_words(ds: xr.Dataset, event: Event) -> str:
    """What the event is, with its limits."""
    limits = cases.limits_text(ds, event)
    if event == "failure":
        return f"a failure is the passing of any limit: {limits}"
    return f"a capsize counts at {limits.removeprefix('capsize ')}"


def _cautions(loll: bool) -> list[Any]:
    from rich.text import Text

    loll_lines = [Text(), Text(LOLL_WARNING)] if loll else []
    return [Text(), Text(CAUTION), *loll_lines]


def static_table(
    columns: Sequence[Column], case_labels: Sequence[str], *, loll: bool = False
) -> RenderableType:
    """Numbers at rest, a line for each of `columns`, a column a case.

    `loll` adds the warning about loll.
    """
    from rich.console import Group

    key = Column("", [column.header for column in columns], words=True)
    each = [
        [Column(printable(label), [column.cells[i] for column in columns])]
        for i, label in enumerate(case_labels)
    ]
    return Group(Split([key], each), *_cautions(loll))
