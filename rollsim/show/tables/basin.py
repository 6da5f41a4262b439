"""What `rollsim basin` has found, as rows: for the terminal and as JSON."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np

from rollsim.cautions import CAUTION, LOLL_WARNING
from rollsim.errors import printable
from rollsim.names import Outcome
from rollsim.show.query import basins, cases
from rollsim.show.tables import cells
from rollsim.show.tables.columns import Column, Split
from rollsim.show.tables.summary import Row, axis_name

if TYPE_CHECKING:
    import xarray as xr
    from rich.console import RenderableType

WAVE_HEIGHT = "wave height [m]", "wave_height_m"


def row(ds: xr.Dataset, case: int) -> Row:
    """Where a case stands in the study, and what became of its starts."""
    values = cases.values(ds, "outcome", case=case)
    well = cases.values(ds, "well", case=case)
    made: Row = {
        "case": cases.number_of(ds, "case", case),
        "condition": cases.conditions(ds)[case],
        **{axis_name(ds, axis): ds[axis].values[case].item() for axis in cases.sweep_axes(ds)},
        "starts": int(values.size),
        **{code.label: int(np.count_nonzero(values == code)) for code in Outcome if code},
        "ends_to_port": int(np.count_nonzero(well == -1)),
        "ends_to_starboard": int(np.count_nonzero(well == 1)),
        "safe_share": float(ds["safe_share"].values[case]),
        "safe_area_rad2_per_s": float(ds["safe_area"].values[case]),
    }
    for name in ("wave_height", "melnikov_height", "melnikov_height_between"):
        made[f"{name}_m"] = basins.axis_value(ds, name, case)
    return made


def profile_rows(ds: xr.Dataset) -> list[Row]:
    """Where the safe area falls off along every axis of numbers, and Melnikov's estimate there."""
    return [
        {
            "axis": axis_name(ds, axis),
            "at": each.name,
            "falls_off_at": _plain(each.falls),
            "falls_off_between": list(each.bracket) or None,
            "melnikov_at": _plain(each.melnikov),
        }
        for axis in basins.number_axes(ds)
        for each in basins.profiles(ds, axis)
        if len(each.cases) > 1
    ]


def _plain(value: float) -> float | None:
    return None if math.isnan(value) else value


def basin_json(ds: xr.Dataset) -> list[Row]:
    """A row for each case; the first holds what goes over all cases as well."""
    rows = [row(ds, case) for case in range(ds.sizes["case"])]
    for each in rows:
        each["falls_off"] = [
            {k: v for k, v in line.items() if k != "cases"} for line in profile_rows(ds)
        ]
    return rows


def basin_table(ds: xr.Dataset) -> RenderableType:
    """The same for people, with the cautions."""
    from rich.console import Group
    from rich.text import Text

    rows = [row(ds, case) for case in range(ds.sizes["case"])]
    seen = [code.label for code in Outcome if code and any(each[code.label] for each in rows)]
    wells = [name for name in ("ends_to_port", "ends_to_starboard") if any(r[name] for r in rows)]
    numbers: list[list[Column]] = [
        [cells.counts(rows, name) for name in ("starts", *seen, *wells)],
        [
            cells.numbers(rows, "safe share", "safe_share", 3),
            cells.numbers(rows, "safe area [rad²/s]", "safe_area_rad2_per_s", 4),
            *([] if basins.swept(ds, "wave_height") else _known(rows, *WAVE_HEIGHT)),
            *_known(rows, "eroded from [m]", "melnikov_height_m"),
            *_known(rows, "changes wells from [m]", "melnikov_height_between_m"),
        ],
    ]
    parts: list[Any] = [Text(printable(cases.title(ds)), style="bold"), Text()]
    parts += [Split(cells.key(ds, rows), numbers), Text()]
    parts += [Text(line) for line in (*_profile_lines(ds), _meaning(rows))]
    cautions = [CAUTION, *([LOLL_WARNING] if has_loll(ds) else [])]
    return Group(*parts, Text(), *(Text(line) for line in cautions))


def _known(rows: list[Row], header: str, name: str) -> list[Column]:
    known = any(each[name] is not None for each in rows)
    return [cells.numbers(rows, header, name, 3)] if known else []


def _profile_lines(ds: xr.Dataset) -> list[str]:
    lines = []
    for axis in basins.number_axes(ds):
        for each in basins.profiles(ds, axis):
            if len(each.cases) < 2:
                continue
            where = f"{each.name}: " if each.name else ""
            unit = basins.unit_after(ds, axis)
            text = f"Over {cases.axis_label(ds, axis)}: {where}the safe area "
            if each.bracket:
                text += "falls below nine tenths of its greatest "
                text += basins.falls_words(each, unit)
            else:
                text += "stays above nine tenths of its greatest"
            if not math.isnan(each.melnikov):
                text += f"; Melnikov's estimate is passed at {each.melnikov:.4g}{unit}"
            lines.append(printable(text + "."))
    return lines


def _meaning(rows: list[Row]) -> str:
    words = "Safe: no limit passed up to the end of the run, from that start."
    if any(each["melnikov_height_m"] is not None for each in rows):
        words += (
            " Eroded from: the wave height at which, to first order in damping and wave, the safe "
            "basin begins to be eroded; an early alarm, no capsize load."
        )
    return words


def has_loll(ds: xr.Dataset) -> bool:
    """Whether the ship of any case lolls."""
    return cases.has_loll(ds, range(ds.sizes["case"]))
