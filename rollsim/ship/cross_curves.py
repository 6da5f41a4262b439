"""Cross-curves: what a stability booklet gives over displacement, read between its rows."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from rollsim.errors import LeverRangeError

Floats = NDArray[np.float64]


def between(displacement: ArrayLike, rows: ArrayLike, at: float) -> Floats:
    """The row at a displacement `at`, from `rows` (n, ..) at n growing displacements.

    Joined by the monotone cubic of Fritsch and Carlson (PCHIP): it keeps the shape of the rows and
    never overshoots them. LeverRangeError outside the rows: nothing is extrapolated.
    """
    from scipy.interpolate import PchipInterpolator

    x = np.asarray(displacement, dtype=np.float64)
    if not x[0] <= at <= x[-1]:
        raise LeverRangeError(
            f"the curves are known from {x[0]:g} to {x[-1]:g}; requested at {at:g}"
        )
    return np.asarray(PchipInterpolator(x, np.asarray(rows, dtype=np.float64), axis=0)(at))
