"""The midship section of a hull, and where the water stands at it: what pictures turn."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


class Midship(NamedTuple):
    """The closed outline (n, 2) of the section, y and z [m], and over `heel` (m) [rad] the height
    of the water above the keel point amidships along the vertical, `level` (m) [m]."""

    outline: Floats
    heel: Floats
    level: Floats
