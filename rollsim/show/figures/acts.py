"""Marks in a history: what acts when (seas, gusts, levers, weights), and from when it counts."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from rollsim.show import style
from rollsim.show.query.acting import Act, acts, settle

if TYPE_CHECKING:
    import xarray as xr

MOST = 4
"""So many are marked; of more the first."""
SHADE, EDGE = "#fbeecb", "#a8842c"
COUNTED: dict[str, Any] = {"color": EDGE, "linestyle": (0, (1, 1.5)), "linewidth": 1.8}


def draw_acts(axes: Axes, ds: xr.Dataset, case: int) -> None:
    """Shade and number what acts on a case, and mark from when it counts."""
    end = float(ds["t"].values[-1])
    for i, act in enumerate(_within(ds, case)[:MOST], 1):
        until = act.end if np.isfinite(act.end) else act.full
        axes.axvspan(act.start, min(until, end), facecolor=SHADE, edgecolor="none", zorder=0.4)
        axes.axvline(act.start, color=EDGE, linewidth=1.0, zorder=0.5)
        axes.annotate(
            str(i), (act.start, 1.0), xycoords=("data", "axes fraction"), xytext=(3, -3),
            textcoords="offset points", va="top", fontsize=style.SMALL, color=EDGE, weight="bold",
        )  # fmt: skip
    if 0.0 < settle(ds) <= end:
        axes.axvline(settle(ds), zorder=0.6, **COUNTED)


def act_handles(ds: xr.Dataset, case: int) -> list[Artist]:
    """What the legend says of the marks of a case."""
    every = _within(ds, case)
    handles: list[Artist] = [
        Patch(facecolor=SHADE, edgecolor=EDGE, label=f"{i} {_when(act)}")
        for i, act in enumerate(every[:MOST], 1)
    ]
    if len(every) > MOST:
        handles.append(Line2D([], [], linestyle="none", label=f"and {len(every) - MOST} more"))
    start = settle(ds)
    if 0.0 < start <= float(ds["t"].values[-1]):
        handles.append(Line2D([], [], **COUNTED, label=f"counted from {start:g} s on"))
    return handles


def _within(ds: xr.Dataset, case: int) -> list[Act]:
    """What acts before the runs end."""
    return [act for act in acts(ds, case) if act.start <= float(ds["t"].values[-1])]


def _when(act: Act) -> str:
    """What acts, and on the line below from when until when."""
    if act.full == act.start and not np.isfinite(act.end):
        return f"{act.words}\nat {act.start:g} s"
    until = act.end if np.isfinite(act.end) else act.full
    return f"{act.words}\n{act.start:g} to {until:g} s"
