"""The greatest roll of every run of a case, and what a fitted law says of runs not made."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from rollsim.measures.extremes.counted import greatest_roll
from rollsim.measures.extremes.levels import Extremes, extremes
from rollsim.measures.outcome import capsized
from rollsim.show.query import cases
from rollsim.show.query.runs import solved

if TYPE_CHECKING:
    import xarray as xr

Floats = NDArray[np.float64]


def counted_roll(ds: xr.Dataset, case: int) -> Floats:
    """The greatest |roll| [degree] of every run that the probabilities count; inf if capsized."""
    greatest, over = _reached(ds, case)
    return np.where(over, np.inf, greatest)


def _reached(ds: xr.Dataset, case: int) -> tuple[Floats, NDArray[np.bool_]]:
    """How far [degree] every solved run rolled, and whether it capsized.

    One that capsized before anything counts came to the capsize angle.
    """
    over = capsized(cases.values(ds, "outcome", case=case))
    most, least = (cases.values(ds, name, case=case) for name in ("roll_max", "roll_min"))
    greatest = greatest_roll(most, least, False)
    unseen = over & np.isnan(greatest)
    greatest = np.where(unseen, cases.number(ds, "capsize_limit", case=case), greatest)
    chosen = solved(ds, case) & ~np.isnan(greatest)
    return greatest[chosen], over[chosen]


def extremes_of(ds: xr.Dataset, case: int) -> Extremes:
    """The law of the greatest roll [degree] in a run of a case, as far as its runs carry."""
    greatest, over = _reached(ds, case)
    return _fitted(greatest.tobytes(), over.tobytes(), cases.number(ds, "capsize_limit", case=case))


@lru_cache(maxsize=64)
def _fitted(greatest: bytes, over: bytes, ceiling: float) -> Extremes:
    """Fitted once for picture and table."""
    return extremes(np.frombuffer(greatest), np.frombuffer(over, dtype=np.bool_), ceiling)
