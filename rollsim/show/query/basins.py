"""What tables and pictures ask of the file of `rollsim basin`."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from rollsim.measures.integrity import falls_off, first_above, profile
from rollsim.show.query import cases

if TYPE_CHECKING:
    import xarray as xr

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Profile:
    """The safe area along one sweep axis, other axes and the condition held: its name and cases.

    `share` is the area over the greatest, `falls` where it falls off by a straight line between the
    values of the sweep `bracket`, none where it stays above; `melnikov` where the wave
    reaches the height from which the basin is eroded by Melnikov's estimate. NaN where none.
    """

    name: str
    cases: list[int]
    x: Floats
    share: Floats
    falls: float
    bracket: tuple[float, ...]
    melnikov: float


def number_axes(ds: xr.Dataset) -> list[str]:
    """Sweep axes of numbers that take more than one value."""
    return [
        axis
        for axis in cases.sweep_axes(ds)
        if np.issubdtype(ds[axis].dtype, np.number) and np.unique(ds[axis].values).size > 1
    ]


def profiles(ds: xr.Dataset, axis: str) -> list[Profile]:
    """The integrity profiles along an axis."""
    others = [other for other in cases.sweep_axes(ds) if other != axis]
    groups: dict[str, list[int]] = {}
    for case, condition in enumerate(cases.conditions(ds)):
        named = [] if condition == cases.NO_CONDITION else [condition]
        words = [*named, *(cases.position_text(ds, other, case) for other in others)]
        groups.setdefault(", ".join(words), []).append(case)
    return [_profile(ds, axis, name, members) for name, members in groups.items()]


def _profile(ds: xr.Dataset, axis: str, name: str, members: list[int]) -> Profile:
    members = sorted(members, key=lambda case: float(ds[axis].values[case]))
    x = ds[axis].values[members].astype(np.float64)
    area = ds["safe_area"].values[members]
    falls = falls_off(x, area)
    after = int(np.searchsorted(x[1:-1], falls)) + 1
    bracket = () if math.isnan(falls) else tuple(x[after - 1 : after + 1].tolist())
    return Profile(name, members, x, profile(area), falls, bracket, _melnikov(ds, x, members))


def falls_words(each: Profile, unit: str) -> str:
    """Where a profile falls off: the values of the sweep that hold it, and a straight line's."""
    low, high = each.bracket
    return f"between {low:.4g} and {high:.4g}{unit} ({each.falls:.4g} by a straight line)"


def _melnikov(ds: xr.Dataset, x: Floats, members: list[int]) -> float:
    height = ds["wave_height"].values[members]
    estimate = ds["melnikov_height"].values[members]
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = np.where(estimate > 0.0, height / estimate, math.nan)
    return first_above(x, ratio)


def unit_after(ds: xr.Dataset, axis: str) -> str:
    """The unit of an axis as it stands behind a number: " m", "°"; empty where it has none."""
    unit = cases.unit(ds, axis)
    return unit if unit in ("", "°") else f" {unit}"


def swept(ds: xr.Dataset, name: str) -> bool:
    """Whether a number of every case is told by a sweep axis already."""
    return any(np.array_equal(ds[axis].values, ds[name].values) for axis in number_axes(ds))


def axis_value(ds: xr.Dataset, name: str, case: int) -> float | None:
    """A number of a case, None where it is missing."""
    value = float(ds[name].values[case])
    return value if math.isfinite(value) else None
