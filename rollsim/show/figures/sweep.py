"""The margins of a study over its sweep: as lines over one axis, as numbers in a grid over two."""

from __future__ import annotations

from typing import TYPE_CHECKING

from matplotlib.figure import Figure

from rollsim.measures.outcome import Event
from rollsim.show.figures import sweep_grids, sweep_lines
from rollsim.show.query import cases

if TYPE_CHECKING:
    import xarray as xr


def sweep_figure(ds: xr.Dataset, event: Event | None = None) -> Figure:
    """Energy margin, extremes and probabilities over the sweep axes; conditions apart.

    Of a capsize alone where that is the `event`, by default the one that the result is about.
    """
    of = event or cases.event_of(ds)
    axes = [axis for axis in cases.sweep_axes(ds) if len(set(map(str, ds[axis].values))) > 1]
    if len(axes) > 1:
        return sweep_grids.draw(ds, axes, of)
    return sweep_lines.draw(ds, axes[0] if axes else "condition", of)
