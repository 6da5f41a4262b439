"""Made-up severity factors on the invented study."""

from __future__ import annotations

from typing import Any

import numpy as np
import xarray as xr
from show_samples import build

from rollsim.names import SeverityFound

TRIED = (0.5, 2.5)
MEDIANS = {"light": 1.5, "deck cargo": 1.9, "top heavy": 0.8}
TEXT = """title = "a study"
[ship]
name = "Marit"
[sea]
kind = "irregular"
significant_height_m = 5.0
[[conditions]]
name = "light"
"""


def with_factors(
    realisations: int = 80, on: str = "waves", islands: int = 3, **more: Any
) -> xr.Dataset:
    """The study with factors about a median for each condition, censored at the ends of TRIED."""
    ds = build(realisations=realisations, **more)
    storm = np.random.default_rng(4).normal(0.0, 0.25, realisations)
    middle = np.array([MEDIANS.get(str(name), 1.2) for name in ds["condition"].values])
    noise = np.random.default_rng(5).normal(0.0, 0.05, (middle.size, realisations))
    value = middle[:, None] * np.exp(storm + noise)
    found = np.full(value.shape, SeverityFound.FOUND, dtype=np.int8)
    found[value > TRIED[1]] = SeverityFound.NONE_UP_TO
    found[value <= TRIED[0]] = SeverityFound.ALREADY_AT_FROM
    factor = np.where(found == SeverityFound.FOUND, value, np.nan)
    counts = np.zeros(value.shape, dtype=np.int32)
    counts[0, :islands] = 1
    dims = ("case", "realisation")
    ds["severity_factor"], ds["severity_found"] = (dims, factor), (dims, found)
    ds["severity_islands"] = (dims, counts)
    ds.attrs |= {"severity_on": on, "severity_of": "failure", "scenario_text": TEXT}
    ds.attrs |= {"severity_from": TRIED[0], "severity_to": TRIED[1]}
    return ds


def certain(ds: xr.Dataset) -> xr.Dataset:
    """The same where nothing is random: every realisation has the same factor."""
    for name in ("capsize", "failure"):
        for part in ("", "_lower", "_upper"):
            ds[f"{name}_probability{part}"][:] = np.nan
    for name in ("severity_factor", "severity_found", "severity_islands"):
        ds[name].values[:] = ds[name].values[:, :1].copy()
    return ds
