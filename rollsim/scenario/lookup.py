"""The keys of a scenario file as a terminal shows them: all of them, or what one means."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from difflib import get_close_matches
from textwrap import fill

from rollsim.scenario.describe import Described, TableDescribed, tables
from rollsim.scenario.schema.units import split_unit

WIDTH = 100
LONGEST = 100
"""Characters of a key beyond which nothing near is looked for."""


def overview() -> str:
    """Every table with its keys, a line a table."""
    lines = []
    for table in tables():
        keys = ", ".join(row.key for row in table.keys if row.key != "kind")
        lines += [table.title, *_wrapped(table.meaning, 2), *(_wrapped(keys, 4) if keys else [])]
    return "\n".join([*lines, "", "rollsim keys KEY says what a key or a table means."])


def meaning(key: str) -> str | None:
    """What every key that `key` names means; None where it names none.

    A whole key or table goes before a last part, that before a part of one.
    """
    wanted = ".".join(part for part in key.strip("[]\" '").split(".") if not part.isdigit())
    for fits in _ways(wanted):
        texts = [text for table in tables() for text in _fitting(table, fits)]
        if texts and wanted:
            return "\n\n".join(dict.fromkeys(texts))
    return None


def nearest(key: str) -> list[str]:
    """The names nearest to `key`, whole keys for the parts that are near."""
    if len(key) > LONGEST:
        return []
    names = {_name(table, row): None for table in tables() for row in table.keys}
    if near := get_close_matches(key, names, 3, 0.75):
        return near
    last = {name.rpartition(".")[2]: name for name in reversed(list(names))}
    return [last[word] for word in get_close_matches(key.rpartition(".")[2], last, 3)]


def _ways(wanted: str) -> Iterator[Callable[[str], bool]]:
    """How a name may be meant, the strictest first."""
    yield lambda name: name == wanted
    yield lambda name: name.endswith(f".{wanted}")
    yield lambda name: split_unit(name.rpartition(".")[2])[0] == wanted
    yield lambda name: wanted in name


def _fitting(table: TableDescribed, fits: Callable[[str], bool]) -> Iterator[str]:
    """The whole table if its name fits, else those of its keys that do."""
    if table.name and fits(table.name):
        yield "\n".join([table.title, *_wrapped(table.meaning, 2)])
        for row in table.keys:
            yield _key(table, row)
        return
    for row in table.keys:
        if fits(_name(table, row)):
            yield _key(table, row)


def _name(table: TableDescribed, row: Described) -> str:
    return f"{table.name}.{row.key}" if table.name else row.key


def _key(table: TableDescribed, row: Described) -> str:
    kind = f' (kind "{table.kind}")' if table.kind and row.key != "kind" else ""
    lines = [f"{_name(table, row)}{kind}", *_wrapped(row.meaning, 2)]
    lines += _wrapped(f"holds {row.allowed}", 2)
    if row.unit:
        lines.append(f"  unit {row.unit}")
    lines.append("  required" if row.default == "required" else f"  default {row.default}")
    return "\n".join(lines)


def _wrapped(text: str, indent: int) -> list[str]:
    space = " " * indent
    return fill(text, WIDTH, initial_indent=space, subsequent_indent=space).splitlines()
