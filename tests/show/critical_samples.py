"""An invented file of critical values, without any of the program that would search for them."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import product

import numpy as np
import xarray as xr

from rollsim.map_names import MAPS, Search


def critical_map(
    conditions: Sequence[str] = ("holds", "deck cargo"),
    heights: Sequence[float] = (4.0, 6.0, 8.0),
    *,
    unanswered: Sequence[int] = (),
    probability: float = 0.05,
    title: str = "greatest KG of an invented coaster",
) -> xr.Dataset:
    """Critical KG that falls with the wave height; without heights over the conditions alone."""
    grid = list(product(conditions, heights or [0.0]))
    number = np.arange(len(grid), dtype=float)
    value = 5.6 - 0.03 * number
    value[list(unanswered)] = np.nan
    search = np.full(len(grid), int(Search.FOUND), np.int8)
    search[list(unanswered)] = Search.NOT_PASSED
    note = np.array([""] * len(grid), dtype=object)
    note[list(unanswered)] = "the probability of failure is 0 at both ends: take a greater to"
    arrays = {
        "critical_value": value,
        "critical_value_lower": value - 0.0123,
        "critical_value_upper": value + 0.0142,
        "critical_search": search,
        "critical_rises": np.ones(len(grid), np.int8),
        "critical_probability": np.full(len(grid), probability),
        "own_value": np.full(len(grid), 5.4),
        "note": note,
        "trial_value": np.array([[5.0, 5.5, 6.0]] * len(grid)),
        "trial_runs": np.array([[64, 256, 64]] * len(grid)),
        "trial_events": np.array([[0, 13, 64]] * len(grid)),
        "trial_solved": np.array([[64, 255, 64]] * len(grid)),
    }
    table = MAPS["critical"]
    attributes = {
        "title": title,
        "searched_key": "ship.gravity.kg_m",
        "searched_name": "kg",
        "searched_from": 5.0,
        "searched_to": 6.0,
        "event": "failure",
        "tolerance": 0.01,
        "most_runs": 60_000,
        "duration_s": 600.0,
    }
    ds = xr.Dataset(
        {name: (table[name].dims, values) for name, values in arrays.items()},
        {
            "case": np.arange(len(grid)),
            "condition": ("case", [condition for condition, _ in grid]),
        },
        attributes,
    )
    if heights:
        ds["significant_height"] = ("case", [height for _, height in grid], {"units": "m"})
        ds = ds.set_coords("significant_height")
    for name in arrays:
        ds[name].attrs["units"] = table[name].units or "m"
    return ds
