"""The severity factors of a result as rows, columns and tables."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from rollsim.errors import printable
from rollsim.measures.severity import LOW_QUANTILE, Quantile
from rollsim.names import SeverityFound
from rollsim.show.query import cases, severity
from rollsim.show.query.lineup import Group, Source, line_up
from rollsim.show.tables.columns import Column, Split

if TYPE_CHECKING:
    import xarray as xr

Row = dict[str, Any]

MISSING = "–"
WEAKEST = 3
"""Storms of each case that are named."""
FIRST_PAIRS = 40
"""How many pairs a table shows unless all are requested."""
LOW = f"{100.0 * LOW_QUANTILE:g} %"


def severity_row(ds: xr.Dataset, case: int) -> Row:
    """The severity factors of a case as plain numbers; empty where the result holds none.

    A number beyond the range of the search is None, and its `_beyond` says "above" or "below".
    """
    asked = severity.asked(ds)
    if asked is None:
        return {}
    codes = cases.values(ds, "severity_found", case=case)
    row: Row = {
        f"severity_{code.label}": int(np.count_nonzero(codes == code)) for code in SeverityFound
    }
    weakest = severity.weakest(ds, [case], 1)
    row |= _number("severity_least", weakest[0].factor if weakest else math.nan)
    row["severity_least_realisation"] = (
        cases.number_of(ds, "realisation", weakest[0].realisation) if weakest else None
    )
    for name, quantile in (
        ("median", severity.middle(ds, case)),
        ("5_percent", severity.low(ds, case)),
    ):
        for part, value in zip(("", "_lower", "_upper"), quantile, strict=True):
            row |= _number(f"severity_{name}{part}", value)
    islands = cases.values(ds, "severity_islands", case=case)
    row["severity_runs_with_islands"] = int(np.count_nonzero(islands > 0))
    return row


def _number(name: str, value: float) -> Row:
    """A factor as JSON has it, and on which side of the range it lies where it lies beyond."""
    beyond = ("above" if value > 0.0 else "below") if math.isinf(value) else ""
    return {name: value if math.isfinite(value) else None, f"{name}_beyond": beyond}


def _value(row: Row, name: str) -> float:
    beyond = {"above": math.inf, "below": -math.inf, "": math.nan}
    value = row[name]
    return beyond[row[f"{name}_beyond"]] if value is None else float(value)


def columns(ds: xr.Dataset, rows: Sequence[Row]) -> list[Column]:
    """The factors of every case; no columns where the result holds none.

    Counts of what lies beyond the range, is not solved or has islands only where there is any.
    """
    asked = severity.asked(ds)
    if asked is None:
        return []

    def quantiles(name: str) -> list[str]:
        parts = [
            Quantile(*(_value(row, f"severity_{name}{part}") for part in ("", "_lower", "_upper")))
            for row in rows
        ]
        return [severity.quantile_text(part, asked.tried) for part in parts]

    least = [severity.text(_value(row, "severity_least"), asked.tried) for row in rows]
    if not cases.random(ds):
        return [Column("severity factor", least)]
    named = [
        text
        if row["severity_least_realisation"] is None
        else f"{text} ({row['severity_least_realisation']})"
        for text, row in zip(least, rows, strict=True)
    ]
    counted = {
        "severity_none_up_to": f"storms above {asked.last:g}",
        "severity_already_at_from": f"storms below {asked.first:g}",
        "severity_not_solved": "storms not solved",
        "severity_runs_with_islands": "storms with islands",
    }
    return [
        Column("median severity", quantiles("median")),
        Column(f"{LOW} severity", quantiles("5_percent")),
        Column("weakest (realisation)", named),
        *(
            Column(header, [str(row[name]) for row in rows])
            for name, header in counted.items()
            if any(row[name] for row in rows)
        ),
    ]


def meaning(ds: xr.Dataset) -> list[str]:
    """What the columns mean, in sentences; nothing where there are none."""
    asked = severity.asked(ds)
    if asked is None:
        return []
    lines = [asked.meaning]
    if cases.random(ds):
        lines.append(
            f"Median and {LOW} quantile over the storms with distribution-free 95 % limits (order "
            "statistics); – where there are too few storms for one. Factors beyond the range count "
            "as above or below it."
        )
    if cases.values(ds, "severity_islands").any():
        lines.append(
            "Islands: factors above the severity factor at which she survives again (structural "
            "resurrection)."
        )
    return lines


def parts(ds: xr.Dataset, *, all_rows: bool = False) -> list[Any]:
    """The loadings compared by the ratio of their factors in common storms, for a terminal."""
    from rich.text import Text

    if severity.asked(ds) is None:
        return []
    every = [(group, pair) for group in line_up([Source(ds)]) for pair in severity.compared(group)]
    if not every:
        return []
    shown = every if all_rows else every[:FIRST_PAIRS]
    several = len({id(group) for group, _ in every}) > 1
    key = [
        Column(letter, [printable(_name(*item, letter)) for item in shown], words=True)
        for letter in "AB"
    ]
    if several:
        words = [printable(group.circumstances) for group, _ in shown]
        key.insert(0, Column("circumstances", words, words=True))
    pairs = [pair for _, pair in shown]
    heading = "Common storms: how much stronger weather A stands than B"
    notes = (
        "A ÷ B: median ratio of the severity factors, storm by storm, with distribution-free 95 % "
        "limits, each pair by itself; above 1 A stands more. A factor beyond the range counts as "
        "all that it may be."
    )
    table: list[Any] = [
        Text(),
        Text(heading, style="bold"),
        Text(),
        Split(key, [pair_columns(pairs)]),
    ]
    if len(shown) < len(every):
        table.append(Text(f"and {len(every) - len(shown)} more pairs: --all shows them"))
    return [*table, Text(), Text(notes)]


def pair_columns(pairs: Sequence[severity.Compared]) -> list[Column]:
    """The ratios of pairs of loadings that other columns name A and B."""
    return [
        Column("A ÷ B", [severity.ratio_text(pair.ratio) for pair in pairs]),
        Column("storms", [str(pair.ratio.pairs) for pair in pairs]),
        Column("in words", [pair.words("A", "B") for pair in pairs], words=True),
    ]


def _name(group: Group, pair: severity.Compared, letter: str) -> str:
    return group.loadings[pair.a if letter == "A" else pair.b].name


def severity_json(ds: xr.Dataset) -> Row | None:
    """What was searched for, the loadings compared and the weakest storms; None without any.

    A limit that is not known is None.
    """
    asked = severity.asked(ds)
    if asked is None:
        return None
    groups = line_up([Source(ds)])
    return {
        "on": asked.on,
        "of": asked.of,
        "from": asked.first,
        "to": asked.last,
        "ratios": [_pair_row(group, pair) for group in groups for pair in severity.compared(group)],
        "weakest": [
            {
                "case": cases.number_of(ds, "case", run.case),
                "condition": cases.conditions(ds)[run.case],
                "realisation": cases.number_of(ds, "realisation", run.realisation),
                **_number("severity_factor", run.factor),
                "severity_islands": run.islands,
            }
            for case in range(ds.sizes["case"])
            for run in severity.weakest(ds, [case], WEAKEST)
        ],
    }


def _pair_row(group: Group, pair: severity.Compared) -> Row:
    """A pair as plain numbers: the median ratio, or within what it lies, and its limits."""
    ratio = pair.ratio
    numbers = {
        "ratio": ratio.value,
        "ratio_lower": ratio.lower,
        "ratio_upper": ratio.upper,
        "ratio_at_least": ratio.least,
        "ratio_at_most": ratio.most,
    }
    return {
        "circumstances": group.circumstances,
        "first": group.loadings[pair.a].name,
        "second": group.loadings[pair.b].name,
        **{name: value if math.isfinite(value) else None for name, value in numbers.items()},
        "storms": ratio.pairs,
        "shown": ratio.shown,
    }
