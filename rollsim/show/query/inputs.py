"""What the scenario text inside a result says, as plain tables and lists."""

from __future__ import annotations

import tomllib
from functools import lru_cache
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import xarray as xr


def scenario(ds: xr.Dataset) -> dict[str, Any]:
    """The scenario of a result as it was written; empty where a dataset carries none."""
    return _parsed(str(ds.attrs.get("scenario_text", "")))


@lru_cache(maxsize=8)
def _parsed(text: str) -> dict[str, Any]:
    """The tables of a text; every case of a summary asks for them."""
    try:
        return tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError, ValueError):
        return {}  # another hand has been at the text: the numbers stand without it


def at_set_times(ds: xr.Dataset) -> bool:
    """Whether gusts or events come at set times, in any case of the study."""
    held = scenario(ds)
    places = [held, *(each for each in _tables(held.get("conditions")))]
    return any(
        place.get("events") or (isinstance(wind := place.get("wind"), dict) and wind.get("gust"))
        or any(str(key).startswith(("events", "wind.gust")) for key in place)
        for place in places
    )  # fmt: skip


def until(ds: xr.Dataset) -> tuple[float, int] | None:
    """The rule for more realisations: relative error and the most; None where there is none."""
    rule = _run(ds).get("until")
    if not isinstance(rule, dict):
        return None
    error, most = rule.get("relative_error"), rule.get("most")
    if not isinstance(error, (int, float)) or not isinstance(most, int):
        return None
    return float(error), most


def _tables(value: object) -> list[dict[str, Any]]:
    return [each for each in value if isinstance(each, dict)] if isinstance(value, list) else []


def _run(ds: xr.Dataset) -> dict[str, Any]:
    run = scenario(ds).get("run")
    return run if isinstance(run, dict) else {}


def settle(ds: xr.Dataset) -> float:
    """The time [s] from which limits count; the same in all cases of a study."""
    given = _run(ds).get("settle_s", 0.0)
    return float(given) if isinstance(given, (int, float)) else 0.0
