"""The criteria part of a report: verdicts of all loadings, and every line behind them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from rollsim.show.query.criteria import Row, notes, rows_of
from rollsim.show.report.blocks import Block, Heading, Items, Paragraph, Section, Table
from rollsim.show.tables.columns import Column
from rollsim.show.tables.criteria import OF_RULES, columns, overview

if TYPE_CHECKING:
    import xarray as xr

MOST_CASES = 12
"""Cases whose lines are printed."""


def criteria_of(sources: Sequence[tuple[str, xr.Dataset]]) -> list[Section]:
    """The section of the results, by their names; none where no result carries criteria."""
    blocks: list[Block] = []
    for name, ds in sources:
        rows = rows_of(ds)
        if rows and len(sources) > 1:
            blocks.append(Heading(name))
        blocks += _blocks(rows)
    return [Section("Published criteria", [*blocks, Paragraph(OF_RULES)])] if blocks else []


def _blocks(rows: Sequence[Row]) -> list[Block]:
    if not rows:
        return []
    numbers = list(dict.fromkeys(row["case"] for row in rows))
    shown = [row for row in rows if row["case"] in numbers[:MOST_CASES]]
    where = [
        Column("case", [str(row["case"]) for row in shown]),
        Column("condition", [str(row["condition"]) for row in shown], words=True),
        Column("rule", [str(row["rule"]) for row in shown], words=True),
    ]
    blocks: list[Block] = [
        Table("Verdicts; cases alike at rest stand once, as the first of them.", overview(rows)),
        Table("Line by line.", [*where, *columns(shown)]),
        Items(notes(shown)),
    ]
    if len(shown) < len(rows):
        more = f"Shown: the lines of the first {MOST_CASES} of {len(numbers)} cases"
        blocks.append(Paragraph(f"{more}; rollsim criteria has them all."))
    return blocks
