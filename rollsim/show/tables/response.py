"""What `rollsim response` has found, as rows: for the terminal and as JSON."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

import numpy as np

from rollsim.cautions import CAUTION, LOLL_WARNING
from rollsim.errors import printable
from rollsim.map_names import BranchEnd
from rollsim.show.query import cases, responses
from rollsim.show.tables import cells
from rollsim.show.tables.columns import Column, Split
from rollsim.show.tables.summary import Row, axis_name, with_unit

if TYPE_CHECKING:
    import xarray as xr
    from rich.console import RenderableType


EARLY = (BranchEnd.CAPSIZE, BranchEnd.STEP_TOO_SMALL, BranchEnd.TOO_MANY_POINTS)
"""Ends within the range that no other branch explains."""


def branch_rows(ds: xr.Dataset, case: int) -> list[Row]:
    """The branches of a case: where they run, and their greatest amplitude, stable and at all."""
    rows = []
    for curve in responses.curves(ds, case):
        top = int(np.argmax(curve.amplitude))
        lasting = curve.amplitude[curve.stable]
        rows.append(
            {
                "period_ratio": curve.ratio,
                "points": int(curve.value.size),
                "stable_points": int(np.count_nonzero(curve.stable)),
                "from": float(curve.value[0]),
                "to": float(curve.value[-1]),
                "least": float(curve.value.min()),
                "greatest": float(curve.value.max()),
                "greatest_amplitude_deg": float(curve.amplitude[top]),
                "greatest_at": float(curve.value[top]),
                "greatest_stable_deg": float(lasting.max()) if lasting.size else None,
                "ends": [end.name.lower() for end in curve.ends],
                "found_by": curve.found_by.name.lower(),
                "island": curve.island,
            }
        )
    return rows


def response_json(ds: xr.Dataset) -> list[Row]:
    """A row for each case: branches, folds, flips and crossings; values in the key's unit."""
    key = str(ds.attrs["response_key"])
    rows = []
    for case in range(ds.sizes["case"]):
        row: Row = {
            "case": cases.number_of(ds, "case", case),
            "condition": cases.conditions(ds)[case],
            **{axis_name(ds, axis): ds[axis].values[case].item() for axis in cases.sweep_axes(ds)},
            "key": key,
            "branches": branch_rows(ds, case),
            "not_followed": responses.not_followed(ds, case),
        }
        for kind in ("fold", "flip", "branching"):
            row[f"{kind}s"] = [
                {"value": value, "roll_amplitude_deg": size}
                for value, size in responses.specials(ds, case, kind)
            ]
        rows.append(row)
    return rows


def response_table(ds: xr.Dataset) -> RenderableType:
    """The same for people, with the cautions."""
    from rich.console import Group
    from rich.text import Text

    rows = [
        {"case": cases.number_of(ds, "case", case), "condition": cases.conditions(ds)[case]}
        | {axis_name(ds, axis): ds[axis].values[case].item() for axis in cases.sweep_axes(ds)}
        | {"branch": i}
        | row
        for case in range(ds.sizes["case"])
        for i, row in enumerate(branch_rows(ds, case))
    ]
    unit = with_unit("", str(ds["value"].attrs["units"])).strip("_")
    numbers: list[list[Column]] = [
        [
            cells.counts(rows, "branch"),
            cells.counts(rows, "period_ratio", "waves to a response"),
            cells.counts(rows, "points"),
            cells.counts(rows, "stable_points", "of these stable"),
        ],
        [
            cells.numbers(rows, f"from [{unit}]", "least", 3),
            cells.numbers(rows, f"to [{unit}]", "greatest", 3),
            cells.numbers(rows, "greatest amplitude [°]", "greatest_amplitude_deg", 2),
            cells.numbers(rows, f"at [{unit}]", "greatest_at", 3),
            cells.numbers(rows, "greatest stable [°]", "greatest_stable_deg", 2),
        ],
    ]
    parts: list[Any] = [Text(printable(cases.title(ds)), style="bold")]
    parts += [Text(f"Steady responses over the {responses.key_words(ds)}"), Text()]
    parts += [Split(cells.key(ds, rows), numbers), Text()]
    parts += [Text(line) for line in _special_lines(ds, unit)]
    parts += [Text(), Text(CAUTION)]
    if cases.has_loll(ds, range(ds.sizes["case"])):
        parts.append(Text(LOLL_WARNING))
    return Group(*parts)


def _special_lines(ds: xr.Dataset, unit: str) -> list[str]:
    words = {"fold": "folds", "flip": "period doubles", "branching": "branches cross"}
    lines = []
    every = range(ds.sizes["case"])
    for case in every:
        for kind, verb in words.items():
            points = responses.specials(ds, case, kind)
            if points:
                where = f"case {cases.case_label(ds, case, every)}: " if len(every) > 1 else ""
                text = ", ".join(f"{value:.4g} {unit} ({size:.1f}°)" for value, size in points)
                lines.append(printable(f"{where}{verb} at {text}"))
        lines += [printable(line) for line in _lost_lines(ds, case, unit)]
    return lines


def _lost_lines(ds: xr.Dataset, case: int, unit: str) -> Iterator[str]:
    """Where a branch ends within the range, and why."""
    number = cases.number_of(ds, "case", case)
    for i, curve in enumerate(responses.curves(ds, case)):
        for end, why in zip((0, -1), curve.ends, strict=True):
            if why in EARLY:
                where = f"{curve.value[end]:.4g} {unit} ({curve.amplitude[end]:.1f}°)"
                yield f"case {number}, branch {i} ends at {where}: {why.words}"
        if curve.island:
            closed = ", it closes upon itself" if BranchEnd.CLOSED in curve.ends else ""
            yield (
                f"case {number}, branch {i} is an island{closed}: no branch from calm water leads "
                f"to it in this range; found by {curve.found_by.name.lower().replace('_', ' ')}"
            )
    if left := responses.not_followed(ds, case):
        yield (
            f"case {number}: {left} flips, crossings, states or ways from calm water from which no "
            "branch was followed"
        )
