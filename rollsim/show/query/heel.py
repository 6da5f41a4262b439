"""The heel that a run's levers feel: relative to the water where the waves act so."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from rollsim.show.query.cases import relative, values

if TYPE_CHECKING:
    import xarray as xr

Floats = NDArray[np.float64]


class HeelHistory(NamedTuple):
    """The stored points of a run (t,), missing after its end: degrees and degrees a second."""

    t: Floats
    roll: Floats
    roll_rate: Floats
    slope: Floats
    """Effective wave slope; zero where the result holds none."""
    slope_rate: Floats
    """By differences of the stored points."""
    felt: float
    """1 where the levers feel the slope of the water, 0 where they feel the roll alone."""

    def up_to_end(self) -> HeelHistory:
        """The points up to the end of the run."""
        known = np.isfinite(self.roll)
        slope, slope_rate = (np.nan_to_num(each[known]) for each in (self.slope, self.slope_rate))
        rate = np.nan_to_num(self.roll_rate[known])
        return HeelHistory(self.t[known], self.roll[known], rate, slope, slope_rate, self.felt)

    @property
    def heel(self) -> Floats:
        """The heel ψ."""
        return self.roll - self.felt * self.slope

    @property
    def rate(self) -> Floats:
        """Its rate ψ′."""
        return self.roll_rate - self.felt * self.slope_rate

    @property
    def waves(self) -> bool:
        """Whether the water is seen to tilt."""
        return self.felt > 0.0 and bool(np.any(np.nan_to_num(self.slope)))


def heel_history(ds: xr.Dataset, case: int, realisation: int) -> HeelHistory:
    """The roll of a run, the slope of the water under it, and their rates."""
    names = ("roll_angle", "roll_rate", "wave_slope")
    roll, rate, slope = (
        values(ds, name, case=case, realisation=realisation).astype(np.float64) for name in names
    )
    t = np.asarray(ds["t"].values, dtype=np.float64)
    known = np.isfinite(roll)
    slope = np.where(known, np.nan_to_num(slope), np.nan)
    turning = np.where(known, 0.0, np.nan)
    if np.count_nonzero(known) > 1:
        # Up to the last stored point: what lies beyond a run's end would take that one along.
        turning[known] = np.gradient(slope[known], t[known])
    return HeelHistory(t, roll, rate, slope, turning, float(relative(ds, case)))
