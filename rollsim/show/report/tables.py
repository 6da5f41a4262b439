"""The tables of a report: numbers at rest, outcomes and margins, where everything comes from."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from rollsim.criteria.names import ATTRIBUTE as CRITERIA
from rollsim.criteria.names import MARKS
from rollsim.measures.outcome import Event
from rollsim.measures.quantiles import median
from rollsim.show.query import cases, sides
from rollsim.show.query.lineup import Group, Source
from rollsim.show.query.loading import ATTRIBUTE, stored
from rollsim.show.report import words
from rollsim.show.report.blocks import NAMES, Block, Paragraph, Table, by_case
from rollsim.show.tables import at_rest, cells, extremes, loading
from rollsim.show.tables.columns import Column
from rollsim.show.tables.margins import event_words
from rollsim.show.tables.summary import Row, axis_name, case_row, warnings

if TYPE_CHECKING:
    import xarray as xr

MOST_FITTED = 24
"""Loadings in the table of laws: each takes about a second."""
MOST_ROWS = 60
"""Cases in a table; of more the summary of the result has them all."""
MOST_SHEETS = 12
"""Loading sheets that a report prints."""
UNSAID = frozenset(
    {"title", "comment", "summary", "keywords", "scenario_text", ATTRIBUTE, CRITERIA, MARKS}
)
"""Global attributes that say nothing of where a result comes from, or stand elsewhere."""


def statics_of(ds: xr.Dataset) -> list[Block]:
    """The numbers of every case at rest; cases alike in name and numbers stand once."""
    axes = {axis_name(ds, axis) for axis in cases.sweep_axes(ds)}
    distinct: dict[str, Row] = {}
    for case in range(ds.sizes["case"]):
        row = at_rest.rest_row(ds, case)
        numbers = {k: v for k, v in row.items() if k != "case" and k not in axes}
        distinct.setdefault(str(sorted(numbers.items())), row)
    rows = list(distinct.values())[:MOST_ROWS]
    caption = "Numbers at rest."
    if len(distinct) < ds.sizes["case"]:
        caption += " Cases of a condition that are alike at rest stand once, as the first of them."
    # A place that all of these share is not what tells them apart at rest.
    key = [
        column
        for column in cells.key(ds, rows)
        if column.header in NAMES or len(set(column.cells)) > 1 or len(rows) == 1
    ]
    table = by_case(caption, key, at_rest.columns(rows))
    return [table, *_cut(len(rows), len(distinct))]


def loading_of(ds: xr.Dataset) -> list[Block]:
    """The loading sheets of a result, and what they come to side by side; none without any."""
    records = stored(ds)[:MOST_SHEETS]
    if not records:
        return []
    names, columns = loading.comparison(records)
    key = [Column("loading", names, words=True)]
    blocks: list[Block] = [by_case("What the loadings come to.", key, columns)]
    blocks += [Table(f"Loading sheet: {n}.", loading.sheet_columns(r)) for n, r in
               zip(names, records, strict=True)]  # fmt: skip
    return blocks


def margins_of(ds: xr.Dataset, event: Event) -> list[Block]:
    """Outcomes and margins of every case, and where something is random its probabilities."""
    count = ds.sizes["case"]
    rows = [case_row(ds, case) for case in range(min(count, MOST_ROWS))]
    key = cells.key(ds, rows)
    middle = Column("median energy margin", [_median(ds, i) for i in range(len(rows))])
    warned = [Paragraph(line) for line in warnings(ds)]
    limits = cases.limits_text(ds, "failure")
    outcomes = by_case(
        f"Outcomes, in runs, and margins; {limits}.", key, [*cells.outcomes(rows), middle]
    )
    blocks: list[Block] = [*warned, outcomes]
    if cases.random(ds):
        columns = [*cells.chances(rows, event), *cells.rates(rows, event)]
        caption = f"Probabilities and rates with 95 % limits; {event_words(ds, event)}."
        blocks.append(by_case(caption, key, columns))
    return [*blocks, *_cut(len(rows), count)]


def rolling_of(ds: xr.Dataset) -> list[Block]:
    """How she rolled in every case, from what is stored of each run, histories or not."""
    rows = [case_row(ds, case) for case in range(min(ds.sizes["case"], MOST_ROWS))]
    columns = cells.rolling(rows)
    if not columns:
        return []
    table = by_case("How she rolled, over all runs of a case.", cells.key(ds, rows), columns)
    stays = [Paragraph(sides.STAYS)] if cells.stays(rows) else []
    return [table, Paragraph(words.ROLLING), *stays]


def extremes_of_groups(groups: Sequence[Group]) -> list[Block]:
    """The laws of the greatest roll, a table for all loadings of every circumstance."""
    loadings = [(group, each) for group in groups for each in group.loadings]
    shown = loadings[:MOST_FITTED]
    rows = [extremes.extremes_row(each.ds, each.case) for _, each in shown]
    if reason := extremes.without_law(rows):
        return [Paragraph(reason)]
    key = [Column("loading", [each.name for _, each in shown], words=True)]
    if len(groups) > 1:
        circumstances = [group.circumstances for group, _ in shown]
        key.append(Column("circumstances", circumstances, words=True))
    ceiling = min(extremes.least_capsize(each.ds) for _, each in shown)
    table = Table("The law of the greatest roll.", [*key, *extremes.columns(rows, ceiling)])
    blocks: list[Block] = [table, Paragraph(extremes.MEANING)]
    if len(loadings) > len(shown):
        blocks.append(Paragraph(f"Fitted: the first {MOST_FITTED} of {len(loadings)} loadings."))
    return blocks


def _median(ds: xr.Dataset, case: int) -> str:
    """The median energy margin of the runs of a case, with limits where there are enough runs."""
    margin = cases.values(ds, "energy_margin", case=case).ravel()
    middle = median(margin[np.isfinite(margin)])
    value = cells.number(middle.value, 2)
    random = np.isfinite(cases.number(ds, "failure_probability", case=case))
    if not random or not np.isfinite(middle.lower):
        return value
    return f"{value} [{middle.lower:.2f}, {middle.upper:.2f}]"


def provenance_of(source: Source) -> Table:
    """Where a result comes from: its file and all that the file says of its making."""
    attributes = {str(k): v for k, v in sorted(source.ds.attrs.items()) if str(k) not in UNSAID}
    sizes = ("case", "realisation", "t")
    rows = {
        "file": source.name or "in memory",
        "file_sha256": source.digest or "not taken",
        "sizes": ", ".join(f"{n} {source.ds.sizes[n]}" for n in sizes if n in source.ds.sizes),
    } | {name: str(value) for name, value in attributes.items()}
    columns = [
        Column("what", list(rows), words=True),
        Column("value", list(rows.values()), words=True),
    ]
    return Table("As the result says of itself.", columns)


def _cut(shown: int, count: int) -> list[Block]:
    """Where rows were left out, how many and where they are."""
    if shown == count:
        return []
    told = f"Shown: the first {shown} of {count}; rollsim summary --csv writes all cases."
    return [Paragraph(told)]
