"""Response curves: steady rolls over wave period or height, stable and not."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, Any

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.gridspec import GridSpec
from matplotlib.lines import Line2D
from numpy.typing import NDArray

from rollsim.map_names import BranchEnd
from rollsim.show import style
from rollsim.show.query import cases, responses
from rollsim.show.query.responses import Curve

if TYPE_CHECKING:
    import xarray as xr

MOST = 4
"""Cases drawn, one below the other in two columns."""
UNSTABLE = (0, (3, 1.6))
MARKS: dict[str, tuple[dict[str, Any], str]] = {
    "fold": ({"marker": "^", "markersize": 9}, "fold"),
    "flip": ({"marker": "s", "markersize": 8}, "flip: the period doubles"),
    "branching": ({"marker": "D", "markersize": 8}, "branches cross"),
}
SWEEPS: dict[str, tuple[dict[str, Any], str]] = {
    "sweep_up": ({"marker": 5, "color": style.COLOURS[1]}, "slowly upwards"),
    "sweep_down": ({"marker": 4, "color": style.COLOURS[3]}, "slowly downwards"),
}
BACKBONE: dict[str, Any] = {
    "color": style.FAINT,
    "linestyle": (0, (8, 2, 1.5, 2)),
    "linewidth": 1.8,
}
ENDS = {
    BranchEnd.CAPSIZE: ("X", "X: the response reaches the capsize angle and ends."),
    BranchEnd.STEP_TOO_SMALL: ("P", "Plus: the response could not be followed further."),
    BranchEnd.TOO_MANY_POINTS: ("P", "Plus: the response could not be followed further."),
}
ISLAND: dict[str, Any] = {"linestyle": "", "marker": "o", "markersize": 4.5, "zorder": 3}
HEEL_TOLD = 0.2
"""Means [degree] from which a panel shows them."""


@style.styled
def response_figure(ds: xr.Dataset) -> Figure:
    """The curves of up to four cases, a panel each; their means where she heels."""
    chosen = list(range(min(ds.sizes["case"], MOST)))
    across = 1 if len(chosen) == 1 else 2
    down = -(-len(chosen) // across)
    heeled = len(chosen) == 1 and _heeled(ds, 0)
    handles = _legend(ds, chosen)
    strip = style.strip_height(handles)
    figure = style.new_figure(
        cases.title(ds),
        f"steady responses over the {responses.key_words(ds)}",
        notes=_notes(ds, len(chosen)),
        loll=cases.has_loll(ds, chosen),
        height=style.HEIGHT + strip + (2.4 if heeled else 0.0) + 3.0 * (down - 1),
    )
    rows = down + (1 if heeled else 0)
    room = figure.get_figheight() - 2.0 - strip
    heights = [room / down] * down if not heeled else [0.7 * room, 0.3 * room]
    grid = GridSpec(rows + 1, across, figure, height_ratios=[*heights, strip])
    for i, case in enumerate(chosen):
        axes = style.panel(figure, grid[i // across, i % across])
        _draw(axes, ds, case)
        if len(chosen) > 1:
            text = style.literal(cases.case_label(ds, case, chosen), 44)
            axes.set_title(text, loc="left", fontsize=style.TICK)
        if not heeled:
            axes.set_xlabel(responses.key_label(ds))
    if heeled:
        below = style.panel(figure, grid[1, 0])
        _draw_means(below, ds, 0)
        below.set_xlim(axes.get_xlim())
        axes.tick_params(labelbottom=False)
        below.set_xlabel(responses.key_label(ds))
    style.legend_strip(figure, grid[rows, :], handles)
    return figure


def _heeled(ds: xr.Dataset, case: int) -> bool:
    return any(bool(np.any(np.abs(c.mean) > HEEL_TOLD)) for c in responses.curves(ds, case))


def _notes(ds: xr.Dataset, shown: int) -> list[str]:
    notes = [
        "Amplitude: half of greatest less least roll over the period of the response. Slow sweeps: "
        "the ship goes on from each value to the next, over many waves, with a nudge of 0.1°."
    ]
    ends = {end for case in range(shown) for c in responses.curves(ds, case) for end in c.ends}
    notes += dict.fromkeys(words for end, (_, words) in ENDS.items() if end in ends)
    if left := sum(responses.not_followed(ds, case) for case in range(shown)):
        more = f"{left} more flips, crossings, states or ways from calm water"
        notes.append(f"From {more} no branch was followed.")
    if shown < ds.sizes["case"]:
        notes.append(f"Shown: the first {shown} of {ds.sizes['case']} cases.")
    return [" ".join(notes)]


def _ratios(ds: xr.Dataset, chosen: list[int]) -> list[int]:
    return sorted({c.ratio for case in chosen for c in responses.curves(ds, case)})


def _colour(ratio: int, ratios: list[int]) -> str:
    colours = (style.COLOURS[0], style.COLOURS[2], style.COLOURS[5], style.COLOURS[4])
    return colours[ratios.index(ratio) % len(colours)]


def _pieces(curve: Curve) -> list[tuple[slice, bool]]:
    """Runs of points of one stability; neighbours share the point between them."""
    turns = np.flatnonzero(np.diff(curve.stable.astype(int))) + 1
    borders = [0, *turns.tolist(), curve.stable.size]
    return [
        (slice(a, min(b + 1, curve.stable.size)), bool(curve.stable[a]))
        for a, b in pairwise(borders)
    ]


def _line(axes: Axes, curve: Curve, y: NDArray[np.float64], colour: str) -> None:
    for part, stable in _pieces(curve):
        axes.plot(
            curve.value[part], y[part], color=colour, zorder=3,
            linestyle="-" if stable else UNSTABLE, linewidth=2.4 if stable else 1.7,
        )  # fmt: skip


def _draw(axes: Axes, ds: xr.Dataset, case: int) -> None:
    every = _ratios(ds, list(range(ds.sizes["case"])))
    for ratio in (1, 2):
        if ratio in every:
            for value, size in responses.backbones(ds, case, ratio):
                axes.plot(value, size, **BACKBONE, zorder=1)
    for name, (look, _) in SWEEPS.items():
        axes.plot(
            ds["sweep_value"].values, ds[name].values[case], linestyle="-", linewidth=0.7,
            markersize=4.5, alpha=0.9, zorder=2, **look,
        )  # fmt: skip
    top = 0.0
    for curve in responses.curves(ds, case):
        _line(axes, curve, curve.amplitude, _colour(curve.ratio, every))
        if curve.island:
            axes.plot(curve.value, curve.amplitude, color=_colour(curve.ratio, every), **ISLAND)
        top = max(top, float(curve.amplitude.max()))
        for end, why in zip((0, -1), curve.ends, strict=True):
            if why in ENDS:
                axes.plot(
                    curve.value[end], curve.amplitude[end], marker=ENDS[BranchEnd(why)][0],
                    markersize=11, color=style.INK, zorder=5,
                )  # fmt: skip
    for kind, (look, _) in MARKS.items():
        points = responses.specials(ds, case, kind)
        if points:
            axes.plot(
                *zip(*points, strict=True), linestyle="", markerfacecolor="white",
                markeredgecolor=style.INK, markeredgewidth=1.6, zorder=4, clip_on=False, **look,
            )  # fmt: skip
    seen = [ds[name].values[case] for name in SWEEPS]
    top = max(top, *(float(np.fmax.reduce(values, initial=0.0)) for values in seen))
    axes.set_ylim(0.0, 1.08 * top if top > 0.0 else 1.0)
    span = ds["sweep_value"].values
    axes.set_xlim(float(span[0]), float(span[-1]))
    axes.set_ylabel("roll amplitude [°]")


def _draw_means(axes: Axes, ds: xr.Dataset, case: int) -> None:
    every = _ratios(ds, list(range(ds.sizes["case"])))
    style.zero_line(axes)
    for curve in responses.curves(ds, case):
        _line(axes, curve, curve.mean, _colour(curve.ratio, every))
    axes.set_ylabel("mean roll [°]")


def _legend(ds: xr.Dataset, chosen: list[int]) -> list[Artist]:
    ratios = _ratios(ds, list(range(ds.sizes["case"])))
    handles: list[Artist] = []
    for ratio in ratios:
        words = "once a wave" if ratio == 1 else f"once in {ratio} waves"
        handles.append(Line2D([], [], color=_colour(ratio, ratios), label=f"stable, {words}"))
    handles.append(
        Line2D([], [], color=style.INK, linestyle=UNSTABLE, linewidth=1.7, label="unstable")
    )
    if any(c.island for case in chosen for c in responses.curves(ds, case)):
        words = "island: none leads to it from calm water"
        handles.append(Line2D([], [], color=style.INK, label=words, **ISLAND))
    for kind, (look, words) in MARKS.items():
        if any(responses.specials(ds, case, kind) for case in chosen):
            handles.append(
                Line2D([], [], linestyle="", markerfacecolor="white", markeredgecolor=style.INK,
                       markeredgewidth=1.6, label=words, **look)
            )  # fmt: skip
    if any(responses.backbones(ds, case, r) for case in chosen for r in (1, 2) if r in ratios):
        handles.append(Line2D([], [], **BACKBONE, label="backbone: free undamped roll"))
    for look, words in SWEEPS.values():
        handles.append(Line2D([], [], linewidth=0.7, markersize=6, label=words, **look))
    return handles
