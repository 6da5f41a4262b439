"""The inputs part of a report: the scenario as it was written, key by key."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

from rollsim.show.query import inputs
from rollsim.show.report.html import Markup, join, paragraph, table, tag
from rollsim.show.tables.columns import Column

if TYPE_CHECKING:
    import xarray as xr

MOST_ITEMS = 40
"""The values of a list that are written out."""
HEADER = ("key, unit at its end", "value")
APART = ("format", "title", "conditions", "sweep")
"""Keys that have a table of their own, or none."""


def inputs_of(ds: xr.Dataset) -> Markup:
    """What the ship, the weather and the run of a result were, and what its cases changed."""
    held = inputs.scenario(ds)
    if not held:
        return paragraph("The result carries no scenario that can be read.")
    base = [row for key, value in held.items() if key not in APART for row in _rows(key, value)]
    parts = [_table("Base scenario, as written; what is not named has its default.", HEADER, base)]
    changes = list(_changes(held.get("conditions")))
    if changes:
        parts.append(_table("What each condition changes.", ("condition", *HEADER), changes))
    swept = held.get("sweep")
    if isinstance(swept, dict) and swept:
        rows = [(tag("code", key), _value(value)) for key, value in swept.items()]
        parts.append(_table("What is swept.", HEADER, rows))
    return join(parts)


def _table(caption: str, header: Sequence[str], rows: Sequence[tuple[str, ...]]) -> Markup:
    columns = zip(*rows, strict=True) if rows else ((),) * len(header)
    named = zip(header, columns, strict=True)
    return table(caption, [Column(name, cells, words=True) for name, cells in named])


def _rows(key: str, value: Any) -> Iterator[tuple[str, str]]:
    """A key with its value, or all keys below it."""
    if isinstance(value, dict) and value:
        for below, inner in value.items():
            yield from _rows(f"{key}.{below}", inner)
    elif isinstance(value, list) and value and all(isinstance(item, dict) for item in value):
        for i, item in enumerate(value):
            yield from _rows(f"{key}.{i}", item)
    else:
        yield tag("code", key), _value(value)


def _changes(conditions: Any) -> Iterator[tuple[str, ...]]:
    for condition in conditions if isinstance(conditions, list) else ():
        if not isinstance(condition, dict):
            continue
        name = str(condition.get("name", ""))
        own = {key: value for key, value in condition.items() if key != "name"}
        rows = [row for key, value in own.items() for row in _rows(key, value)]
        for row in rows or [("nothing", "")]:
            yield name, *row


def _value(value: Any) -> str:
    """A value as the file has it, lists cut where they are long."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, float):
        return f"{value:.12g}"
    if isinstance(value, dict):
        return ", ".join(f"{key} = {_value(inner)}" for key, inner in value.items())
    if isinstance(value, list):
        said = ", ".join(_value(item) for item in value[:MOST_ITEMS])
        more = len(value) - MOST_ITEMS
        return f"{said}, and {more} more" if more > 0 else said
    return str(value)
