"""Questions to a file of critical values."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from rollsim.map_names import Search
from rollsim.names import unit_text
from rollsim.show.query import cases

if TYPE_CHECKING:
    import xarray as xr


def unit(ds: xr.Dataset) -> str:
    """The unit of the searched key as people write it."""
    return unit_text(str(ds["critical_value"].attrs.get("units", "")))


def name(ds: xr.Dataset) -> str:
    """The searched key in words: "KG", "mass of deck cargo"."""
    item = str(ds.attrs.get("searched_item", ""))
    return cases.whole_words(str(ds.attrs["searched_name"]), offset=False, item=item)


def label(ds: xr.Dataset) -> str:
    """What the values are, with their unit: "critical KG [m]"."""
    return f"critical {name(ds)}" + (f" [{unit(ds)}]" if unit(ds) else "")


def answered(ds: xr.Dataset) -> NDArray[np.bool_]:
    """Which cases have a value."""
    return np.asarray(ds["critical_search"].values == Search.FOUND)


def sides(ds: xr.Dataset) -> set[str]:
    """On which side of the values the event is likelier: "above", "below", or both."""
    rises = ds["critical_rises"].values[answered(ds)]
    return {"above" if each else "below" for each in rises}


def probability(ds: xr.Dataset) -> float:
    """The probability searched for, NaN where nothing is random in any case."""
    return float(np.fmax.reduce(ds["critical_probability"].values))


def meaning(ds: xr.Dataset) -> str:
    """What a critical value is in this file, in a sentence."""
    event, p = str(ds.attrs["event"]), probability(ds)
    what = f"{name(ds)} ({ds.attrs['searched_key']})"
    if math.isnan(p):
        return f"the {what} at which {event} first happens; nothing is random"
    span = f"one run of {float(ds.attrs['duration_s']):g} s"
    sentence = f"the {what} at which the probability of {event} in {span} is {p:g}"
    if np.isnan(ds["critical_probability"].values).any():
        sentence += f", or, where nothing is random, {event} first happens"
    return sentence


def limits_meaning(ds: xr.Dataset) -> str:
    """What the limits are in this file, in a sentence."""
    certain = np.isnan(ds["critical_probability"].values)
    bracket = "the last value tried on one side and the first on the other"
    if certain.all():
        return f"Limits: {bracket}."
    also = f"; where nothing is random they are {bracket}" if certain.any() else ""
    return f"Limits: 95 %, they carry the noise of counting storms{also}."


def side_meaning(ds: xr.Dataset) -> str:
    """On which side the event is likelier, in a sentence; empty where that differs by case."""
    where = sides(ds)
    verb = "happens" if math.isnan(probability(ds)) else "is likelier"
    return f"The event {verb} {next(iter(where))} that value." if len(where) == 1 else ""


def decimals(ds: xr.Dataset) -> int:
    """Decimals for all values of a file: two digits of half a usual interval."""
    _, lower, upper = cases.interval(ds, "critical_value")
    half = 0.5 * (upper - lower)
    known = half[half > 0.0]
    usual = float(np.median(known)) if known.size else float(ds.attrs["tolerance"])
    return min(max(0, 1 - math.floor(math.log10(usual))), 9)
