"""Cross-curves in a CSV file: a line for each displacement, a column for each heel.

The first line names the columns, in any order: displacement_t, kn_10, kn_20 and so on by their heel
in degrees, and where known km_m, kb_m, draught_m. A heel of 0 need not be listed.
"""

from __future__ import annotations

import csv
import math
import re
from collections.abc import Iterator
from functools import lru_cache
from typing import Any, NamedTuple

DISPLACEMENT, OTHERS = "displacement_t", ("km_m", "kb_m", "draught_m")
KN = re.compile(r"kn_(-?\d+(?:\.\d+)?)")
COLUMNS = "displacement_t, kn_10, kn_20 and so on, and where known km_m, kb_m, draught_m"
MOST_FAULTS = 20


class CurveFile(NamedTuple):
    """The lists of the table as the scenario would hold them, or what is wrong, line by line."""

    lists: dict[str, Any]
    faults: tuple[tuple[str, str], ...]
    """Problem and hint of each."""


EMPTY: dict[str, Any] = {"heel_deg": [], DISPLACEMENT: [], "kn_m": []}


@lru_cache(maxsize=32)
def curves_in(text: str) -> CurveFile:
    """The cross-curves of a CSV text; empty lists where it has faults."""
    lines = text.lstrip("\ufeff").splitlines()
    first = next((line for line in lines if line.strip()), "")
    delimiter = max(",;\t", key=first.count)
    rows = [
        (number, [cell.strip() for cell in row])
        for number, row in enumerate(csv.reader(lines, delimiter=delimiter), 1)
        if any(cell.strip() for cell in row)
    ]
    if not rows:
        return CurveFile(EMPTY, (("is empty", f"columns {COLUMNS}"),))
    header = rows[0][1]
    faults = [*_header_faults(rows[0][0], header)]
    if not faults:
        faults = [fault for row in rows[1:] for fault in _row_faults(header, *row)]
    if not faults and len(rows) < 2:
        faults = [("holds no row of numbers", "a line for each displacement")]
    if faults:
        return CurveFile(EMPTY, tuple(faults[:MOST_FAULTS]))
    return CurveFile(_lists(header, [row for _, row in rows[1:]]), ())


def _header_faults(line: int, header: list[str]) -> Iterator[tuple[str, str]]:
    if all(_number(cell) is not None for cell in header if cell):
        yield f"line {line}: must name the columns, got numbers", f"columns {COLUMNS}"
        return
    for column, name in enumerate(header, 1):
        if name not in (DISPLACEMENT, *OTHERS) and not KN.fullmatch(name):
            problem = f'line {line}, column {column}: unknown column "{name[:40]}"'
            yield problem, f"known are {COLUMNS}"
        elif name in header[: column - 1]:
            problem = f'line {line}, column {column}: "{name}" stands there twice'
            yield problem, "each column once"
    if DISPLACEMENT not in header:
        yield f"line {line}: has no column {DISPLACEMENT}", f"columns {COLUMNS}"


def _row_faults(header: list[str], line: int, row: list[str]) -> Iterator[tuple[str, str]]:
    if len(row) != len(header):
        problem = f"line {line}: holds {len(row)} values for {len(header)} columns"
        yield problem, "a value for each column; numbers with a decimal point"
        return
    for column, (name, cell) in enumerate(zip(header, row, strict=True), 1):
        if _number(cell) is None:
            problem = f'line {line}, column {column} ({name}): must be a number, got "{cell[:40]}"'
            yield problem, "numbers with a decimal point, no unit behind them"


def _number(cell: str) -> float | None:
    try:
        value = float(cell)
    except ValueError:
        return None
    return value if math.isfinite(value) else None


def _lists(header: list[str], rows: list[list[str]]) -> dict[str, Any]:
    """The lists by their keys, columns of KN in the order of heel, rows as they stand."""
    table = {name: [float(row[i]) for row in rows] for i, name in enumerate(header)}
    heels = {float(found[1]): name for name in header if (found := KN.fullmatch(name))}
    order = sorted(heels)
    columns = [table[heels[heel]] for heel in order]
    if order and order[0] > 0.0:
        order, columns = [0.0, *order], [[0.0] * len(rows), *columns]
    lists: dict[str, Any] = {key: table[key] for key in (DISPLACEMENT, *OTHERS) if key in table}
    return lists | {"heel_deg": order, "kn_m": [list(row) for row in zip(*columns, strict=True)]}
