"""What tables and pictures ask of the file of `rollsim response`."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from rollsim.map_names import BranchEnd, FoundBy
from rollsim.names import unit_text

if TYPE_CHECKING:
    import xarray as xr

Floats = NDArray[np.float64]

WORDS = {"sea.period_s": "wave period", "sea.height_m": "wave height"}
"""The keys of a response in words."""


@dataclass(frozen=True, eq=False)
class Curve:
    """A branch of a case without its padding: value, amplitude and mean [degree], stability, the
    greatest size of a multiplier; waves to one response; why it goes no further at either end, from
    where it was met, and whether no branch from calm water leads to it."""

    ratio: int
    value: Floats
    amplitude: Floats
    mean: Floats
    stable: NDArray[np.bool_]
    multiplier: Floats
    ends: tuple[BranchEnd, BranchEnd]
    found_by: FoundBy
    island: bool


def key_words(ds: xr.Dataset) -> str:
    """What the response goes over."""
    return WORDS[str(ds.attrs["response_key"])]


def key_label(ds: xr.Dataset) -> str:
    """The same with its unit, for an axis."""
    return f"{key_words(ds)} [{unit_text(str(ds['value'].attrs['units']))}]"


def curves(ds: xr.Dataset, case: int) -> list[Curve]:
    """The branches of a case."""
    ratios = ds["period_ratio"].values[case]
    made = []
    for branch in np.flatnonzero(ratios):
        value, amplitude, mean, stable, real, imag = (
            ds[name].values[case, branch]
            for name in (
                *("value", "roll_amplitude", "roll_mean", "stable"),
                *("multiplier_real", "multiplier_imag"),
            )
        )
        known = np.isfinite(value)
        size = np.hypot(real, imag)[known].max(axis=1)
        first, last = (BranchEnd(end) for end in ds["branch_end"].values[case, branch])
        found_by = FoundBy(ds["found_by"].values[case, branch])
        made.append(
            Curve(
                int(ratios[branch]), value[known], amplitude[known], mean[known],
                stable[known] == 1, size, (first, last), found_by,
                bool(ds["island"].values[case, branch]),
            )
        )  # fmt: skip
    return made


def not_followed(ds: xr.Dataset, case: int) -> int:
    """Flips, crossings and states found that no branch was followed from."""
    return int(ds["not_followed"].values[case])


def specials(ds: xr.Dataset, case: int, kind: str) -> list[tuple[float, float]]:
    """Value and amplitude [degree] of the folds, flips or branchings of a case."""
    rows = zip(ds[f"{kind}_value"].values[case], ds[f"{kind}_amplitude"].values[case], strict=True)
    return [(float(value), float(size)) for value, size in rows if np.isfinite(value)]


def backbones(ds: xr.Dataset, case: int, ratio: int) -> list[tuple[Floats, Floats]]:
    """Wave period [s] and half-swing [degree] of the free rolls with so many waves each."""
    if "backbone_value" not in ds.variables:
        return []
    which = np.flatnonzero(ds["backbone_ratio"].values[case] == ratio)
    pairs = [
        (ds["backbone_value"].values[case, i], ds["backbone_amplitude"].values[case, i])
        for i in which
    ]
    return [(value, size) for value, size in pairs if np.isfinite(value).any()]
