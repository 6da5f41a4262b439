"""What moving liquid adds to the levers while tanks fill, as a result holds it over time."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline, PPoly

from rollsim.ship.liquid import Filled
from rollsim.show.query.cases import values

if TYPE_CHECKING:
    import xarray as xr

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class StoredFilling:
    """Levers over heel at some times [s]; between two they go straight."""

    times: Floats
    heel: Floats
    levers: Floats
    value: PPoly

    def at(self, times: Floats | float) -> Filled:
        """The term of the righting lever at times [s], by the number of the stored lever."""
        t = np.asarray(times, dtype=np.float64)
        after = np.searchsorted(self.times, t, side="right")
        first = np.clip(after - 1, 0, self.times.size - 2)
        span = self.times[first + 1] - self.times[first]
        part = np.where(span > 0.0, (t - self.times[first]) / np.where(span > 0.0, span, 1.0), 1.0)
        return Filled(self, np.asarray(first + np.clip(part, 0.0, 1.0)))

    def between(self, what: str, at: Floats, heel: Floats) -> Floats:
        """Value, slope or integral at the numbers of stored levers and heels [rad]."""
        curve = {"value": self.value, "slope": self._slope, "integral": self._integral}[what]
        rows = np.moveaxis(np.asarray(curve(heel)), -1, 0)  # (levers, ..)
        rows = rows - np.reshape(curve(0.0), (-1, *[1] * np.ndim(heel))) * (what == "integral")
        first = np.clip(np.floor(at).astype(np.intp), 0, self.times.size - 2)
        part = at - first
        if at.ndim == 2:
            low, high = rows[first[:, 0]], rows[first[:, 0] + 1]
        elif at.ndim == 1:
            own = np.arange(at.size)
            low, high = (
                (rows[first + i, own] if np.ndim(heel) else rows[first + i]) for i in (0, 1)
            )
        else:
            low, high = rows[first], rows[first + 1]
        return np.asarray((1.0 - part) * low + part * high)

    @property
    def _slope(self) -> PPoly:
        return self.value.derivative()

    @property
    def _integral(self) -> PPoly:
        return self.value.antiderivative()


def stored_filling(ds: xr.Dataset, case: int) -> StoredFilling | None:
    """What tanks that fill do to the levers of a case; None where none does."""
    if "filled_lever" not in ds or "filling_time" not in ds:
        return None
    times = values(ds, "filling_time", case=case)
    levers = values(ds, "filled_lever", case=case)
    heel = np.asarray(ds["heel"].values, dtype=np.float64)
    known, inside = np.isfinite(times), np.isfinite(levers).any(axis=0)
    if np.count_nonzero(known) < 2 or np.count_nonzero(inside) < 4:
        return None
    rows = np.nan_to_num(levers[known][:, inside])
    spline = CubicSpline(np.radians(heel[inside]), rows.T)
    return StoredFilling(times[known], heel[inside], rows, spline)
