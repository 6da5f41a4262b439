"""The loading sheets that a result or a study carries, as records of plain values."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from rollsim.errors import printable

if TYPE_CHECKING:
    import xarray as xr

Record = Mapping[str, Any]
"""A sheet: totals by key and, under "rows", its items."""

ATTRIBUTE = "loading_sheets"
"""The attribute of a result that holds the records of its different loadings, as JSON."""


def stored(ds: xr.Dataset) -> list[dict[str, Any]]:
    """The records that a result carries; none where it has no loading."""
    try:
        records = json.loads(str(ds.attrs.get(ATTRIBUTE, "[]")))
    except ValueError:
        return []
    whole = isinstance(records, list) and all(
        isinstance(each, dict) and isinstance(each.get("rows"), list) for each in records
    )
    return records if whole else []


def lolls(records: Sequence[Record]) -> bool:
    """Whether GM is below 0 in any of them."""
    return any(below(record) for record in records)


def below(record: Record) -> bool:
    """Whether GM is below 0."""
    gm = record.get("gm_m")
    return isinstance(gm, (int, float)) and gm < 0.0


def label(record: Record) -> str:
    """What a sheet is called: its condition and its place in the sweep."""
    known = {"case", "condition", "rows", *NUMBERS}
    axes = [
        f"{key} = {value:g}" if isinstance(value, (int, float)) else f"{key} = {value}"
        for key, value in record.items()
        if key not in known
    ]
    return printable(", ".join([str(record.get("condition", "")), *axes]))


NUMBERS = {
    "displacement_t": ("displacement", "t", 1),
    "kg_m": ("KG", "m", 3),
    "free_surface_m": ("free surfaces", "m", 3),
    "km_m": ("KM", "m", 3),
    "gm_solid_m": ("GM solid", "m", 3),
    "gm_m": ("GM fluid", "m", 3),
    "off_centre_m": ("G off the centreline, + to starboard", "m", 4),
    "along_m": ("G forward of the after end", "m", 2),
    "draught_m": ("draught amidships", "m", 2),
    "draught_aft_m": ("draught aft", "m", 2),
    "draught_fore_m": ("draught fore", "m", 2),
    "gyradius_m": ("gyradius, added inertia included", "m", 2),
    "windage_area_m2": ("lateral area for the wind", "m²", 0),
    "windage_lever_m": ("lever for the wind", "m", 2),
}
"""Totals of a sheet: words, unit, decimals."""
