"""What tables and pictures ask of a result: its numbers, its axes, its cases by name."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from rollsim.measures.outcome import Event, default_event, early_share
from rollsim.names import VARIABLES, unit_text

if TYPE_CHECKING:
    import xarray as xr

NO_CONDITION = "base"
"""The condition's name where a scenario has none."""
LETTERS = frozenset({"kg", "km", "kb", "bm", "gm"})
"""Heights and distances that the trade writes in capitals."""
AT_ONCE = 1 << 17
"""Numbers of a variable up to which it is read whole: from there one of many takes no time."""
LIMITS = {"roll_limit": "roll limit", "flooding_limit": "flooding", "capsize_limit": "capsize"}
"""The limits of a case, variables of the result, and what pictures call them."""


def values(ds: xr.Dataset, name: str, **where: int) -> NDArray[Any]:
    """The numbers of a variable at one case, realisation or time; all NaN where it is missing."""
    # A variable, not a DataArray: making one of these takes far longer than reading a number.
    variable = ds.variables.get(name)
    if variable is not None and "kept" in variable.dims:
        return _kept(ds, name, where)
    if variable is not None and variable.size <= AT_ONCE and variable.dtype.kind in "biuf":
        place = tuple(where.get(str(dim), slice(None)) for dim in variable.dims)
        return np.asarray(variable.values[place])
    if variable is not None:
        along = {dim: position for dim, position in where.items() if dim in variable.dims}
        return np.asarray(variable.isel(along).values)
    dims = VARIABLES[name].dims if name in VARIABLES else ("case",)
    return np.full([ds.sizes[d] for d in dims if d not in where and d in ds.sizes], np.nan)


def _kept(ds: xr.Dataset, name: str, where: dict[str, int]) -> NDArray[Any]:
    """A history of a result that holds those of some runs only; all NaN where not this one's."""
    this = ds["kept_case"].values == where["case"]
    this &= ds["kept_realisation"].values == where["realisation"]
    if not this.any():
        return np.full(ds.sizes["t"], np.nan)
    return np.asarray(ds[name].isel(kept=int(np.argmax(this))).values)


def number(ds: xr.Dataset, name: str, **where: int) -> float:
    """One number of the result; NaN where it is missing."""
    return float(values(ds, name, **where))


def interval(ds: xr.Dataset, name: str) -> tuple[NDArray[Any], NDArray[Any], NDArray[Any]]:
    """A probability or rate of every case with its lower and upper limit."""
    value, lower, upper = (values(ds, f"{name}{part}") for part in ("", "_lower", "_upper"))
    return value, lower, upper


def number_of(ds: xr.Dataset, dimension: str, position: int) -> int:
    """The number by which people know a case or a realisation: a replayed run keeps its own."""
    return int(ds.variables[dimension].values[position]) if dimension in ds.variables else position


def relative(ds: xr.Dataset, case: int) -> bool:
    """Waves act through the slope of the water unless the result says that they were "absolute"."""
    return (
        "excitation" not in ds.variables
        or str(ds.variables["excitation"].values[case]) != "absolute"
    )


def title(ds: xr.Dataset) -> str:
    """What the study is called."""
    return str(ds.attrs.get("title", ""))


def event_of(ds: xr.Dataset) -> Event:
    """The event that the result is about where none is requested."""
    return default_event(values(ds, "roll_limit"), values(ds, "flooding_limit"))


def random(ds: xr.Dataset) -> bool:
    """Whether anything differs between the runs of any case."""
    return bool(np.isfinite(values(ds, "failure_probability")).any())


def early_shares(ds: xr.Dataset) -> NDArray[np.float64]:
    """Of every case the share of runs that failed before settle_s."""
    return early_share(values(ds, "outcome"), values(ds, "failed_before_settle"))


def sweep_axes(ds: xr.Dataset) -> list[str]:
    """The sweep axes, in the order in which the file holds them."""
    own = ("case", "condition")
    return [
        str(name)
        for name in ds.coords
        if ds.variables[name].dims == ("case",) and name not in own and name not in VARIABLES
    ]


def conditions(ds: xr.Dataset) -> list[str]:
    """The name of every case's condition."""
    if "condition" not in ds.variables:
        return [NO_CONDITION] * ds.sizes["case"]
    return [str(name) for name in ds.variables["condition"].values]


def unit(ds: xr.Dataset, axis: str) -> str:
    """The unit of a sweep axis as people write it."""
    return unit_text(str(ds.variables[axis].attrs.get("units", "")))


def is_offset(ds: xr.Dataset, axis: str) -> bool:
    """Whether a sweep axis holds what was added to each condition's value, not the value."""
    return bool(ds.variables[axis].attrs.get("scenario_offset", 0))


def axis_words(ds: xr.Dataset, axis: str) -> str:
    """What a sweep axis is, in words: "KG", "KG offset", "significant height", "filling of aft"."""
    item = str(ds.variables[axis].attrs.get("scenario_item", ""))
    return whole_words(axis, offset=is_offset(ds, axis), item=item)


def whole_words(axis: str, *, offset: bool, item: str) -> str:
    """The name of an axis in words, with the weight or tank that it belongs to."""
    return name_words(axis) + " offset" * offset + f" of {item}" * bool(item)


def name_words(name: str) -> str:
    """The name of an axis in words: "kg" gives "KG"."""
    return " ".join(word.upper() if word in LETTERS else word for word in name.split("_"))


def axis_label(ds: xr.Dataset, axis: str) -> str:
    """The label of a sweep axis: what it is and its unit."""
    name = axis_words(ds, axis)
    return f"{name} [{unit(ds, axis)}]" if unit(ds, axis) else name


def value_text(value: object, *, signed: bool = False) -> str:
    """A value of a sweep axis in few characters; an offset is `signed`."""
    if not isinstance(value, (int, float, np.number)):
        return str(value)
    return f"{value:+.6g}" if signed and value != 0.0 else f"{value:.6g}"


def position_text(ds: xr.Dataset, axis: str, case: int) -> str:
    """Where a case stands on a sweep axis, in words: "significant height 5 m"."""
    return place_on(ds, axis, ds.variables[axis].values[case])


def place_on(ds: xr.Dataset, axis: str, value: object) -> str:
    """A place on a sweep axis in words: "significant height 5 m"."""
    mark = unit(ds, axis)
    gap = "" if not mark or mark == "°" else " "
    return f"{axis_words(ds, axis)} {value_text(value, signed=is_offset(ds, axis))}{gap}{mark}"


def case_label(ds: xr.Dataset, case: int, among: Sequence[int]) -> str:
    """A case's number, condition, and those axis values in which it differs from the others."""
    named = conditions(ds)[case]
    parts = [named] if named != NO_CONDITION or not sweep_axes(ds) else []
    for axis in sweep_axes(ds):
        column = ds[axis].values
        # Of a case that stands alone everything is told.
        if len(among) == 1 or len({str(column[i]) for i in among}) > 1:
            parts.append(position_text(ds, axis, case))
    return f"{number_of(ds, 'case', case)}: " + ", ".join(parts or [named])


def has_loll(ds: xr.Dataset, cases: Sequence[int]) -> bool:
    """Whether any of the cases has an angle of loll."""
    both = (values(ds, "loll_angle"), values(ds, "loll_angle_port"))
    return any(bool(np.isfinite(angle[list(cases)]).any()) for angle in both)


def limits(ds: xr.Dataset, case: int) -> dict[str, float]:
    """The limits [degree] that a case has."""
    angles = {name: number(ds, name, case=case) for name in LIMITS}
    return {name: angle for name, angle in angles.items() if np.isfinite(angle)}


def limits_text(ds: xr.Dataset, event: Event) -> str:
    """The limits whose passing is the event: "roll limit 40°, flooding 42°, capsize 90°"."""
    parts = []
    for name in LIMITS if event == "failure" else ("capsize_limit",):
        angles = np.unique(values(ds, name))
        angles = angles[np.isfinite(angles)]
        if angles.size:
            ends = dict.fromkeys(f"{angle:g}°" for angle in (angles[0], angles[-1]))
            parts.append(f"{LIMITS[name]} {' to '.join(ends)}")
    return ", ".join(parts)
