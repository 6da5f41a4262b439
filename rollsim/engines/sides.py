"""Changes of side of a ship with two wells or more, and the time on each side, for every engine.

A ship is on the side of the well whose bottom she reached last: what turns back on the crest, or
swings past it and back, is no change. Wells below the middle one count as port, above as starboard.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from rollsim.compiled import compiled

Floats = NDArray[np.float64]

WELL, CHANGES, CHANGES_TO_STARBOARD, ENTERED, TO_PORT, TO_STARBOARD = range(6)
"""Rows of what is kept of a run: the number of the well last reached, changes from well to well and
those of them to starboard, since when that well counts, the time on each side before that [s]."""
ROWS = 6


@compiled
def change_side(kept: Floats, well: int | np.int64, time: float, wells: int) -> None:
    """Note in `kept` (ROWS,) that the bottom of another of `wells` was reached at `time` [s]."""
    before = np.int64(kept[WELL])
    side = 2 * before - (wells - 1)
    if side < 0:
        kept[TO_PORT] += time - kept[ENTERED]
    elif side > 0:
        kept[TO_STARBOARD] += time - kept[ENTERED]
    kept[WELL], kept[ENTERED] = well, time
    kept[CHANGES] += abs(well - before)
    if well > before:
        kept[CHANGES_TO_STARBOARD] += well - before


def side_numbers(kept: Floats, end_time: Floats, settle: float, wells: int) -> dict[str, Any]:
    """The numbers of runs `kept` (ROWS, n) for `Measured`; the last stay goes up to `end_time` [s].

    Times are NaN where there are not two wells, or where nothing counted up to the end.
    """
    last = 2.0 * kept[WELL] - (wells - 1)
    stay = end_time - kept[ENTERED]
    known = (wells > 1) & (end_time > settle)
    return {
        "side_changes": kept[CHANGES].copy(),
        "changes_to_starboard": np.where(wells > 1, kept[CHANGES_TO_STARBOARD], np.nan),
        "to_port": np.where(known, kept[TO_PORT] + np.where(last < 0, stay, 0.0), np.nan),
        "to_starboard": np.where(known, kept[TO_STARBOARD] + np.where(last > 0, stay, 0.0), np.nan),
    }
