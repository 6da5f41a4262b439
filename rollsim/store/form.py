"""The form of a result: which variables it has, of which types, and what they may hold."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

import numpy as np

from rollsim.names import (
    COORDINATES,
    SEARCHED,
    VARIABLES,
    Outcome,
    SeverityFound,
    histories_kept,
)

if TYPE_CHECKING:
    import xarray

ALWAYS = (
    *("case", "realisation", "t", "heel", "condition"),
    *("outcome", "failed_before_settle", "failure_time", "end_time"),
    *("roll_max", "roll_min", "energy_margin", "gm", "loll_angle", "loll_angle_port"),
    *("vanishing_angle", "vanishing_angle_port", "static_heel", "beam", "draught", "gyradius"),
    *("roll_limit", "flooding_limit", "capsize_limit", "righting_lever"),
    *("steady_heeling_lever", "centre_of_gravity_y", "centre_of_gravity_z"),
    *("capsize_probability", "failure_probability"),
)
"""What results have held from the first on; later ones hold more."""

RISING = ("case", "realisation", "t", "heel")
FINITE = ("gm", "beam", "draught", "gyradius", "capsize_limit",
          "centre_of_gravity_y", "centre_of_gravity_z")  # fmt: skip


def misfit(dataset: xarray.Dataset) -> str:
    """What in the dataset differs from the form of a result, or nothing.

    Histories are looked at where they are in memory.
    """
    if not isinstance(dataset.attrs.get("scenario_text"), str):
        return "scenario_text is missing"
    known = COORDINATES | VARIABLES
    if "kept" in dataset.dims:
        known |= histories_kept()
    for name in ALWAYS:
        if name not in dataset.variables:
            return f"{name} is missing"
    for name, variable in known.items():
        if name not in dataset.variables:
            continue
        if dataset[name].dims != variable.dims:
            return f"{name} stands along {dataset[name].dims}, expected {variable.dims}"
        expected = "OUT" if variable.dtype == "str" else np.dtype(variable.dtype).kind
        if dataset[name].dtype.kind not in expected:
            return f"{name} is of type {dataset[name].dtype}"
    if not np.isin(dataset["outcome"].values, list(Outcome)).all():
        return "outcome holds unknown codes"
    if strange := _strange_search(dataset):
        return strange
    return _wild(dataset)


def _strange_search(dataset: xarray.Dataset) -> str:
    """What of the severity factors no search gives, or nothing."""
    held = [name for name in SEARCHED if name in dataset.variables]
    if not held:
        return ""
    if len(held) < len(SEARCHED):
        return f"{', '.join(set(SEARCHED) - set(held))} is missing where {held[0]} is given"
    found, factor = dataset["severity_found"].values, dataset["severity_factor"].values
    if not np.isin(found, list(SeverityFound)).all():
        return "severity_found holds unknown codes"
    if (np.isfinite(factor) != (found == SeverityFound.FOUND)).any() or (factor <= 0.0).any():
        return "severity_factor does not fit severity_found"
    return ""


def _wild(dataset: xarray.Dataset) -> str:
    """Which numbers no program of ours has written, or nothing."""
    for name in RISING:
        values = dataset[name].values
        if not (np.isfinite(values).all() and (np.diff(values) > 0).all()):
            return f"{name} does not rise from number to number"
        if name != "heel" and values.size and values[0] < 0:
            return f"{name} has negative numbers"
    for name in FINITE:
        if not np.isfinite(dataset[name].values).all():
            return f"{name} is missing or infinite in some place"
    for key, held in dataset.variables.items():
        if held.dtype.kind == "f" and held._in_memory and np.isinf(held.values).any():
            return f"{key} is infinite in some place"
    for limit in VARIABLES:
        name, _, side = limit.rpartition("_")
        if side not in ("lower", "upper") or name not in dataset:
            continue
        missing = np.isnan(dataset[name].values)
        if limit not in dataset or (np.isnan(dataset[limit].values) != missing).any():
            return f"{limit} is missing where {name} is given"
    return disordered(dataset, VARIABLES)


ROUNDING = 1e-9
"""By how much of itself a value may lie past its limit."""


def disordered(dataset: xarray.Dataset, known: Iterable[str]) -> str:
    """Which limit lies on the wrong side of its value, or nothing."""
    for limit in known:
        name, _, side = limit.rpartition("_")
        if side in ("lower", "upper") and {name, limit} <= set(dataset.variables):
            value = dataset[name].values
            past = dataset[limit].values - value if side == "lower" else value - dataset[limit]
            if (np.asarray(past) > ROUNDING * np.abs(value)).any():
                return f"{limit} lies on the wrong side of {name}"
    return ""
