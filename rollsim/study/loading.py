"""The loading sheets of a study: items, totals and what follows, a sheet for each case."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Any

from rollsim.errors import Fault, InputError
from rollsim.scenario.load import Study
from rollsim.scenario.schema.hull_levers import HullLevers
from rollsim.scenario.schema.loading import Loading
from rollsim.scenario.schema.ship import Ship, gm_of
from rollsim.scenario.schema.tanks import TONNE
from rollsim.ship.loading import Item, Total, total


@dataclass(frozen=True)
class Row:
    """A line of a sheet: tonnes and metres, `filling` in per cent for tanks alone."""

    item: Item
    kind: str
    filling: float | None = None


@dataclass(frozen=True)
class Sheet:
    """The loading sheet of a case; draughts are None where nothing tells them."""

    case: int
    condition: str
    coordinates: dict[str, float | str]
    rows: tuple[Row, ...]
    total: Total
    gm: float
    draught: float | None
    draught_aft: float | None
    draught_fore: float | None
    along_known: bool
    gyradius: float | None
    windage: tuple[float, float] | None

    @property
    def gm_solid(self) -> float:
        """GM without the free surfaces [m]."""
        return self.gm + self.total.rise

    @property
    def km(self) -> float:
        """Height of the upright metacentre above the keel [m]."""
        return self.gm_solid + self.total.height


def sheets(study: Study) -> list[Sheet]:
    """The sheets of all cases; InputError where the scenario has no loading."""
    made = [
        _sheet(spec.index, spec.condition, spec.coordinates, spec.scenario.ship)
        for spec in study.cases
        if spec.scenario.ship.loading is not None
    ]
    if not made:
        hint = "give [ship.loading] in place of displacement_t and [ship.gravity]"
        raise InputError(study.file, [Fault("ship.loading", "is missing", hint)])
    return made


def _sheet(case: int, condition: str, coordinates: dict[str, float | str], ship: Ship) -> Sheet:
    loading = ship.loading
    assert loading is not None
    rows = tuple(_rows(loading, 0.5 * ship.length_m))
    aft, fore = _draughts(ship)
    return Sheet(
        case=case,
        condition=condition,
        coordinates=dict(coordinates),
        rows=rows,
        total=total(row.item for row in rows),
        gm=gm_of(ship.own_levers, ship.gravity),
        draught=ship.draught_m,
        draught_aft=aft,
        draught_fore=fore,
        along_known=ship.along is not None,
        gyradius=ship.gyradius,
        windage=ship.whole_windage,
    )


def _rows(loading: Loading, amidships: float) -> list[Row]:
    items = loading.items(amidships)
    kinds = ["lightship", *(getattr(weight, "kind", "weight") for weight in loading.weights)]
    weights = [Row(item, kind) for item, kind in zip(items, kinds, strict=False)]
    tanks = zip(items[len(kinds) :], loading.tanks, strict=True)
    return [*weights, *(Row(item, "tank", 100.0 * tank.filling) for item, tank in tanks)]


def _draughts(ship: Ship) -> tuple[float | None, float | None]:
    """Draughts at her ends [m], aft and fore, where a hull that trims tells them."""
    if not isinstance(ship.levers, HullLevers) or ship.along is None:
        return None, None
    upright = ship.levers.afloat(ship.displacement_t, ship.along).hydrostatics
    mean, trim = float(upright.draught[0]), float(upright.trim[0])
    return mean + 0.5 * trim, mean - 0.5 * trim


def as_records(made: list[Sheet]) -> list[dict[str, Any]]:
    """The sheets for JSON, numbers with their units in their names."""
    return [
        {
            "case": sheet.case,
            "condition": sheet.condition,
            **sheet.coordinates,
            "displacement_t": sheet.total.mass / TONNE,
            "kg_m": sheet.total.height,
            "off_centre_m": sheet.total.across,
            "along_m": sheet.total.along if sheet.along_known else None,
            "free_surface_m": sheet.total.rise,
            "gm_m": sheet.gm,
            "gm_solid_m": sheet.gm_solid,
            "km_m": sheet.km,
            "draught_m": sheet.draught,
            "draught_fore_m": sheet.draught_fore,
            "draught_aft_m": sheet.draught_aft,
            "gyradius_m": sheet.gyradius,
            "windage_area_m2": sheet.windage[0] if sheet.windage else None,
            "windage_lever_m": sheet.windage[1] if sheet.windage else None,
            "rows": [_record(row) for row in sheet.rows],
        }
        for sheet in made
    ]


def _record(row: Row) -> dict[str, Any]:
    item = row.item
    return {
        "name": item.name,
        "kind": row.kind,
        "mass_t": item.mass / TONNE,
        "height_m": item.height,
        "moment_tm": item.moment / TONNE,
        "along_m": item.along,
        "across_m": item.across,
        "free_surface_moment_tm": item.free_surface / TONNE,
        "filling_percent": row.filling,
    }


MOST_STORED = 40
"""Different sheets that a result carries."""


def stored(study: Study) -> dict[str, str]:
    """The attribute of a result that holds its different loadings; none without a loading."""
    if not any(spec.scenario.ship.loading for spec in study.cases):
        return {}
    different: dict[str, dict[str, Any]] = {}
    for record in as_records(sheets(study)):
        apart = {"case", "condition", *record.keys() & {axis.name for axis in study.axes}}
        key = json.dumps([record["condition"], {k: v for k, v in record.items() if k not in apart}])
        different.setdefault(key, record)
        if len(different) == MOST_STORED:
            break
    return {"loading_sheets": json.dumps(list(different.values()))}
