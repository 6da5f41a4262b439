"""Loading sheets as the trade writes them, from their records: text, CSV, and what follows."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from rollsim.cautions import CAUTION, LOLL_WARNING
from rollsim.errors import printable
from rollsim.show.query.loading import NUMBERS, Record, below, label, lolls
from rollsim.show.tables.cells import number
from rollsim.show.tables.columns import Column, Split

if TYPE_CHECKING:
    from rich.console import RenderableType

ITEMS = {
    "mass_t": ("mass [t]", 1),
    "height_m": ("height [m]", 2),
    "moment_tm": ("moment [t·m]", 0),
    "along_m": ("along [m]", 2),
    "across_m": ("across [m]", 2),
    "free_surface_moment_tm": ("free-surface moment [t·m]", 0),
}
"""Columns of a sheet: header and decimals."""


def sheet_columns(record: Record) -> list[Column]:
    """Item by item as far as they weigh anything, and the totals below them."""
    rows = [row for row in record["rows"] if row.get("mass_t")]
    names = [printable(_name(row)) for row in rows]
    columns = [Column("item", [*names, "total"], words=True)]
    for key, (header, digits) in ITEMS.items():
        if any(row.get(key) for row in rows):
            cells = [number(row.get(key), digits) for row in rows]
            columns.append(Column(header, [*cells, number(_total(record, key), digits)]))
    return columns


def nothing_in(record: Record) -> str:
    """The items of a sheet that weigh nothing, in words; empty where all do."""
    names = [str(row.get("name", "")) for row in record["rows"] if not row.get("mass_t")]
    return printable(f"nothing in: {', '.join(names)}") if names else ""


def _name(row: Record) -> str:
    """The item's name, a tank's with how full it is."""
    filling = row.get("filling_percent")
    name = str(row.get("name", ""))
    return f"{name}, {filling:.4g} %" if isinstance(filling, (int, float)) else name


def _total(record: Record, key: str) -> float | None:
    """The total of a column: masses and moments add up, places are those of G."""
    places = {"height_m": "kg_m", "along_m": "along_m", "across_m": "off_centre_m"}
    if key in places:
        value = record.get(places[key])
        return None if value is None else float(value)
    return math.fsum(float(row.get(key) or 0.0) for row in record["rows"])


def totals(record: Record) -> list[tuple[str, str]]:
    """What the sheet comes to, each with its unit; what is not known is left out."""
    lines = []
    for key, (words, unit, digits) in NUMBERS.items():
        value = record.get(key)
        if value is not None:
            lines.append((words, f"{number(float(value), digits)} {unit}"))
    return [*lines, *_list(record)]


def _list(record: Record) -> list[tuple[str, str]]:
    """The list by G off the centreline, at small angles; none where nothing rights her upright."""
    gm, across = record.get("gm_m"), record.get("off_centre_m")
    if below(record):
        return [("upright", "no stable rest: she lolls or lies over")]
    if not gm or not across:
        return []
    heel = math.degrees(math.atan(float(across) / float(gm)))
    side = "starboard" if heel > 0.0 else "port"
    return [("list, tan φ = G off the centreline ÷ GM", f"{abs(heel):.2f}° to {side}")]


def sheets_table(records: Sequence[Record], title: str) -> RenderableType:
    """The sheets one below the other, with the cautions."""
    from rich.console import Group
    from rich.text import Text

    parts: list[Any] = [Text(printable(title), style="bold")]
    for record in records:
        columns = sheet_columns(record)
        parts += [Text(), Text(label(record), style="bold"), Split(columns[:1], [columns[1:]])]
        widest = max(len(words) for words, _ in totals(record))
        parts += [Text(f"{nothing_in(record)}\n")]
        parts += [Text(f"  {words:<{widest}}  {value}") for words, value in totals(record)]
    parts += [Text(), *([Text(LOLL_WARNING, style="bold")] if lolls(records) else [])]
    return Group(*parts, Text(CAUTION))


def comparison(records: Sequence[Record]) -> tuple[list[str], list[Column]]:
    """Names of the sheets, and their totals as columns, one row a sheet."""
    columns = []
    for key, (words, unit, digits) in NUMBERS.items():
        values = [record.get(key) for record in records]
        if any(value is not None for value in values):
            cells = [number(None if v is None else float(v), digits) for v in values]
            columns.append(Column(f"{words} [{unit}]", cells))
    return [label(record) for record in records], columns


def sheets_csv(records: Sequence[Record]) -> str:
    """Every item of every sheet as a line, totals as items of the kind "total"."""
    keys = ["case", "condition", "name", "kind", "filling_percent", *ITEMS]
    text = io.StringIO()
    writer = csv.DictWriter(text, keys, lineterminator="\n", restval="")
    writer.writeheader()
    for record in records:
        of = {key: record.get(key) for key in ("case", "condition")}
        whole = {key: _total(record, key) for key in ITEMS}
        for row in [*record["rows"], {"name": "total", "kind": "total", **whole}]:
            writer.writerow(of | {key: _cell(row.get(key)) for key in keys if key in row})
    return text.getvalue()


def _cell(value: Any) -> Any:
    """A value as CSV has it: 12 digits, and no formula for a spreadsheet."""
    if isinstance(value, float):
        return f"{value:.12g}"
    text = "" if value is None else str(value)
    return f"'{text}" if text[:1] in ("=", "+", "-", "@", "\t") else text
