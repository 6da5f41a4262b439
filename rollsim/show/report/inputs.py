"""The inputs part of a report: the scenario as it was written, key by key."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

from rollsim.show.query import inputs
from rollsim.show.query.loading import stored
from rollsim.show.report.blocks import ACROSS, Block, Paragraph, Table
from rollsim.show.tables.cells import MISSING
from rollsim.show.tables.columns import Column

if TYPE_CHECKING:
    import xarray as xr

MOST_ITEMS = 40
"""The values of a list that are written out."""
HEADER = ("key, unit at its end", "value")
IN_SHEETS = ("ship.loading.weights.", "ship.loading.tanks.")
"""Keys that the loading sheets tell, item by item."""
FILES = "files"
"""The table of the texts that stood beside the scenario."""
APART = ("format", "title", "conditions", "sweep", FILES)
"""Keys that have a table of their own, or none."""


def inputs_of(ds: xr.Dataset) -> list[Block]:
    """What the ship, the weather and the run of a result were, and what its cases changed."""
    scenario = inputs.scenario(ds)
    if not scenario:
        return [Paragraph("The result carries no scenario that can be read.")]
    base = [row for key, value in scenario.items() if key not in APART for row in _rows(key, value)]
    base += _files(scenario.get(FILES))
    caption = "Base scenario, as written; what is not named has its default."
    shown = base
    if stored(ds):
        shown = [row for row in base if not row[0].startswith(IN_SHEETS)]
        caption += " Weights and tanks stand in the loading sheets, and in the scenario at the end."
    blocks: list[Block] = [_table(caption, HEADER, shown)]
    conditions = _conditions(scenario.get("conditions"))
    if conditions:
        blocks.append(_changes(conditions, dict(base)))
    swept = scenario.get("sweep")
    if isinstance(swept, dict) and swept:
        rows = [(key, _value(value)) for key, value in swept.items()]
        blocks.append(_table("What is swept.", HEADER, rows))
    return blocks


def _table(caption: str, header: Sequence[str], rows: Sequence[tuple[str, ...]]) -> Table:
    columns = zip(*rows, strict=True) if rows else ((),) * len(header)
    named = zip(header, columns, strict=True)
    return Table(caption, [Column(name, cells, words=True) for name, cells in named])


def _rows(key: str, value: Any) -> Iterator[tuple[str, str]]:
    """A key with its value, or all keys below it."""
    if isinstance(value, dict) and value:
        for below, inner in value.items():
            yield from _rows(f"{key}.{below}", inner)
    elif isinstance(value, list) and value and all(isinstance(item, dict) for item in value):
        for i, item in enumerate(value):
            yield from _rows(f"{key}.{i}", item)
    else:
        yield key, _value(value)


def _files(given: Any) -> list[tuple[str, str]]:
    """The files that stood beside the scenario: how long each is, not what is in it."""
    named = given.items() if isinstance(given, dict) else ()
    return [
        (f"{FILES}.{name}", f"{len(str(text).splitlines())} lines, kept whole in the result")
        for name, text in named
    ]


def _conditions(given: Any) -> list[tuple[str, dict[str, str]]]:
    """Every condition by name with the keys that it gives."""
    tables = [each for each in given if isinstance(each, dict)] if isinstance(given, list) else []
    return [
        (
            str(table.get("name", "")),
            {k: v for key, value in table.items() if key != "name" for k, v in _rows(key, value)},
        )
        for table in tables
    ]


def _changes(conditions: Sequence[tuple[str, dict[str, str]]], base: dict[str, str]) -> Table:
    """The keys in which conditions differ: few conditions as columns beside the base."""
    caption = "What each condition changes."
    if len(conditions) > ACROSS:
        rows = [(name, *row) for name, keys in conditions for row in keys.items() or [("–", "")]]
        return _table(caption, ("condition", *HEADER), rows)
    keys = list(dict.fromkeys(key for _, changed in conditions for key in changed))
    columns = [
        Column(HEADER[0], keys, words=True),
        Column("base", [base.get(key, MISSING) for key in keys], words=True),
        *(
            Column(name, [changed.get(key, "as base") for key in keys], words=True)
            for name, changed in conditions
        ),
    ]
    return Table(caption, columns)


def _value(value: Any) -> str:
    """A value as the file has it, lists cut where they are long."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, float):
        return f"{value:.12g}"
    if isinstance(value, dict):
        return ", ".join(f"{key} = {_value(inner)}" for key, inner in value.items())
    if isinstance(value, list):
        items = ", ".join(_value(item) for item in value[:MOST_ITEMS])
        more = len(value) - MOST_ITEMS
        return f"{items}, and {more} more" if more > 0 else items
    return str(value)
