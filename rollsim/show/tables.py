"""Tables for the terminal: the margins of a result and the static numbers, at any width."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from rollsim.cautions import CAUTION, LOLL_WARNING
from rollsim.errors import printable
from rollsim.names import Outcome
from rollsim.show import cases
from rollsim.show.columns import Column, Split
from rollsim.show.summary import Row, axis_name, case_row, pair_rows

if TYPE_CHECKING:
    import xarray as xr
    from rich.console import RenderableType

FIRST_ROWS = 40
"""How many rows a table shows unless all are asked for."""
MISSING = "–"

StaticRow = tuple[str, str, Sequence[float]]
"""Name, unit and one value for each case."""


def _number(value: float | None, digits: int) -> str:
    """A number with a fixed count of decimals, no "-0.0", a dash where it is missing."""
    if value is None or value != value:
        return MISSING
    text = f"{value:.{digits}f}"
    return text.lstrip("-") if float(text) == 0.0 else text


def _numbers(rows: Sequence[Row], header: str, name: str, digits: int) -> Column:
    return Column(header, [_number(row[name], digits) for row in rows])


def _counts(rows: Sequence[Row], name: str, header: str = "") -> Column:
    return Column(header or name.replace("_", " "), [str(row[name]) for row in rows])


def _sides(rows: Sequence[Row], header: str, name: str) -> Column:
    """An angle to port and to starboard in one column; one dash where both are missing."""
    both = [(row[f"{name}_port_deg"], row[f"{name}_deg"]) for row in rows]
    cells = [f"{_number(port, 1)} / {_number(starboard, 1)}" for port, starboard in both]
    return Column(
        header,
        [MISSING if pair == (None, None) else c for pair, c in zip(both, cells, strict=True)],
    )


def _chance(rows: Sequence[Row], header: str, name: str) -> Column:
    """A probability with its interval, never the bare number."""

    def cell(row: Row) -> str:
        p, low, high = (row[f"{name}{part}"] for part in ("", "_lower", "_upper"))
        return MISSING if p is None else f"{p:.3f} [{low:.3f}, {high:.3f}]"

    return Column(header, [cell(row) for row in rows])


def _span(rows: Sequence[Row], header: str, name: str) -> Column:
    """A rate or a time with its interval; without any failure a time has no upper end."""

    def cell(row: Row) -> str:
        middle, low, high = (row[f"{name}{part}"] for part in ("", "_lower", "_upper"))
        if low is None:
            return MISSING
        said = MISSING if middle is None else f"{middle:.3g}"
        return f"{said} [{low:.3g}, {'∞' if high is None else f'{high:.3g}'}]"

    return Column(header, [cell(row) for row in rows])


def _axes(ds: xr.Dataset, rows: Sequence[Row]) -> list[Column]:
    columns = []
    for axis in cases.sweep_axes(ds):
        held = [row[axis_name(ds, axis)] for row in rows]
        words = any(isinstance(value, str) for value in held)
        cells = [MISSING if value is None else printable(cases.value_text(value)) for value in held]
        unit = cases.unit(ds, axis)
        header = printable(axis.replace("_", " ")) + (f" [{unit}]" if unit else "")
        columns.append(Column(header, cells, words))
    return columns


def _key(ds: xr.Dataset, rows: Sequence[Row]) -> list[Column]:
    """The columns that say which case a row is."""
    names = [printable(row["condition"]) for row in rows]
    named = (
        [] if set(cases.conditions(ds)) == {"base"} else [Column("condition", names, words=True)]
    )
    return [_counts(rows, "case"), *named, *_axes(ds, rows)]


def _groups(rows: Sequence[Row]) -> list[list[Column]]:
    """Statics, runs, probabilities and rates; columns that say nothing anywhere are left out."""
    statics = [
        _numbers(rows, "GM [m]", "gm_m", 3),
        _sides(rows, "loll P / S [°]", "loll_angle"),
        _numbers(rows, "static heel [°]", "static_heel_deg", 1),
        _sides(rows, "vanishing P / S [°]", "vanishing_angle"),
    ]
    seen = [code.label for code in Outcome if any(row[code.label] for row in rows)]
    early = any(row["failed_before_settle"] for row in rows)
    runs = [
        *(_counts(rows, name) for name in seen),
        *([_counts(rows, "failed_before_settle")] if early else []),
        _numbers(rows, "worst roll [°]", "worst_roll_deg", 1),
        _numbers(rows, "least energy margin", "least_energy_margin", 2),
    ]
    chances = [
        _chance(rows, "capsize probability", "capsize_probability"),
        _chance(rows, "failure probability", "failure_probability"),
    ]
    rates = [
        _span(rows, "failure rate [1/h]", "failure_rate_per_h"),
        _span(rows, "mean time to failure [h]", "mean_time_to_failure_h"),
    ]
    random = any(row["failure_probability"] is not None for row in rows)
    return [statics, runs, chances, rates] if random else [statics, runs]


def margins_table(ds: xr.Dataset, *, all_rows: bool = False) -> RenderableType:
    """What a study found, one row a case; the conditions compared in common storms; cautions."""
    from rich.console import Group
    from rich.text import Text

    count = ds.sizes["case"]
    shown = count if all_rows else min(count, FIRST_ROWS)
    rows = [case_row(ds, case) for case in range(shown)]
    groups = _groups(rows)
    parts: list[Any] = [Text(printable(cases.title(ds)), style="bold"), Text()]
    parts += [Split(_key(ds, rows), groups), *_more(shown, count, "cases"), Text()]
    parts.append(Text(_meaning(rows, random=len(groups) > 2)))
    parts += _pairs(ds, all_rows)
    return Group(*parts, *_cautions(cases.has_loll(ds, range(count))))


def _meaning(rows: Sequence[Row], *, random: bool) -> str:
    """What the columns mean, in a few lines."""
    lines = [
        "P port (negative), S starboard. Energy margin: 1 at rest, 0 at the barrier, "
        "negative with energy enough to go over; the least of all runs."
    ]
    if random:
        lines.append(
            "Probabilities are for one run, with exact (Clopper-Pearson) 95 % limits; "
            "a failure is the passing of any limit."
        )
        lines.append(
            "Failure rate: failures per hour at risk, runs without one counted with their time, "
            "with Poisson 95 % limits; mean time to failure is its inverse."
        )
    if any(row["failed_before_settle"] for row in rows):
        lines.append("Runs that failed before settling are counted apart, in no probability.")
    return "\n".join(lines)


def _pairs(ds: xr.Dataset, all_rows: bool) -> list[Any]:
    """The conditions compared two by two in the storms that both have met."""
    from rich.text import Text

    found = pair_rows(ds)
    rows = found if all_rows else found[:FIRST_ROWS]
    if not rows:
        return []
    key = [
        Column("condition A", [printable(row["first"]) for row in rows], words=True),
        Column("condition B", [printable(row["second"]) for row in rows], words=True),
        *_axes(ds, rows),
    ]
    names = (("only_a", "only A failed"), ("only_b", "only B failed"), ("both", "both failed"))
    counts = [_counts(rows, name, header) for name, header in names]
    counts += [_counts(rows, "neither"), _counts(rows, "left_out")]
    apart = [
        _chance(rows, "P(A) - P(B)", "difference"),
        Column("p", [f"{row['p_value']:.2g}" for row in rows]),
    ]
    said = "Common storms: in how many of them which condition failed"
    notes = (
        "P(A) - P(B): difference of the failure probabilities with 95 % limits (Tango's score "
        "interval). p: exact test that storms in which only one failed fall to both alike, each "
        "pair by itself."
    )
    if any(row["left_out"] for row in rows):
        notes += "\nLeft out: not run, not solved or failed before settling in either."
    parts = [Text(), Text(said, style="bold"), Text(), Split(key, [counts, apart])]
    return [*parts, *_more(len(rows), len(found), "pairs"), Text(), Text(notes)]


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
        [Column(printable(label), [_number(held[i], _digits(unit)) for _, unit, held in rows])]
        for i, label in enumerate(case_labels)
    ]
    return Group(Split([key], columns), *_cautions(loll))


def _digits(unit: str) -> int:
    """Decimals of a static number: millimetres, tenths of a degree."""
    return {"°": 1, "m": 3}.get(unit, 4)
