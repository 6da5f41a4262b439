"""One run of a result, whether all histories are in it or only some were kept."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from rollsim.show.query import cases

if TYPE_CHECKING:
    import xarray as xr


def history(ds: xr.Dataset, name: str, case: int, realisation: int) -> NDArray[np.float64] | None:
    """A history of one run over `t`; None where the result holds none of it."""
    if name not in ds.variables or not cases.with_history(ds, case, [realisation]):
        return None
    held = cases.values(ds, name, case=case, realisation=realisation)
    found = np.asarray(held, dtype=np.float64)
    return found if np.isfinite(found).any() else None


SPANS = 1000
"""A line that is drawn with more points than twice this is thinned."""


def thinned(
    t: NDArray[np.float64], values: NDArray[np.float64], spans: int = SPANS
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """A line with no peak lost: of each of `spans` equal spans its least and greatest value.

    Lines of at most twice as many points stay as they are.
    """
    if values.size <= 2 * spans:
        return t, values
    kept: list[int] = []
    for part in np.array_split(np.arange(values.size), spans):
        known = part[np.isfinite(values[part])]
        if known.size == 0:
            known = part[:1]  # a gap stays a gap
        ends = {int(known[pick(values[known])]) for pick in (np.argmin, np.argmax)}
        kept.extend(sorted(ends))
    return t[kept], values[kept]
