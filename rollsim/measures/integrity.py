"""The integrity profile: how the safe basin shrinks along an axis, and where it falls off.

Soliman and Thompson (1989) follow the area of the safe basin as the driving grows: long it hardly
changes, then it is eroded within a narrow range (the name of the curve is theirs, from memory).
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

FALLEN = 0.9
"""Share of the greatest area below which the profile has fallen off."""


def profile(area: Floats) -> Floats:
    """Area over the greatest of the profile, NaN where nothing is safe anywhere."""
    greatest = float(np.max(area, initial=0.0))
    return np.asarray(area / greatest if greatest > 0.0 else np.full(area.shape, math.nan))


def falls_off(x: Floats, area: Floats) -> float:
    """Where along rising `x` the area first leaves 0.9 of its greatest, straight between points.

    NaN where it stays above, or where it is greatest at the last point.
    """
    share = profile(area)
    top = int(np.argmax(share)) if np.isfinite(share).all() else share.size
    below = np.flatnonzero(share[top:] < FALLEN) if top < share.size else np.zeros(0, dtype=int)
    return passed(x, share, FALLEN, top + int(below[0])) if below.size else math.nan


def first_above(x: Floats, values: Floats, level: float = 1.0) -> float:
    """Where along rising `x` values first rise to `level`, straight between points; else NaN."""
    known = np.isfinite(values)
    above = np.flatnonzero(known & (values >= level))
    if not above.size or above[0] == 0 or not known[above[0] - 1]:
        return math.nan
    return passed(x, values, level, int(above[0]))


def passed(x: Floats, values: Floats, level: float, after: int) -> float:
    """Where the straight line from the point before `after` to it passes `level`."""
    a, b = values[after - 1], values[after]
    return float(x[after - 1] + (level - a) / (b - a) * (x[after] - x[after - 1]))
