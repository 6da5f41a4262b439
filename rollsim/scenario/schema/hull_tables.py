"""The tables of a hull file as strict models, and their faults in words."""

from __future__ import annotations

from difflib import get_close_matches
from typing import Annotated, Any

from pydantic import Field

from rollsim.scenario.schema.base import Table
from rollsim.scenario.text.faults import Finding, listed, shown
from rollsim.scenario.text.positions import KeyPath

MOST_STATIONS = 500
MOST_POINTS = 500
"""Points of an outline; together they bound what a balance costs."""

Place = Annotated[float, Field(gt=-1000, lt=1000)]
Numbers = Annotated[tuple[Place, ...], Field(strict=False, min_length=2, max_length=MOST_POINTS)]
Point = Annotated[tuple[Place, Place], Field(strict=False)]
Points = Annotated[tuple[Point, ...], Field(strict=False, min_length=3, max_length=MOST_POINTS)]


class StationTable(Table):
    """A section: half breadths with heights from the keel up, or a closed outline."""

    along_m: Place
    half_breadth_m: Numbers | None = None
    height_m: Numbers | None = None
    outline_m: Points | None = None


class BoxTable(Table):
    """Six sides in metres."""

    aft: Place
    fore: Place
    port: Place
    starboard: Place
    bottom: Place
    top: Place


class BuoyantTable(Table):
    """A box that adds buoyancy."""

    name: str = Field(default="", max_length=200)
    box_m: BoxTable


class OpeningTable(Table):
    """Where she floods."""

    name: str = Field(min_length=1, max_length=200)
    along_m: Place
    across_m: Place
    height_m: Place


class HullTable(Table):
    """The whole file."""

    format: int = Field(ge=1, le=1)
    name: str = Field(default="", max_length=200)
    length_m: float | None = Field(default=None, gt=0, lt=600)
    stations: Annotated[
        tuple[StationTable, ...], Field(strict=False, min_length=2, max_length=MOST_STATIONS)
    ]
    buoyant: Annotated[tuple[BuoyantTable, ...], Field(strict=False, max_length=200)] = ()
    openings: Annotated[tuple[OpeningTable, ...], Field(strict=False, max_length=200)] = ()


TYPES = {
    "float_type": "must be a number",
    "int_type": "must be a whole number",
    "string_type": "must be text in quotes",
    "finite_number": "must be a finite number",
    "model_type": "must be a table",
    "tuple_type": "must be a list",
}
BOUNDS = {"greater_than": ("gt", "above"), "less_than": ("lt", "below")}
LENGTHS = {"too_short": ("min_length", "at least"), "too_long": ("max_length", "at most")}


def explained(detail: Any) -> Finding:
    """A fault that the models find, in words."""
    path, kind, context = tuple(detail["loc"]), detail["type"], detail.get("ctx", {})
    if kind == "missing":
        lists = path and path[0] in ("stations", "buoyant", "openings")
        word = "is missing" if not (lists and len(path) == 1) else "are missing"
        hint = "the form of a hull file: format, name, [[stations]], [[buoyant]], [[openings]]"
        return Finding(path, word, hint)
    if kind == "extra_forbidden":
        known = _keys_beside(path)
        near = get_close_matches(str(path[-1]), known, 1)
        hint = f"did you mean {near[0]}?" if near else f"known here: {listed(known)}"
        return Finding(path, "unknown key", hint, at_key=True)
    if kind in LENGTHS:
        name, word = LENGTHS[kind]
        problem = f"must hold {word} {context[name]} values"
        return Finding(path, problem, "")
    if kind in BOUNDS:
        name, word = BOUNDS[kind]
        problem = f"must be {word} {context[name]:g} m"
        return Finding(path, f"{problem}, got {shown(detail['input'])}", "in metres")
    if path[-1:] == ("format",):
        return Finding(path, f"must be 1, got {shown(detail['input'])}", "the form of this file")
    problem = TYPES.get(kind, f"is not valid ({kind})")
    return Finding(path, f"{problem}, got {shown(detail['input'])}", "")


def _keys_beside(path: KeyPath) -> list[str]:
    """The keys of the table that holds an unknown one."""
    tables: dict[str, type[Table]] = {
        "stations": StationTable,
        "buoyant": BuoyantTable,
        "openings": OpeningTable,
    }
    model = HullTable if len(path) == 1 else tables[str(path[0])]
    if "box_m" in path[:-1]:
        model = BoxTable
    return list(model.model_fields)
