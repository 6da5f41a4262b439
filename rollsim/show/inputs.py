"""What the scenario text inside a result says, as plain tables and lists."""

from __future__ import annotations

import tomllib
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import xarray as xr


def scenario(ds: xr.Dataset) -> dict[str, Any]:
    """The scenario of a result as it was written; empty where a dataset carries none."""
    try:
        return tomllib.loads(str(ds.attrs.get("scenario_text", "")))
    except (tomllib.TOMLDecodeError, RecursionError, ValueError):
        return {}  # another hand has been at the text: the numbers stand without it


def settle(ds: xr.Dataset) -> float:
    """The time [s] from which limits count; the same in all cases of a study."""
    run = scenario(ds).get("run", {})
    given = run.get("settle_s", 0.0) if isinstance(run, dict) else 0.0
    return float(given) if isinstance(given, (int, float)) else 0.0
