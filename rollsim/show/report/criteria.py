"""The criteria part of a report: verdicts of all loadings, and every line behind them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from rollsim.criteria.at_rest import Form, ShipAtRest
from rollsim.show.figures.criteria import Areas, areas_figure
from rollsim.show.query.cases import conditions, number
from rollsim.show.query.criteria import Marks, Row, marks_of, notes, rows_of
from rollsim.show.query.curves import righting
from rollsim.show.report.blocks import Block, Heading, Items, Paragraph, Section, Table
from rollsim.show.report.svg import picture
from rollsim.show.tables.columns import Column
from rollsim.show.tables.criteria import OF_RULES, columns, overview

if TYPE_CHECKING:
    import xarray as xr

    from rollsim.ship.righting import RightingCurve

MOST_CASES = 12
"""Cases whose lines are printed."""


def criteria_of(sources: Sequence[tuple[str, xr.Dataset]]) -> list[Section]:
    """The section of the results, by their names; none where no result carries criteria."""
    blocks: list[Block] = []
    for i, (name, ds) in enumerate(sources):
        rows = rows_of(ds)
        if rows and len(sources) > 1:
            blocks.append(Heading(name))
        blocks += _blocks(rows)
        if rows and (drawn := _areas(ds)):
            words = (
                "Weather criterion: area b against area a, in the gust after a roll to windward."
            )
            blocks.append(picture(areas_figure("", drawn), f"criteria{i}", words))
    return [Section("Published criteria", [*blocks, Paragraph(OF_RULES)])] if blocks else []


def _areas(ds: xr.Dataset) -> list[Areas]:
    """The cases whose areas a and b are known, each by the first rule that has them."""
    first: dict[int, tuple[str, Marks]] = {}
    for (case, rule), marks in marks_of(ds).items():
        first.setdefault(case, (rule, marks))
    names = conditions(ds)
    drawn = []
    for case, (rule, marks) in first.items():
        curve = righting(ds, case)
        if curve is not None:
            ship = _ship(ds, case, curve, marks)
            drawn.append(
                Areas(f"{case}: {names[case]}, {rule.replace('-', ' ')}", ship, marks.marks)
            )
    return drawn


def _ship(ds: xr.Dataset, case: int, curve: RightingCurve, marks: Marks) -> ShipAtRest:
    """The ship of a result at rest, as far as a picture of her levers asks."""
    sizes = (number(ds, name, case=case) for name in ("beam", "draught", "displacement"))
    beam, draught, displacement = sizes
    return ShipAtRest(curve, beam, draught, displacement, Form(length=math.nan), marks.floods)


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
