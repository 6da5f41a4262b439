"""The columns of tables: the numbers of cases as text, always the same way."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from rollsim.errors import printable
from rollsim.measures.outcome import EVENTS, Event
from rollsim.names import Outcome
from rollsim.show.query import cases
from rollsim.show.tables.columns import Column
from rollsim.show.tables.summary import Row, axis_name

if TYPE_CHECKING:
    import xarray as xr
    from rich.text import Text

MISSING = "–"
END_OF_LEVERS = " (end of levers)"
"""Said of a heel beyond which the levers are not known."""

VERBS: dict[Event, str] = {"capsize": "capsized", "failure": "failed"}
"""What a run did that met the event."""

MOST_DECIMALS = 6


def number(value: float | None, digits: int) -> str:
    """A number with a fixed count of decimals, no "-0.0", a dash where it is missing."""
    if value is None or value != value:
        return MISSING
    text = f"{value:.{digits}f}"
    return text.lstrip("-") if float(text) == 0.0 else text


def margin(value: float | None) -> str:
    """A margin with two decimals, or as many as show on which side of 0, the limit, it lies."""
    if value is None or value != value or value == 0.0:
        return number(value, 2)
    digits = next((d for d in range(2, MOST_DECIMALS) if round(value, d) != 0.0), MOST_DECIMALS)
    return number(value, digits)


def numbers(rows: Sequence[Row], header: str, name: str, digits: int) -> Column:
    """A number of every case with a fixed count of decimals."""
    return Column(header, [number(row[name], digits) for row in rows])


def counts(rows: Sequence[Row], name: str, header: str = "") -> Column:
    """A whole number of every case."""
    texts = [MISSING if row[name] is None else str(row[name]) for row in rows]
    return Column(header or name.replace("_", " "), texts)


def sides(rows: Sequence[Row], header: str, name: str) -> Column:
    """An angle to port and to starboard in one column; one dash where both are missing."""
    both = [(row[f"{name}_port_deg"], row[f"{name}_deg"]) for row in rows]
    texts = [f"{number(port, 1)} / {number(starboard, 1)}" for port, starboard in both]
    return Column(
        header,
        [MISSING if pair == (None, None) else c for pair, c in zip(both, texts, strict=True)],
    )


def chance(rows: Sequence[Row], header: str, name: str) -> Column:
    """A probability with its interval, never the bare number."""

    def cell(row: Row) -> str:
        p, low, high = (row[f"{name}{part}"] for part in ("", "_lower", "_upper"))
        if p is None or p != p:
            return MISSING
        share, least, most = _shares(p, low, high)
        return f"{share} [{least}, {most}]"

    return Column(header, [cell(row) for row in rows])


def _shares(p: float, low: float, high: float) -> list[str]:
    """A probability, or a difference of two, and its limits, all three written alike.

    Three decimals, more where the interval is narrow or a limit small; small ones in powers of ten.
    """
    width = high - low
    finest = 1 - math.floor(math.log10(width)) if width > 0.0 else 3
    if p > 0.0 and low >= 0.0 and high < 0.0095:
        digits = max(1, finest + math.floor(math.log10(p)))
        return ["0" if each == 0.0 else f"{each:.{digits}e}" for each in (p, low, high)]
    smallest = min((abs(each) for each in (p, low, high) if each != 0.0), default=1.0)
    shown = 1 - math.floor(math.log10(smallest))
    decimals = min(max(3, finest, shown), MOST_DECIMALS)
    return [number(each, decimals) for each in (p, low, high)]


def span(rows: Sequence[Row], header: str, name: str) -> Column:
    """A rate or a time with its interval; without any event a time has no upper end."""

    def cell(row: Row) -> str:
        middle, low, high = (row[f"{name}{part}"] for part in ("", "_lower", "_upper"))
        if low is None:
            return MISSING
        value = MISSING if middle is None else f"{middle:.3g}"
        return f"{value} [{low:.3g}, {'∞' if high is None else f'{high:.3g}'}]"

    return Column(header, [cell(row) for row in rows])


def p_values(rows: Sequence[Row]) -> list[Column]:
    """The p-value of every pair, alone and after Holm; missing where no storm is common."""

    def cell(p: float | None) -> str:
        return MISSING if p is None else f"{p:.2g}" if p > 1e-300 else "<1e-300"

    named = (("p", "p_value"), ("p (Holm)", "p_value_holm"))
    return [Column(header, [cell(row[name]) for row in rows]) for header, name in named]


def more(count: int, shown: int, what: str) -> list[Text]:
    """How many rows are not shown, if any, and how to see them."""
    from rich.text import Text

    return [Text(f"and {count - shown} more {what}: --all shows them")] if shown < count else []


def axes(ds: xr.Dataset, rows: Sequence[Row]) -> list[Column]:
    """Where every case stands on the sweep axes."""
    columns = []
    for axis in cases.sweep_axes(ds):
        column = [row[axis_name(ds, axis)] for row in rows]
        words = any(isinstance(value, str) for value in column)
        signed = cases.is_offset(ds, axis)
        texts = [
            MISSING if v is None else printable(cases.value_text(v, signed=signed)) for v in column
        ]
        columns.append(Column(printable(cases.axis_label(ds, axis)), texts, words))
    return columns


def key(ds: xr.Dataset, rows: Sequence[Row]) -> list[Column]:
    """The columns that say which case a row is."""
    names = [printable(row["condition"]) for row in rows]
    named = (
        []
        if set(cases.conditions(ds)) == {cases.NO_CONDITION}
        else [Column("condition", names, words=True)]
    )
    return [counts(rows, "case"), *named, *axes(ds, rows)]


def groups(rows: Sequence[Row], event: Event) -> list[list[Column]]:
    """Statics, outcomes, and where something is random probabilities and rates."""
    random = any(row["failure_probability"] is not None for row in rows)
    counted = [chances(rows, event), rates(rows, event)] if random else []
    period = stored(rows, "roll period [s]", "roll_period_s", 1)
    more = [stays(rows), *counted]
    return [[*statics(rows), *period], outcomes(rows), *(group for group in more if group)]


def statics(rows: Sequence[Row]) -> list[Column]:
    """GM, and the angles at rest."""
    return [
        numbers(rows, "GM [m]", "gm_m", 3),
        sides(rows, "loll P / S [°]", "loll_angle"),
        numbers(rows, "static heel [°]", "static_heel_deg", 1),
        Column("vanishing P / S [°]", [_vanishing(row) for row in rows]),
    ]


def _vanishing(row: Row) -> str:
    """Where stability vanishes on either side, or how far the levers go and still right her."""
    texts, ends = [], False
    for side, beyond in (("_port", "<"), ("", ">")):
        angle, end = row[f"vanishing_angle{side}_deg"], row[f"gz_positive_to{side}_deg"]
        ends |= end is not None
        texts.append(number(angle, 1) if end is None else f"{beyond} {end:.4g}")
    if set(texts) == {MISSING}:
        return MISSING
    return " / ".join(texts) + END_OF_LEVERS * ends


def stored(rows: Sequence[Row], header: str, name: str, digits: int) -> list[Column]:
    """A number that files of an older program lack: no column where no row has it."""
    return [numbers(rows, header, name, digits)] if all(name in row for row in rows) else []


def outcomes(rows: Sequence[Row]) -> list[Column]:
    """How the runs ended and how near they came; outcomes that no run had are left out."""
    seen = [code.label for code in Outcome if any(row[code.label] for row in rows)]
    early = any(row["failed_before_settle"] for row in rows)
    flops = any(row.get("side_changes") for row in rows)
    energy = Column("least energy margin", [margin(row["least_energy_margin"]) for row in rows])
    limits = [margin(row["least_limit_margin"]) for row in rows if "least_limit_margin" in row]
    better = any(row.get("severity_found") for row in rows)
    return [
        *(counts(rows, name) for name in seen),
        *([counts(rows, "failed_before_settle", "of these before settling")] if early else []),
        Column("greatest roll [°]", [_roll(row) for row in rows]),
        *stored(rows, "roll std [°]", "roll_std_deg", 1),
        *([counts(rows, "side_changes")] if flops else []),
        *([Column("least limit margin", limits)] if len(limits) == len(rows) else []),
        *([] if better else [energy]),  # a figure of calm water and gusts
    ]


def stays(rows: Sequence[Row]) -> list[Column]:
    """Time and mean stay on each side; nothing where no ship has two or no run changed sides."""
    known = [row for row in rows if row.get("share_to_starboard") is not None]
    if not any(row["side_changes"] for row in known):
        return []
    shares = [row["share_to_starboard"] for row in rows]
    percent = [None if share is None else 100.0 * share for share in shares]
    return [
        Column("time to starboard [%]", [number(value, 1) for value in percent]),
        span(rows, "mean stay P [h]", "stay_to_port_h"),
        span(rows, "mean stay S [h]", "stay_to_starboard_h"),
    ]


def rolling(rows: Sequence[Row]) -> list[Column]:
    """How she rolled: what is stored of every run; nothing of a file that lacks it."""
    if not all("roll_std_deg" in row and "upcrossings" in row for row in rows):
        return []
    passed = ("roll_limit", "flooding", "capsize")
    return [
        numbers(rows, "roll mean [°]", "roll_mean_deg", 2),
        numbers(rows, "roll std [°]", "roll_std_deg", 2),
        counts(rows, "upcrossings"),
        *([counts(rows, "side_changes")] if any(row["side_changes"] for row in rows) else []),
        *stays(rows),
        *(
            Column(f"{name.replace('_', ' ')} first passed", [_passed(row, name) for row in rows])
            for name in passed
            if any(row.get(f"first_{name}_time_s") is not None for row in rows)
        ),
    ]


def _passed(row: Row, name: str) -> str:
    """In how many runs a limit was passed, and when in the first of them."""
    first = row.get(f"first_{name}_time_s")
    count = row["capsized"] if name == "capsize" else row.get(f"passed_{name}")
    return MISSING if first is None else f"{count} runs, from {first:.4g} s"


def _roll(row: Row) -> str:
    """The greatest roll; a run that capsized before settle_s has none, and the most of all."""
    roll = number(row["worst_roll_deg"], 1)
    return "capsized" if roll == MISSING and row["capsized"] else roll


def chances(rows: Sequence[Row], event: Event) -> list[Column]:
    """Probabilities in one run: of a capsize always, of a failure where that is the event."""
    events: Sequence[Event] = EVENTS if event == "failure" else ("capsize",)
    return [chance(rows, f"{each} probability", f"{each}_probability") for each in events]


def rates(rows: Sequence[Row], event: Event) -> list[Column]:
    """The event in time; nothing where the result is of an older program and holds no rates."""
    if not all(f"{event}_rate_per_h" in row for row in rows):
        return []
    return [
        span(rows, f"{event} rate [1/h]", f"{event}_rate_per_h"),
        span(rows, f"mean time to {event} [h]", f"mean_time_to_{event}_h"),
    ]
