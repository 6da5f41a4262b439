"""Heels of rest over a key: the map of loll, and the line of folds over a second key."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.gridspec import GridSpec
from matplotlib.lines import Line2D

from rollsim.map_names import BranchEnd
from rollsim.show import style
from rollsim.show.query import cases
from rollsim.show.query import equilibria as query

if TYPE_CHECKING:
    import xarray as xr

MOST = 4
"""Cases drawn, a panel each."""
UNSTABLE = (0, (3, 1.6))
MARKS: dict[str, tuple[dict[str, Any], str]] = {
    "fold": ({"marker": "^", "markersize": 9}, "fold: two equilibria meet and end"),
    "branching": ({"marker": "D", "markersize": 8}, "branches cross"),
}
ENDS: dict[BranchEnd, str] = {
    BranchEnd.LEVERS: "|",
    BranchEnd.STEP_TOO_SMALL: "P",
    BranchEnd.TOO_MANY_POINTS: "P",
}
NOW: dict[str, Any] = {"marker": "*", "markersize": 15, "markeredgecolor": style.INK}
THERE: dict[str, Any] = {"color": style.COLOURS[1], "linewidth": 1.3}
BACK: dict[str, Any] = {"color": style.COLOURS[3], "linewidth": 1.3, "linestyle": (0, (5, 1))}


@style.styled
def equilibria_figure(ds: xr.Dataset) -> Figure:
    """The map of up to four cases; where a sweep gives a second key, the line of folds below."""
    chosen = list(range(min(ds.sizes["case"], MOST)))
    across = 1 if len(chosen) == 1 else 2
    down = -(-len(chosen) // across)
    axis = _second_key(ds)
    handles = _legend(ds, chosen)
    strip = style.strip_height(handles)
    figure = style.new_figure(
        cases.title(ds),
        f"every heel of rest over {query.key_label(ds)}",
        notes=_notes(ds, len(chosen)),
        loll=True,
        height=style.HEIGHT + strip + 3.0 * (down - 1) + (3.4 if axis else 0.0),
    )
    rows = down + (1 if axis else 0)
    room = figure.get_figheight() - 2.0 - strip
    grid = GridSpec(rows + 1, across, figure, height_ratios=[*[room / rows] * rows, strip])
    for i, case in enumerate(chosen):
        panel = style.panel(figure, grid[i // across, i % across])
        _draw(panel, ds, case)
        if len(chosen) > 1:
            text = style.literal(cases.case_label(ds, case, chosen), 44)
            panel.set_title(text, loc="left", fontsize=style.TICK)
    if axis:
        _draw_folds(style.panel(figure, grid[down, :]), ds, axis)
    style.legend_strip(figure, grid[rows, :], handles)
    return figure


def _second_key(ds: xr.Dataset) -> str:
    """The one sweep axis of numbers over which folds make a line, or nothing."""
    axes = [a for a in cases.sweep_axes(ds) if ds[a].dtype.kind == "f"]
    several = len(axes) == 1 and np.unique(ds[axes[0]].values).size > 2
    folds = np.isfinite(ds["fold_value"].values).any()
    return axes[0] if several and folds else ""


def _notes(ds: xr.Dataset, shown: int) -> list[str]:
    notes = [
        "At rest in calm water under the mean wind and with all events complete; waves, gusts and "
        "turbulence are left out."
    ]
    if any(query.tracks(ds, case) for case in range(shown)):
        notes.append(
            "Slow change: half an hour there and half an hour back with her own damping, from the "
            "rests at the last value; a lever of 0.1 mm keeps her off a crest."
        )
    early = {e[2] for case in range(shown) for b in query.branches(ds, case) for e in b.early_ends}
    if BranchEnd.LEVERS in early:
        notes.append("Stroke at an end: the levers end.")
    if early - {BranchEnd.LEVERS}:
        notes.append("Plus: the branch could not be followed further.")
    if shown < ds.sizes["case"]:
        notes.append(f"Shown: the first {shown} of {ds.sizes['case']} cases.")
    return [" ".join(notes)]


def _draw(axes: Axes, ds: xr.Dataset, case: int) -> None:
    style.zero_line(axes)
    for branch in query.branches(ds, case):
        for part, stable in branch.pieces:
            axes.plot(
                branch.value[part], branch.heel[part], color=style.COLOURS[0], zorder=3,
                linestyle="-" if stable else UNSTABLE, linewidth=2.6 if stable else 1.7,
            )  # fmt: skip
        for *place, why in branch.early_ends:
            axes.plot(*place, marker=ENDS[why], markersize=11, color=style.INK, zorder=5)
    for value, heel in query.tracks(ds, case):
        turn = int(np.argmin(value)) + 1
        for part, look in ((slice(0, turn), THERE), (slice(turn - 1, None), BACK)):
            axes.plot(value[part], heel[part], zorder=4, **look)
            _arrow(axes, value[part], heel[part], look["color"])
    for kind, (look, _) in MARKS.items():
        points = query.meetings(ds, case, kind)
        if points:
            axes.plot(*zip(*points, strict=True), **_hollow(look))
    low, high = np.nanmin(ds["value"].values), np.nanmax(ds["value"].values)
    now = query.present(ds, case)
    if now is not None and low <= now[0] <= high:
        axes.plot(*now, linestyle="", color=style.COLOURS[2], zorder=6, **NOW)
    axes.set_xlim(low, high)
    axes.set_xlabel(query.key_label(ds))
    axes.set_ylabel("heel, + to starboard [°]")


def _arrow(axes: Axes, value: Any, heel: Any, colour: str) -> None:
    """An arrow in the middle of a way, that says which way it goes."""
    known = np.flatnonzero(np.isfinite(heel))
    if known.size < 8:
        return
    at = known[known.size // 2]
    axes.annotate(
        "",
        xy=(value[at + 3], heel[at + 3]),
        xytext=(value[at - 3], heel[at - 3]),
        arrowprops={"arrowstyle": "-|>", "color": colour, "linewidth": 1.1},
        zorder=4,
    )


def _hollow(look: dict[str, Any]) -> dict[str, Any]:
    hollow = {"linestyle": "", "markerfacecolor": "white", "markeredgecolor": style.INK}
    return look | hollow | {"markeredgewidth": 1.6, "zorder": 5}


def _draw_folds(axes: Axes, ds: xr.Dataset, axis: str) -> None:
    """The values of the key at which equilibria meet, over the second key."""
    second = ds[axis].values
    names = cases.conditions(ds)
    for i, name in enumerate(dict.fromkeys(names)):
        own = [case for case, other in enumerate(names) if other == name]
        look = style.cue(i) | {"marker": "", "linewidth": 1.6}
        for x, value in query.fold_lines(ds, own, axis):
            axes.plot(x, value, **look)
        axes.plot([], [], label=style.literal(name, 30), **look)
        for kind, (mark, _) in MARKS.items():
            points = [
                (float(second[case]), value)
                for case in own
                for value, _ in query.meetings(ds, case, kind)
            ]
            if points:
                axes.plot(*zip(*points, strict=True), **_hollow(mark))
    axes.set_xlabel(style.literal(cases.axis_label(ds, axis), 60))
    axes.set_ylabel(query.key_label(ds))
    axes.set_title("where rests meet and end", loc="left", fontsize=style.TICK)
    if len(set(names)) > 1:
        axes.legend(fontsize=style.TICK)


def _legend(ds: xr.Dataset, chosen: list[int]) -> list[Artist]:
    blue = style.COLOURS[0]
    handles: list[Artist] = [
        Line2D([], [], color=blue, linewidth=2.6, label="stable"),
        Line2D([], [], color=blue, linestyle=UNSTABLE, linewidth=1.7, label="unstable"),
    ]
    for kind, (look, words) in MARKS.items():
        if any(query.meetings(ds, case, kind) for case in chosen):
            handles.append(Line2D([], [], label=words, **_hollow(look)))
    if any(query.tracks(ds, case) for case in chosen):
        handles += [
            Line2D([], [], label="slowly to the first value", **THERE),
            Line2D([], [], label="and back again", **BACK),
        ]
    if any(query.present(ds, case) for case in chosen):
        star: dict[str, Any] = NOW | {"markersize": 12}
        handles.append(
            Line2D([], [], linestyle="", color=style.COLOURS[2], label="as she is", **star)
        )
    return handles
