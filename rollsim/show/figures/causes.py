"""What drove the runs of a picture: wave slope and heeling lever in time, shared curves once."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from matplotlib.axes import Axes
from numpy.typing import NDArray

from rollsim.show import style
from rollsim.show.query import cases
from rollsim.show.query.runs import Run

if TYPE_CHECKING:
    import xarray as xr

LABELS = {"wave_slope": "wave slope\n[°]", "heeling_lever": "heeling\nlever [m]"}

Panels = Sequence[Sequence[Run]]
"""The runs of every panel."""


def acting(ds: xr.Dataset, panels: Panels) -> list[str]:
    """Those of the causes that are not zero throughout, or both where nothing is known."""
    runs = [run for panel in panels for run in panel]
    return [name for name in LABELS if any(_acts(ds, name, *run) for run in runs)]


def _acts(ds: xr.Dataset, name: str, case: int, run: int) -> bool:
    return bool(np.nan_to_num(cases.values(ds, name, case=case, realisation=run)).any())


def draw_cause(
    axes: Axes, ds: xr.Dataset, panels: Panels, cues: Mapping[int, int], name: str
) -> None:
    """What drove the runs drawn above, shared curves once; of waves that differ the first alone."""
    style.zero_line(axes)
    groups = causes(ds, panels, name)
    several = len(panels) > 1
    for i, runs in enumerate(groups[:1] if name == "wave_slope" else groups):
        case, run = runs[0]
        curve = cases.values(ds, name, case=case, realisation=run)
        mark: dict[str, Any] = {}
        if several:
            every = (i * curve.size // 24, max(1, curve.size // 8))
            mark = {
                "marker": style.MARKERS[i % style.LINES],
                "markevery": every,
                "label": _sharers(ds, runs),
            }
        colour = style.cue(cues[run])["color"]
        axes.plot(ds["t"].values, curve, color=colour, **mark, linewidth=1.2)
    if several:
        style.legend_beside(axes, axes.get_lines()[1:])
    axes.set_ylabel(LABELS[name])


def _sharers(ds: xr.Dataset, shared: Sequence[Run]) -> str:
    """Which cases met the same, and in which storm, where it is one."""
    numbers = sorted({cases.number_of(ds, "case", case) for case, _ in shared})
    words = f"case{'s' * (len(numbers) > 1)} {', '.join(map(str, numbers))}"
    runs = {cases.number_of(ds, "realisation", run) for _, run in shared}
    return f"{words}: realisation {runs.pop()}" if len(runs) == 1 else words


def causes(ds: xr.Dataset, panels: Panels, name: str) -> list[list[Run]]:
    """The first run of each panel in their order, those that share a curve together.

    Of a panel that stands alone, all its runs.
    """
    each = 1 if len(panels) > 1 else None
    runs = [run for panel in panels for run in panel[:each]]
    curves = {(c, r): cases.values(ds, name, case=c, realisation=r) for c, r in runs}
    groups: list[list[Run]] = []
    for run in runs:
        partner = next((group for group in groups if _same(curves[run], curves[group[0]])), None)
        if partner is None:
            groups.append([run])
        else:
            partner.append(run)
            # The longest of them is drawn.
            partner.sort(key=lambda at: -int(np.isfinite(curves[at]).sum()))
    return groups


def _same(one: NDArray[np.float64], other: NDArray[np.float64]) -> bool:
    """Whether two curves agree for as long as the shorter runs."""
    known = np.isfinite(one) & np.isfinite(other)
    return bool(known.any() and np.allclose(one[known], other[known], rtol=1e-5, atol=1e-6))
