"""One storm, all loadings: their rolls on top of each other, and the waves that drove them."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.gridspec import GridSpec
from matplotlib.lines import Line2D
from numpy.typing import NDArray

from rollsim.measures.outcome import capsized, severity
from rollsim.show import style
from rollsim.show.figures.acts import act_handles, draw_acts, within
from rollsim.show.figures.causes import LABELS
from rollsim.show.query import cases
from rollsim.show.query.lineup import Group, Loading
from rollsim.show.query.runs import history, outcome_text, thinned

if TYPE_CHECKING:
    import xarray as xr

BEFORE, AFTER = 200.0, 100.0
"""The time [s] that is shown around the worst moment of a storm."""

Floats = NDArray[np.float64]


class LoadingRoll(NamedTuple):
    """The roll of one loading in the storm: its position in the group, time [s], angle [degree]."""

    position: int
    loading: Loading
    t: Floats
    roll: Floats


@style.styled
def storm_figure(group: Group, realisation: int, title: str = "") -> Figure | None:
    """Roll of all loadings in one storm around its worst moment; None without any history."""
    tracks = _tracks(group, realisation)
    if not tracks:
        return None
    window = _window(tracks, realisation)
    limits = _limits(tracks)
    blown = _in_common(tracks, window)
    handles: list[Artist] = [*_legend(tracks, realisation, limits)]
    for handle in act_handles(*blown, window) if blown else ():
        handle.set_label(str(handle.get_label()).replace("\n", ", "))
        handles.append(handle)
    strip = style.strip_height(handles)
    figure = style.new_figure(
        title,
        f"realisation {realisation}, {group.circumstances}",
        notes=_notes(group, tracks, window),
        loll=any(cases.has_loll(track.loading.ds, [track.loading.case]) for track in tracks),
        height=style.HEIGHT + strip - 0.6,
    )
    grid = GridSpec(3, 1, figure, height_ratios=[3.4, 1.5, strip])
    roll = style.panel(figure, grid[0, 0])
    cause = style.panel(figure, grid[1, 0], sharex=roll)
    for track in tracks:
        _draw_roll(roll, track, realisation, window)
    _draw_limits(roll, limits)
    if blown:
        draw_acts(roll, *blown, window)
    _draw_cause(cause, tracks, realisation, window)
    roll.set_xlim(window)
    roll.tick_params(labelbottom=False)
    style.legend_strip(figure, grid[2, 0], handles)
    return figure


def _tracks(group: Group, realisation: int) -> list[LoadingRoll]:
    tracks = []
    for i, loading in enumerate(group.loadings[: style.LINES]):
        roll = history(loading.ds, "roll_angle", loading.case, realisation)
        if roll is not None:
            t = np.asarray(loading.ds["t"].values, dtype=float)
            tracks.append(LoadingRoll(i, loading, t, roll))
    return tracks


def _in_common(
    tracks: list[LoadingRoll], window: tuple[float, float]
) -> tuple[xr.Dataset, int] | None:
    """The result and case whose acts all loadings share; None where they differ."""
    every = [(track.loading.ds, track.loading.case) for track in tracks]
    first = within(*every[0], window)
    return every[0] if all(within(*one, window) == first for one in every) else None


def _window(tracks: list[LoadingRoll], realisation: int) -> tuple[float, float]:
    """The time [s] to show: around the first capsize, else failure, else greatest roll."""
    end = max(float(track.t[-1]) for track in tracks)
    moment = _worst_moment(tracks, realisation)
    start = max(0.0, min(moment - BEFORE, end - BEFORE - AFTER))
    return start, min(end, start + BEFORE + AFTER)


def _worst_moment(tracks: list[LoadingRoll], realisation: int) -> float:
    """The time [s] of what was worst in the storm: a capsize, else a failure, else a roll."""
    names = ("outcome", "failure_time", "end_time")
    outcome, failure, end = (
        np.array([_number(track, name, realisation) for track in tracks]) for name in names
    )
    roll = np.array([float(np.nanmax(np.abs(track.roll))) for track in tracks])
    order = severity(outcome, failure, end, roll)
    worst = int(order[0]) if order.size else int(np.argmax(roll))
    times = np.where(capsized(outcome), end, failure)
    if np.isfinite(times[worst]):
        return float(times[worst])
    return float(tracks[worst].t[int(np.nanargmax(np.abs(tracks[worst].roll)))])


def _number(track: LoadingRoll, name: str, realisation: int) -> float:
    loading = track.loading
    return cases.number(loading.ds, name, case=loading.case, realisation=realisation)


def _notes(group: Group, tracks: list[LoadingRoll], window: tuple[float, float]) -> list[str]:
    whole = float(tracks[0].t[-1])
    notes = [
        "X: capsized, the run ends. Circle: the first limit passed, the run goes on. Flooding "
        "and capsize count by the heel relative to the wave slope, where the waves act so."
    ]
    if window != (0.0, whole):
        notes.append(
            f"Shown: {window[0]:.4g} to {window[1]:.4g} s of 0 to {whole:.6g} s, around the first "
            "capsize, else the first failure, else the greatest roll."
        )
    if len(tracks) < len(group.loadings):
        notes.append(
            f"Shown: {len(tracks)} of {len(group.loadings)} loadings, at most {style.LINES}, "
            "as far as their histories are kept."
        )
    return [" ".join(notes)]


def _draw_roll(
    axes: Axes, track: LoadingRoll, realisation: int, window: tuple[float, float]
) -> None:
    cue = style.cue(track.position)
    seen = (track.t >= window[0]) & (track.t <= window[1])
    axes.plot(*thinned(track.t[seen], track.roll[seen]), **cue, linewidth=1.8)
    ds, where = track.loading.ds, {"case": track.loading.case, "realisation": realisation}
    known = np.isfinite(track.roll)
    for name, marker in (("failure_time", "o"), ("end_time", "X")):
        time = cases.number(ds, name, **where)
        over = bool(capsized(cases.number(ds, "outcome", **where)))
        if np.isfinite(time) and (over or name == "failure_time"):
            height = np.interp(time, track.t[known], track.roll[known])
            axes.plot(
                time, height, marker=marker, markersize=10, color=cue["color"],
                markeredgecolor=style.INK, linestyle="", zorder=5,
            )  # fmt: skip
    axes.set_ylabel("roll angle,\nstarboard down [°]")


def _limits(tracks: list[LoadingRoll]) -> list[tuple[str, float]]:
    """The limits [degree], with their sides, that the rolls come near; far ones flatten them."""
    low = min(float(np.nanmin(track.roll)) for track in tracks)
    high = max(float(np.nanmax(track.roll)) for track in tracks)
    limits = {
        item
        for track in tracks
        for item in cases.limits(track.loading.ds, track.loading.case).items()
    }
    both = [(name, side * angle) for name, angle in limits for side in (-1.0, 1.0)]
    return sorted(x for x in both if 1.5 * min(low, -1.0) < x[1] < 1.5 * max(high, 1.0))


def _draw_limits(axes: Axes, limits: list[tuple[str, float]]) -> None:
    style.zero_line(axes)
    for name, angle in limits:
        axes.axhline(angle, color=style.FAINT, linestyle=style.LIMIT_DASHES[name], linewidth=1.6)


def _draw_cause(
    axes: Axes, tracks: list[LoadingRoll], realisation: int, window: tuple[float, float]
) -> None:
    """The waves, which all have met; in calm water every loading's heeling lever."""
    style.zero_line(axes)
    curves = [_history(track, "wave_slope", realisation) for track in tracks[:1]]
    name = "wave_slope"
    if not np.nan_to_num(curves[0]).any():
        name = "heeling_lever"
        curves = [_history(track, name, realisation) for track in tracks]
    for track, curve in zip(tracks, curves, strict=False):
        seen = (track.t >= window[0]) & (track.t <= window[1])
        look = {"color": style.INK} if name == "wave_slope" else style.cue(track.position)
        axes.plot(*thinned(track.t[seen], curve[seen]), **look | {"linewidth": 1.2})
    axes.set_ylabel(LABELS[name])
    axes.set_xlabel(style.axis_text("t"))


def _history(track: LoadingRoll, name: str, realisation: int) -> Floats:
    """A history of a loading; missing throughout where the result does not hold it."""
    stored = history(track.loading.ds, name, track.loading.case, realisation)
    return np.full(track.t.size, np.nan) if stored is None else stored


def _legend(
    tracks: list[LoadingRoll], realisation: int, limits: list[tuple[str, float]]
) -> list[Line2D]:
    """The loadings with what became of them, and the limits."""
    handles = []
    for track in tracks:
        ended = outcome_text(track.loading.ds, track.loading.case, realisation)
        words = f"{style.literal(track.loading.name, 44)}: {ended}"
        handles.append(Line2D([], [], **style.cue(track.position), label=words))
    for name in dict.fromkeys(name for name, _ in limits):
        angles = ", ".join(f"{angle:g}°" for other, angle in limits if other == name)
        line = Line2D([], [], color=style.FAINT, linestyle=style.LIMIT_DASHES[name])
        line.set_label(f"{cases.LIMITS[name]} {angles}")
        handles.append(line)
    return handles
