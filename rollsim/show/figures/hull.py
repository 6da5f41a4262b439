"""The papers of a hull in one picture: body plan, KN, hydrostatic curves, GM on a wave."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from rollsim.show import style

if TYPE_CHECKING:
    import xarray as xr

CURVES = {"km": "KM", "kb": "KB", "bm": "BM", "tonnes_per_cm": "t/cm"}


@style.styled
def hull_figure(ds: xr.Dataset) -> Figure:
    """Four panels; of many displacements six are drawn over heel and wave."""
    shown = _some(ds.sizes["displacement"])
    handles = [
        Line2D([], [], label=f"{float(ds['displacement'][i]):g} t", **style.cue(k))
        for k, i in enumerate(shown)
    ]
    trim = "free to trim" if ds.attrs.get("trim_of_levers") == "free" else "trim fixed"
    figure = style.new_figure(
        str(ds.attrs["title"]), f"hull, {trim}", height=9.6,
        notes=["On a wave of her length the ship is balanced in heave, and in trim where free; the "
               "elevation is that amidships, + on a crest."],
    )  # fmt: skip
    rows = [1.0, 1.0, style.strip_height(handles) / 3.6]
    grid = figure.add_gridspec(3, 2, height_ratios=rows)
    _body_plan(style.panel(figure, grid[0, 0], "body plan: aft to port, fore to starboard"), ds)
    _kn(style.panel(figure, grid[0, 1], "KN at constant displacement"), ds, shown)
    _heights(style.panel(figure, grid[1, 0], "upright, over the draught"), ds)
    _in_waves(style.panel(figure, grid[1, 1], "KM on a wave of her length"), ds, shown)
    style.legend_strip(figure, grid[2, :], handles)
    return figure


def _some(count: int) -> list[int]:
    """At most six of the displacements, evenly, ends included."""
    most = min(count, style.LINES)
    return sorted({round(i) for i in np.linspace(0, count - 1, most)})


def _body_plan(axes: Axes, ds: xr.Dataset) -> None:
    """Half of each station, the after half of the ship to port, as lines plans show it."""
    along = ds["station_along"].values
    middle = 0.5 * (along[0] + along[-1])
    lopsided = not np.allclose(np.nanmax(ds["station_y"], axis=1), -np.nanmin(ds["station_y"], 1))
    for i, x in enumerate(along):
        y, z = ds["station_y"].values[i], ds["station_z"].values[i]
        side = 1.0 if x >= middle else -1.0
        if not lopsided:
            y = np.where(side * y >= 0.0, y, 0.0)
        colour = style.COLOURS[0] if side > 0.0 else style.COLOURS[1]
        axes.plot(y, z, color=colour, linewidth=1.1)
    for draught in (float(ds["draught"].min()), float(ds["draught"].max())):
        axes.axhline(draught, color=style.INK, linewidth=1.0, linestyle=(0, (6, 3)))
    style.zero_line(axes, vertical=True)
    axes.set_aspect("equal", adjustable="datalim")
    axes.set_xlabel("y, off the centreline, to starboard [m]")
    axes.set_ylabel("z, above the keel [m]")


def _kn(axes: Axes, ds: xr.Dataset, shown: list[int]) -> None:
    for k, i in enumerate(shown):
        line: dict[str, Any] = style.cue(k)
        axes.plot(ds["heel"], ds["kn"][i], **line)
        edge = float(ds["deck_edge_heel"][i])
        if np.isfinite(edge):
            height = np.interp(edge, ds["heel"].values, ds["kn"].values[i])
            axes.plot(edge, height, "o", color=line["color"], markersize=7)
    axes.set_xlabel("heel [°]; dots: the deck edge comes under")
    axes.set_ylabel("KN [m]")


def _heights(axes: Axes, ds: xr.Dataset) -> None:
    draught = ds["draught"].values
    for k, (name, words) in enumerate(CURVES.items()):
        values = ds[name].values
        axes.plot(values, draught, marker="" if len(draught) > 1 else "o", **style.cue(k))
        axes.annotate(
            words,
            (values[-1], draught[-1]),
            xytext=(0, 5),
            textcoords="offset points",
            ha="center",
            fontsize=style.SMALL,
            color=style.COLOURS[k],
        )
    axes.set_xlim(left=0.0)
    axes.margins(y=0.12)
    axes.set_xlabel("KM, KB, BM [m]; tonnes per cm [t/cm]")
    axes.set_ylabel("draught [m]")


def _in_waves(axes: Axes, ds: xr.Dataset, shown: list[int]) -> None:
    elevation = ds["elevation"].values
    for k, i in enumerate(shown):
        line: dict[str, Any] = style.cue(k)
        axes.plot(elevation, ds["km_in_waves"][i], **line)
        still = float(np.interp(0.0, elevation, ds["km_in_waves"].values[i]))
        simple = still + float(ds["gm_per_m"][i]) * elevation
        axes.plot(elevation, simple, color=line["color"], linewidth=1.0)
    axes.set_xlabel("elevation amidships [m]; thin: by gm_per_m")
    axes.set_ylabel("KM [m]")
