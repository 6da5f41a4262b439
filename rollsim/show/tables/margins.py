"""Tables for the terminal: the margins of a result and the static numbers, at any width."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from rollsim.cautions import CAUTION, LOLL_WARNING
from rollsim.errors import printable
from rollsim.measures.outcome import Event
from rollsim.show.query import cases, inputs
from rollsim.show.tables import cells, severity
from rollsim.show.tables.columns import Column, Split
from rollsim.show.tables.summary import Row, case_row, pair_rows, warnings

if TYPE_CHECKING:
    import xarray as xr
    from rich.console import RenderableType

FIRST_ROWS = 40
"""How many rows a table shows unless all are requested."""

VERBS: dict[Event, str] = {"capsize": "capsized", "failure": "failed"}
"""What a run did that met the event."""

StaticRow = tuple[str, str, Sequence[float]]
"""Name, unit and one value for each case."""


def margins_table(
    ds: xr.Dataset, *, event: Event | None = None, all_rows: bool = False
) -> RenderableType:
    """What a study gave, one row a case; the conditions compared in common storms; cautions.

    Rates and comparisons are of the `event`, by default the one that the result is about.
    """
    from rich.console import Group
    from rich.text import Text

    count = ds.sizes["case"]
    shown = count if all_rows else min(count, FIRST_ROWS)
    rows = [case_row(ds, case) for case in range(shown)]
    of = event or cases.event_of(ds)
    parts: list[Any] = [Text(printable(cases.title(ds)), style="bold"), Text()]
    searched = [severity.columns(ds, rows)] if severity.columns(ds, rows) else []
    groups = cells.groups(rows, of)
    tables = Split(cells.key(ds, rows), [*groups[:1], *searched, *groups[1:]])
    parts += [tables, *_more(shown, count, "cases")]
    parts += [Text(), *(Text(line, style="bold") for line in warnings(ds))]
    parts.append(Text(_meaning(ds, rows, of)))
    parts += severity.parts(ds, all_rows=all_rows) + _pairs(ds, of, all_rows)
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
    if cases.random(ds):
        lines += _meaning_of_chances(ds, rows, event)
    if any(row["failed_before_settle"] for row in rows):
        lines.append("Runs that passed a limit before settle_s stay in every count.")
    return "\n".join(lines)


def _meaning_of_chances(ds: xr.Dataset, rows: Sequence[Row], event: Event) -> list[str]:
    """What probabilities and rates mean, and how the runs were counted."""
    failure = "; a failure is the passing of any limit" if event == "failure" else ""
    lines = [
        f"Probabilities are for one run, with exact (Clopper-Pearson) 95 % limits{failure}.",
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
    if rule := inputs.until(ds):
        lines.append(
            f"Counted on until the {rule[2]} probability was known within {100.0 * rule[0]:g} % "
            f"of itself, or to {rule[1]} realisations: what was not needed is not run. Where the "
            "counting ends depends on what was counted, so the limits hold a little less often "
            "than in 95 of 100 studies."
        )
    return lines


def _pairs(ds: xr.Dataset, event: Event, all_rows: bool) -> list[Any]:
    """The conditions compared two by two in the storms that both have met."""
    from rich.text import Text

    every = pair_rows(ds, event)
    rows = every if all_rows else every[:FIRST_ROWS]
    if not rows:
        return []
    key = [
        Column("condition A", [printable(row["first"]) for row in rows], words=True),
        Column("condition B", [printable(row["second"]) for row in rows], words=True),
        *cells.axes(ds, rows),
    ]
    verb = VERBS[event]
    names = (("only_a", f"only A {verb}"), ("only_b", f"only B {verb}"), ("both", f"both {verb}"))
    counts = [cells.counts(rows, name, header) for name, header in names]
    counts += [cells.counts(rows, "neither"), cells.counts(rows, "left_out")]
    apart = [
        cells.chance(rows, "P(A) - P(B)", "difference"),
        Column("p", [_p(row) for row in rows]),
    ]
    heading = f"Common storms: in how many of them which condition {verb}"
    notes = (
        f"P(A) - P(B): difference of the {event} probabilities with 95 % limits (Tango's score "
        f"interval). p: exact test that storms in which only one {verb} fall to both alike, each "
        "pair by itself."
    )
    if any(row["left_out"] for row in rows):
        notes += "\nLeft out: not run or not solved in either."
    parts = [Text(), Text(heading, style="bold"), Text(), Split(key, [counts, apart])]
    return [*parts, *_more(len(rows), len(every), "pairs"), Text(), Text(notes)]


def _p(row: Row) -> str:
    """The p-value of a pair; missing where no storm has a result of both."""
    if row["difference"] is None:
        return cells.MISSING
    return f"{p:.2g}" if (p := row["p_value"]) > 1e-300 else "<1e-300"


def _more(shown: int, count: int, what: str) -> list[Any]:
    """How many rows are not shown, if any, and how to see them."""
    from rich.text import Text

    return [Text(f"and {count - shown} more {what}: --all shows them")] if shown < count else []


def _cautions(loll: bool) -> list[Any]:
    from rich.text import Text

    loll_lines = [Text(), Text(LOLL_WARNING)] if loll else []
    return [Text(), Text(CAUTION), *loll_lines]


def static_table(
    rows: Sequence[StaticRow], case_labels: Sequence[str], *, loll: bool = False
) -> RenderableType:
    """Static numbers, a row each, a column a case; `loll` adds the warning about loll."""
    from rich.console import Group

    named = [f"{name} [{unit}]" if unit else name for name, unit, _ in rows]
    key = Column("", [printable(name) for name in named], words=True)
    columns = [
        [
            Column(
                printable(label),
                [cells.number(numbers[i], _digits(unit)) for _, unit, numbers in rows],
            )
        ]
        for i, label in enumerate(case_labels)
    ]
    return Group(Split([key], columns), *_cautions(loll))


def _digits(unit: str) -> int:
    """Decimals of a static number: millimetres, tenths of a degree."""
    return {"°": 1, "m": 3}.get(unit, 4)
