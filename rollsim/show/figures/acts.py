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


Span = tuple[float, float]
"""The time [s] that a panel shows, from and to."""


def draw_acts(axes: Axes, ds: xr.Dataset, case: int, span: Span | None = None) -> None:
    """Shade and number what acts on a case within a span, and mark from when it counts."""
    first, last = span or whole(ds)
    for i, act in enumerate(within(ds, case, span)[:MOST], 1):
        start = max(act.start, first)
        axes.axvspan(start, min(_until(act), last), facecolor=SHADE, edgecolor="none", zorder=0.4)
        axes.axvline(start, color=EDGE, linewidth=1.0, zorder=0.5)
        axes.annotate(
            str(i), (start, 1.0), xycoords=("data", "axes fraction"), xytext=(3, -3),
            textcoords="offset points", va="top", fontsize=style.SMALL, color=EDGE, weight="bold",
            bbox={"facecolor": SHADE, "edgecolor": "none", "pad": 0.6}, zorder=7,
        )  # fmt: skip
    if first < settle(ds) <= last:
        axes.axvline(settle(ds), zorder=0.6, **COUNTED)


def act_handles(ds: xr.Dataset, case: int, span: Span | None = None) -> list[Artist]:
    """What the legend says of the marks of a case."""
    first, last = span or whole(ds)
    every = within(ds, case, span)
    handles: list[Artist] = [
        Patch(facecolor=SHADE, edgecolor=EDGE, label=f"{i}: {_when(act)}")
        for i, act in enumerate(every[:MOST], 1)
    ]
    if len(every) > MOST:
        handles.append(Line2D([], [], linestyle="none", label=f"and {len(every) - MOST} more"))
    if first < settle(ds) <= last:
        words = f"counted from {settle(ds):g} s on"
        handles.append(Line2D([], [], **COUNTED, label=words))
    return handles


def within(ds: xr.Dataset, case: int, span: Span | None = None) -> list[Act]:
    """What begins or goes on within a span, by default that of the runs."""
    first, last = span or whole(ds)
    return [act for act in acts(ds, case) if act.start <= last and _until(act) >= first]


def whole(ds: xr.Dataset) -> Span:
    """From the start to the last output."""
    return 0.0, float(ds["t"].values[-1])


def _until(act: Act) -> float:
    """The time [s] up to which it changes something."""
    return act.end if np.isfinite(act.end) else act.full


def _when(act: Act) -> str:
    """What acts, and on the line below from when until when."""
    if act.full == act.start and not np.isfinite(act.end):
        return f"{act.words}\nat {act.start:g} s"
    return f"{act.words}\n{act.start:g} to {_until(act):g} s"
