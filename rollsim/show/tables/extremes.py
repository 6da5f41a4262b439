"""The law of the greatest roll in a run: as plain numbers, and as columns of tables."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from rollsim.measures.extremes.levels import FEWEST, FITS, FURTHEST, Extremes
from rollsim.show.query import cases
from rollsim.show.query.rolls import extremes_of
from rollsim.show.tables import cells
from rollsim.show.tables.columns import Column
from rollsim.show.tables.summary import Row, placed_row, plain

if TYPE_CHECKING:
    import xarray as xr
    from rich.console import RenderableType

MEANING = (
    "Greatest roll of a run to either side, from settle_s on: generalised extreme value law by "
    "maximum likelihood; a capsized run counts as one that would have rolled further than it came. "
    "Once in N: the angle that one run in N passes on average, with 95 % limits by profile "
    "likelihood. Goodness: Anderson and Darling's test, its p by samples of the fitted law itself; "
    f"below {FITS:g} the law does not fit. Levels are given from {FEWEST} runs on that did not "
    f"capsize, where the law fits, up to N = {FURTHEST} times the runs, and none past the capsize "
    "angle. AIC more: how much worse a Weibull or Rayleigh law does, negative where better; "
    "differences below 2 say little."
)


def extremes_row(ds: xr.Dataset, case: int) -> Row:
    """What is known of the greatest roll of a run of a case, named with its units."""
    found = extremes_of(ds, case)
    row = placed_row(ds, case)
    row |= {"runs": found.runs, "capsized": found.capsized}
    law = found.law
    for name in ("location", "scale", "shape"):
        known = None if law is None else getattr(law, name)
        row[name if name == "shape" else f"{name}_deg"] = known
    row["goodness_p_value"] = plain(found.goodness)
    row["levels"] = [
        {"once_in_runs": level.runs, "roll_deg": plain(level.value),
         "roll_deg_lower": plain(level.lower), "roll_deg_upper": plain(level.upper)}
        for level in found.levels
    ]  # fmt: skip
    row["rivals"] = _rivals(found)
    return row | {"no_levels_because": found.reason or None}


def _rivals(found: Extremes) -> Row:
    """The other laws by name."""
    return {
        name: {
            "scale_deg": rival.scale,
            "shape": plain(rival.shape),
            "aic_more": rival.aic_more,
            "levels": [
                {"once_in_runs": level.runs, "roll_deg": plain(value)}
                for level, value in zip(found.levels, rival.levels, strict=True)
            ],
        }
        for name, rival in found.rivals.items()
    }


def without_law(rows: Sequence[Row]) -> str:
    """Why no case has any law, in one sentence; empty where one has."""
    reasons = dict.fromkeys(row["no_levels_because"] for row in rows)
    if any(row["shape"] is not None for row in rows):
        return ""
    return f"No return levels: {' or '.join(reasons)}."


def random_cases(ds: xr.Dataset) -> list[int]:
    """The cases whose runs differ by chance."""
    known = np.isfinite(cases.values(ds, "failure_probability"))
    return [int(case) for case in np.flatnonzero(known)]


def columns(rows: Sequence[Row], ceiling: float) -> list[Column]:
    """The laws and their levels, one row a case; `ceiling` the least capsize angle [degree]."""
    periods = sorted({level["once_in_runs"] for row in rows for level in row["levels"]})
    shown = [n for n in periods if str(n).startswith("1")] or periods
    reasons = [row["no_levels_because"] or "" for row in rows]
    laws = [
        cells.counts(rows, "runs"),
        cells.counts(rows, "capsized"),
        cells.numbers(rows, "location [°]", "location_deg", 2),
        cells.numbers(rows, "scale [°]", "scale_deg", 2),
        cells.numbers(rows, "shape", "shape", 3),
        cells.numbers(rows, "goodness p", "goodness_p_value", 3),
    ]
    levels = [Column(f"once in {n} [°]", [_level(row, n, ceiling) for row in rows]) for n in shown]
    if not any(row["rivals"] for row in rows):
        return [*laws, Column("no levels because", reasons, words=True)]
    rivals = [
        Column(f"{name.capitalize()} AIC more", [_more(row, name) for row in rows])
        for name in ("weibull", "rayleigh")
    ]
    because = [Column("no levels because", reasons, words=True)] * any(reasons)
    return [*laws, *levels, *rivals, *because]


def _more(row: Row, name: str) -> str:
    return cells.number(row["rivals"][name]["aic_more"], 1) if row["rivals"] else cells.MISSING


def _level(row: Row, runs: int, ceiling: float) -> str:
    """A return level with its limits; what lies past the capsize angle is only told to."""
    for level in row["levels"]:
        if level["once_in_runs"] == runs:
            value, low, high = (
                f"> {ceiling:g}" if level[name] is None else f"{level[name]:.1f}"
                for name in ("roll_deg", "roll_deg_lower", "roll_deg_upper")
            )
            return f"{value} [{low}, {high}]"
    return cells.MISSING


def extremes_table(ds: xr.Dataset, most: int) -> list[RenderableType]:
    """The laws of at most so many cases for the terminal, or why there are none."""
    from rich.text import Text

    from rollsim.show.tables.columns import Split

    chosen = random_cases(ds)
    if not chosen:
        return [Text(), Text("Greatest roll of a run: nothing is random, there is no law of it.")]
    rows = [extremes_row(ds, case) for case in chosen[:most]]
    heading = Text("Greatest roll of a run", style="bold")
    if reason := without_law(rows):
        return [Text(), heading, Text(), Text(reason)]
    table = Split(cells.key(ds, rows), [columns(rows, least_capsize(ds))])
    more = cells.more(len(chosen), len(rows), "cases")
    return [Text(), heading, Text(), table, *more, Text(), Text(MEANING)]


def least_capsize(ds: xr.Dataset) -> float:
    """The least capsize angle [degree] of all cases."""
    return float(np.min(cases.values(ds, "capsize_limit")))
