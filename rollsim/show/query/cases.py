"""What tables and pictures ask of a result: its axes, its cases by name, its runs by severity."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from rollsim.names import VARIABLES, Outcome, unit_text

if TYPE_CHECKING:
    import xarray as xr

NO_CONDITION = "base"
"""The condition's name where a scenario has none."""
LIMITS = {"roll_limit": "roll limit", "flooding_limit": "flooding", "capsize_limit": "capsize"}
"""The limits of a case, variables of the result, and what pictures call them."""


def values(ds: xr.Dataset, name: str, **where: int) -> NDArray[Any]:
    """The numbers of a variable at one case, realisation or time; all NaN where it is not held."""
    if name in ds.variables and "kept" in ds[name].dims:
        return _kept(ds, name, where)
    if name in ds.variables:
        held = {dim: at for dim, at in where.items() if dim in ds[name].dims}
        return np.asarray(ds[name].isel(held).values)
    wanted = VARIABLES[name].dims if name in VARIABLES else ("case",)
    return np.full([ds.sizes[d] for d in wanted if d not in where and d in ds.sizes], np.nan)


def with_history(ds: xr.Dataset, case: int, wanted: Sequence[int]) -> list[int]:
    """Those of the `wanted` realisations of a case whose histories the result holds."""
    if "roll_angle" not in ds.variables:
        return []
    if "kept" not in ds["roll_angle"].dims:
        return list(wanted)
    here = ds["kept_realisation"].values[ds["kept_case"].values == case]
    return [run for run in wanted if run in here]


def told(ds: xr.Dataset, dimension: str, place: int) -> int:
    """The number by which people know a case or a realisation: a replayed run keeps its own."""
    return int(ds[dimension].values[place]) if dimension in ds.variables else place


def relative(ds: xr.Dataset, case: int) -> bool:
    """Waves act through the slope of the water unless the result says that they were "absolute"."""
    return "excitation" not in ds.variables or str(ds["excitation"].values[case]) != "absolute"


def _kept(ds: xr.Dataset, name: str, where: dict[str, int]) -> NDArray[Any]:
    """A history of a result that holds those of some runs only; all NaN where not this one's."""
    this = ds["kept_case"].values == where["case"]
    this &= ds["kept_realisation"].values == where["realisation"]
    if not this.any():
        return np.full(ds.sizes["t"], np.nan)
    return np.asarray(ds[name].isel(kept=int(np.argmax(this))).values)


def number(ds: xr.Dataset, name: str, **where: int) -> float:
    """One number of the result; NaN where it is not held."""
    return float(values(ds, name, **where))


def title(ds: xr.Dataset) -> str:
    """What the study is called."""
    return str(ds.attrs.get("title", ""))


def sweep_axes(ds: xr.Dataset) -> list[str]:
    """The sweep axes, in the order in which the file holds them."""
    own = ("case", "condition")
    return [
        str(name)
        for name, held in ds.coords.items()
        if held.dims == ("case",) and name not in own and name not in VARIABLES
    ]


def conditions(ds: xr.Dataset) -> list[str]:
    """The name of every case's condition."""
    if "condition" not in ds.variables:
        return ["base"] * ds.sizes["case"]
    return [str(name) for name in ds["condition"].values]


def unit(ds: xr.Dataset, axis: str) -> str:
    """The unit of a sweep axis as people write it."""
    return unit_text(str(ds[axis].attrs.get("units", "")))


def axis_label(ds: xr.Dataset, axis: str) -> str:
    """The label of a sweep axis: what it is and its unit."""
    name = str(ds[axis].attrs.get("long_name", axis.replace("_", " ")))
    return f"{name} [{unit(ds, axis)}]" if unit(ds, axis) else name


def value_text(value: object) -> str:
    """A value of a sweep axis in few characters."""
    return f"{value:.6g}" if isinstance(value, (int, float, np.number)) else str(value)


def place_text(ds: xr.Dataset, axis: str, case: int) -> str:
    """Where a case stands on a sweep axis, in words: "significant height 5 m"."""
    mark = unit(ds, axis)
    gap = "" if not mark or mark == "°" else " "
    return f"{axis.replace('_', ' ')} {value_text(ds[axis].values[case])}{gap}{mark}"


def case_label(ds: xr.Dataset, case: int, among: Sequence[int]) -> str:
    """A case's number, condition, and those axis values in which it differs from the others."""
    named = conditions(ds)[case]
    parts = [named] if named != NO_CONDITION or not sweep_axes(ds) else []
    for axis in sweep_axes(ds):
        column = ds[axis].values
        # Of a case that stands alone all is said.
        if len(among) == 1 or len({str(column[i]) for i in among}) > 1:
            parts.append(place_text(ds, axis, case))
    return f"{told(ds, 'case', case)}: " + ", ".join(parts or [named])


def has_loll(ds: xr.Dataset, cases: Sequence[int]) -> bool:
    """Whether any of the cases has an angle of loll."""
    both = (values(ds, "loll_angle"), values(ds, "loll_angle_port"))
    return any(bool(np.isfinite(angle[list(cases)]).any()) for angle in both)


def limits(ds: xr.Dataset, case: int) -> dict[str, float]:
    """The limits [degree] that a case has."""
    held = {name: number(ds, name, case=case) for name in LIMITS}
    return {name: angle for name, angle in held.items() if np.isfinite(angle)}


def solved(ds: xr.Dataset, case: int) -> NDArray[np.bool_]:
    """Which runs of a case have a result."""
    outcome = values(ds, "outcome", case=case)
    return (outcome >= Outcome.SURVIVED) & (outcome <= Outcome.CAPSIZED)


def worst_roll(ds: xr.Dataset, case: int) -> NDArray[np.float64]:
    """The roll angle [degree] of greatest size in every run of a case, with its sign."""
    most, least = values(ds, "roll_max", case=case), values(ds, "roll_min", case=case)
    return np.where(np.abs(most) >= np.abs(least), most, least)


def by_severity(ds: xr.Dataset, case: int, realisations: Sequence[int]) -> list[int]:
    """The solved runs from the worst on: capsized ones by their end, then by the roll reached."""
    outcome = values(ds, "outcome", case=case)
    end = values(ds, "end_time", case=case)
    roll = np.abs(worst_roll(ds, case))

    def badness(run: int) -> tuple[bool, float, float]:
        capsized = bool(outcome[run] == Outcome.CAPSIZED)
        return (not capsized, float(end[run]) if capsized else 0.0, -float(roll[run]))

    return sorted((run for run in realisations if solved(ds, case)[run]), key=badness)


def worst_cases(ds: xr.Dataset, wanted: Sequence[int], count: int) -> list[int]:
    """The `count` worst of the wanted cases, in their own order: by failures, then by roll."""

    def badness(case: int) -> tuple[float, float]:
        outcome = values(ds, "outcome", case=case)
        failed = (outcome >= Outcome.ROLL_LIMIT) & (outcome <= Outcome.CAPSIZED)
        roll = np.abs(worst_roll(ds, case))
        return -float(outcome[failed].sum()), -float(np.fmax.reduce(roll, initial=0.0))

    return sorted(sorted(wanted, key=badness)[:count])


def outcome_text(ds: xr.Dataset, case: int, realisation: int) -> str:
    """How a run ended, in words, with the time that belongs to it."""
    outcome = Outcome(int(values(ds, "outcome", case=case, realisation=realisation)))
    words = outcome.label.replace("_", " ")
    name = "failure_time" if Outcome.ROLL_LIMIT <= outcome < Outcome.CAPSIZED else "end_time"
    time = number(ds, name, case=case, realisation=realisation)
    if outcome in (Outcome.SURVIVED, Outcome.NOT_RUN) or not np.isfinite(time):
        return words
    return f"{words} at {time:.4g} s"
