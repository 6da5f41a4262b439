"""The lines of criteria that a result carries, and their quantities in words."""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

from rollsim.criteria.names import AREAS, ATTRIBUTE, MARKS
from rollsim.names import unit_text
from rollsim.show.query.cases import conditions, number

if TYPE_CHECKING:
    import xarray as xr

Row = dict[str, Any]
"""A line: case, condition, rule, clause, quantity, unit, required, found, fulfilled, margin, note.
"""


class Quantity(NamedTuple):
    """A quantity in words, how its bound is written, and its decimals."""

    words: str
    bound: str
    digits: int


QUANTITIES: dict[str, Quantity] = {
    "area_to_30": Quantity("area under GZ to 30°", "≥", 4),
    "area_to_40": Quantity("area under GZ to 40° or flooding", "≥", 4),
    "area_30_to_40": Quantity("area under GZ, 30° to 40° or flooding", "≥", 4),
    "gz_from_30": Quantity("greatest GZ at 30° or more", "≥", 3),
    "heel_of_greatest_gz": Quantity("heel of the greatest GZ", "≥", 1),
    "gm": Quantity("GM", "≥", 3),
    "steady_heel": Quantity("heel in the steady wind", "≤", 1),
    "roll_to_windward": Quantity("roll to windward φ1", "", 1),
    "area_a": Quantity("area a", "", 4),
    "area_b": Quantity("area b", "≥", 4),
    "heel_at_intersection": Quantity("heel where the wind's lever meets GZ", "", 1),
    "lever_ratio": Quantity("lever there over the greatest GZ", "≤", 3),
    "area_ratio": Quantity("ratio of the areas", "≥", 3),
}
VERDICTS = {True: "fulfilled", False: "NOT fulfilled", None: "no verdict"}


def quantity_words(row: Row) -> str:
    """The quantity of a line, with its unit."""
    unit = unit_text(str(row["unit"])).replace("m rad", "m·rad")
    name = QUANTITIES[str(row["quantity"])].words
    return f"{name} [{unit}]" if unit else name


def verdict(row: Row) -> str:
    """Whether a line is fulfilled; empty where nothing is required and nothing is missing."""
    on_the_way = row["required"] is None and row["found"] is not None
    return "" if on_the_way else VERDICTS[row["fulfilled"]]


def overall(rows: Sequence[Row]) -> str:
    """The verdict on a rule: not fulfilled where any line is not, no verdict where one lacks it."""
    verdicts = {row["fulfilled"] for row in rows if row["required"] is not None}
    return VERDICTS[False if False in verdicts else None if None in verdicts else True]


def notes(rows: Sequence[Row]) -> list[str]:
    """The notes of some lines, each once, after the quantities that it stands at."""
    by_note: dict[str, list[str]] = {}
    for row in rows:
        if row["note"]:
            by_note.setdefault(str(row["note"]), []).append(QUANTITIES[str(row["quantity"])].words)
    return [
        f"{', '.join(dict.fromkeys(names)) if len(names) < 3 else 'several lines'}: {note}"
        for note, names in by_note.items()
    ]


def rows_of(ds: xr.Dataset) -> list[Row]:
    """The lines that a result carries; none where its scenario has no [ship.form]."""
    try:
        rows = json.loads(str(ds.attrs.get(ATTRIBUTE, "[]")))
    except ValueError:
        return []  # another hand has been at the file: the numbers stand without it
    keys = {"case", "condition", "rule", "clause", "quantity", "unit", "required", "found"}
    keys |= {"fulfilled", "margin", "note"}
    sound = isinstance(rows, list) and all(
        isinstance(row, dict)
        and keys <= row.keys()
        and row["quantity"] in QUANTITIES
        and all(isinstance(row[k], float | int | None) for k in ("required", "found", "margin"))
        and row["fulfilled"] in (True, False, None)
        for row in rows
    )
    present = set(conditions(ds))  # a run that was made again stands alone
    return [row for row in rows if row["condition"] in present] if sound else []


class Marks(NamedTuple):
    """What a picture of the weather criterion marks: heels of flooding to starboard and to port
    [rad], and heels [rad] and levers [m] by name."""

    floods: tuple[float, float]
    marks: dict[str, float]


def marks_of(ds: xr.Dataset) -> dict[tuple[int, str], Marks]:
    """The marks that a result carries by case and rule; none where another hand was at them.

    A run that was made again stands alone: marks belong to the case of their condition and GM.
    """
    try:
        every = json.loads(str(ds.attrs.get(MARKS, "[]")))
        known = {(row["case"], row["rule"]): _marks(row) for row in every if _belongs(ds, row)}
    except (ValueError, TypeError, KeyError, AttributeError):
        return {}
    return {key: marks for key, marks in known.items() if key[1] in AREAS}


def _belongs(ds: xr.Dataset, row: Row) -> bool:
    """Whether a case of the result is the one that marks were made for."""
    case = row["case"]
    if not (isinstance(case, int) and 0 <= case < ds.sizes["case"]):
        return False
    same = conditions(ds)[case] == row["condition"]
    return same and math.isclose(number(ds, "gm", case=case), row["gm"], abs_tol=1e-6)


def _marks(row: Row) -> Marks:
    starboard, port = (math.inf if heel is None else float(heel) for heel in row["floods"])
    marks = {str(name): float(value) for name, value in row["marks"].items()}
    if not {"start", "meeting", "end", "gust_lever", "steady_lever"} <= marks.keys():
        raise ValueError(row["rule"])
    return Marks((starboard, port), marks)
