"""The papers of a hull as tables and as JSON, from what `rollsim hull` wrote."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from rollsim.cautions import CAUTION
from rollsim.errors import printable
from rollsim.show.tables.cells import number
from rollsim.show.tables.columns import Column, Split

if TYPE_CHECKING:
    import xarray as xr
    from rich.console import RenderableType

HYDROSTATICS = {
    "draught": ("draught [m]", 3),
    "along_of_buoyancy": ("B along [m]", 2),
    "kb": ("KB [m]", 3),
    "bm": ("BM [m]", 3),
    "km": ("KM [m]", 3),
    "waterplane_area": ("waterplane [m²]", 1),
    "tonnes_per_cm": ("t/cm", 2),
    "trim": ("trim [m]", 3),
}
EVERY = 10.0
"""Degrees between the columns of the printed KN."""


def hull_tables(ds: xr.Dataset) -> Iterator[RenderableType]:
    """Hydrostatics, KN, immersion and the simple form in waves, one row a displacement."""
    from rich.text import Text

    displacement = Column("displacement [t]", _column(ds["displacement"].values, 1))
    trim = "free to trim" if ds.attrs.get("trim_of_levers") == "free" else "trim fixed"
    yield Text(printable(f"{ds.attrs['title']}, {trim}"), style="bold")
    yield Text()
    yield Split([displacement], [[_of(ds, name)] for name in HYDROSTATICS if _told(ds, name)])
    yield Text("\nKN [m] over heel")
    yield Split([displacement], [[column] for column in _kn(ds)])
    yield Text("\nHeel at which they come under water, P port (negative)")
    yield Split([displacement], [[column] for column in _immersion(ds)])
    yield Text("\nOn a wave of her length: GM over the elevation amidships, + on a crest")
    yield Split(
        [displacement],
        [
            [
                Column("gm_per_m", _column(ds["gm_per_m"].values, 4)),
                Column("misses levers by [m]", _column(ds["gm_per_m_miss"].values, 3)),
            ]
        ],
    )
    greatest = float(ds["elevation"].values.max())
    yield Text(
        f"gm_per_m is the slope by least squares within ±{greatest:.2g} m; what it misses is the "
        "greatest error of a lever up to 40° of heel.\n"
        "Sea water of 1.025 t/m³. Lengths forward of the after end, heights above the keel; trim "
        "is draught aft less draught fore.\n"
    )
    yield Text(CAUTION)


def hull_json(ds: xr.Dataset) -> dict[str, Any]:
    """The same as plain numbers: a row for each displacement, null where there is none."""
    heels = [float(heel) for heel in ds["heel"].values]
    elevations = [float(each) for each in ds["elevation"].values]
    return {
        "name": str(ds.attrs["title"]),
        "length_m": float(ds.attrs["length_m"]),
        "trim": str(ds.attrs.get("trim_of_levers", "")),
        "heel_deg": heels,
        "elevation_m": elevations,
        "rows": [_row(ds, i) for i in range(ds.sizes["displacement"])],
    }


UNITS = {"waterplane_area": "_m2", "tonnes_per_cm": ""}


def _row(ds: xr.Dataset, i: int) -> dict[str, Any]:
    of = ds.isel(displacement=i)
    row: dict[str, Any] = {"displacement_t": float(of["displacement"])}
    for name in HYDROSTATICS:
        row[f"{name}{UNITS.get(name, '_m')}"] = float(of[name])
    row["deck_edge_deg"] = _known(float(of["deck_edge_heel"]))
    if "opening" in ds.variables:
        names = map(str, ds["opening"].values)
        heels = of["opening_heel"].values
        row["openings_deg"] = {
            name: _known(float(heel)) for name, heel in zip(names, heels, strict=True)
        }
    row["gm_per_m"] = float(of["gm_per_m"])
    row["gm_per_m_miss_m"] = float(of["gm_per_m_miss"])
    row["km_in_waves_m"] = [float(value) for value in of["km_in_waves"].values]
    row["kn_m"] = [float(value) for value in of["kn"].values]
    return row


def _known(value: float) -> float | None:
    return None if math.isnan(value) else value


def _column(values: Sequence[float] | np.ndarray[Any, Any], digits: int) -> list[str]:
    return [number(float(value), digits) for value in values]


def _of(ds: xr.Dataset, name: str) -> Column:
    header, digits = HYDROSTATICS[name]
    return Column(header, _column(ds[name].values, digits))


def _told(ds: xr.Dataset, name: str) -> bool:
    """Whether a column says anything: a trim that is none is left out."""
    return name != "trim" or bool(np.any(np.abs(ds["trim"].values) >= 0.0005))


def _kn(ds: xr.Dataset) -> Iterator[Column]:
    """KN every ten degrees, and at the last heel."""
    heel = ds["heel"].values
    for j, each in enumerate(heel):
        if each != 0.0 and (abs(each / EVERY - round(each / EVERY)) < 1e-6 or j == len(heel) - 1):
            yield Column(f"{each:g}°", _column(ds["kn"].values[:, j], 3))


def _immersion(ds: xr.Dataset) -> Iterator[Column]:
    yield Column("deck edge [°]", _column(ds["deck_edge_heel"].values, 1))
    if "opening" in ds.variables:
        for j, name in enumerate(ds["opening"].values):
            yield Column(f"{printable(str(name))} [°]", _column(ds["opening_heel"].values[:, j], 1))
