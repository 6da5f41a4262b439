"""One storm, all loadings: their rolls on top of each other, and the waves that drove them."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.gridspec import GridSpec
from matplotlib.lines import Line2D
from numpy.typing import NDArray

from rollsim.names import Outcome
from rollsim.show import style
from rollsim.show.query import cases
from rollsim.show.query.lineup import Entry, Group
from rollsim.show.query.runs import history, thinned

BEFORE, AFTER = 200.0, 100.0
"""The time [s] that is shown around the worst moment of a storm."""

Floats = NDArray[np.float64]


class Track(NamedTuple):
    """The roll of one loading in the storm: its place in the group, time [s], angle [degree]."""

    place: int
    entry: Entry
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
    handles = _legend(tracks, realisation, limits)
    strip = style.strip_height(handles)
    figure = style.new_figure(
        title,
        f"realisation {realisation}, {group.circumstances}",
        notes=_notes(group, tracks, window),
        loll=any(cases.has_loll(track.entry.ds, [track.entry.case]) for track in tracks),
        height=style.HEIGHT + strip - 0.6,
    )
    grid = GridSpec(3, 1, figure, height_ratios=[3.4, 1.5, strip])
    roll = style.panel(figure, grid[0, 0])
    slope = style.panel(figure, grid[1, 0], sharex=roll)
    for track in tracks:
        _draw_roll(roll, track, realisation, window)
    _draw_limits(roll, limits)
    _draw_slope(slope, tracks[0], realisation, window)
    roll.set_xlim(window)
    roll.tick_params(labelbottom=False)
    style.legend_strip(figure, grid[2, 0], handles)
    return figure


def _tracks(group: Group, realisation: int) -> list[Track]:
    found = []
    for place, entry in enumerate(group.entries[: style.LINES]):
        roll = history(entry.ds, "roll_angle", entry.case, realisation)
        if roll is not None:
            found.append(Track(place, entry, np.asarray(entry.ds["t"].values, dtype=float), roll))
    return found


def _window(tracks: list[Track], realisation: int) -> tuple[float, float]:
    """The time [s] to show: around the first capsize, else failure, else greatest roll."""
    end = max(float(track.t[-1]) for track in tracks)
    moment = min(_moment(track, realisation) for track in tracks)[-1]
    start = max(0.0, min(moment - BEFORE, end - BEFORE - AFTER))
    return start, min(end, start + BEFORE + AFTER)


def _moment(track: Track, realisation: int) -> tuple[int, float, float]:
    """How bad the worst moment of a loading is, the worst first, and its time [s]."""
    ds, where = track.entry.ds, {"case": track.entry.case, "realisation": realisation}
    if cases.number(ds, "outcome", **where) == Outcome.CAPSIZED:
        time = cases.number(ds, "end_time", **where)
        return 0, time, time
    failure = cases.number(ds, "failure_time", **where)
    if np.isfinite(failure):
        return 1, failure, failure
    at = int(np.nanargmax(np.abs(track.roll)))
    return 2, -abs(float(track.roll[at])), float(track.t[at])


def _notes(group: Group, tracks: list[Track], window: tuple[float, float]) -> list[str]:
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
    if len(tracks) < len(group.entries):
        notes.append(
            f"Shown: {len(tracks)} of {len(group.entries)} loadings, at most {style.LINES}, as far "
            "as their histories are kept."
        )
    return [" ".join(notes)]


def _draw_roll(axes: Axes, track: Track, realisation: int, window: tuple[float, float]) -> None:
    cue = style.cue(track.place)
    seen = (track.t >= window[0]) & (track.t <= window[1])
    axes.plot(*thinned(track.t[seen], track.roll[seen]), **cue, linewidth=1.8)
    ds, where = track.entry.ds, {"case": track.entry.case, "realisation": realisation}
    known = np.isfinite(track.roll)
    for name, marker in (("failure_time", "o"), ("end_time", "X")):
        time = cases.number(ds, name, **where)
        capsized = cases.number(ds, "outcome", **where) == Outcome.CAPSIZED
        if np.isfinite(time) and (capsized or name == "failure_time"):
            height = np.interp(time, track.t[known], track.roll[known])
            axes.plot(
                time, height, marker=marker, markersize=10, color=cue["color"],
                markeredgecolor=style.INK, linestyle="", zorder=5,
            )  # fmt: skip
    axes.set_ylabel("roll angle,\nstarboard down [°]")


def _limits(tracks: list[Track]) -> list[tuple[str, float]]:
    """The limits [degree], with their sides, that the rolls come near; far ones flatten them."""
    low = min(float(np.nanmin(track.roll)) for track in tracks)
    high = max(float(np.nanmax(track.roll)) for track in tracks)
    held = {x for track in tracks for x in cases.limits(track.entry.ds, track.entry.case).items()}
    both = [(name, side * angle) for name, angle in held for side in (-1.0, 1.0)]
    return sorted(x for x in both if 1.5 * min(low, -1.0) < x[1] < 1.5 * max(high, 1.0))


def _draw_limits(axes: Axes, limits: list[tuple[str, float]]) -> None:
    style.zero_line(axes)
    for name, angle in limits:
        axes.axhline(angle, color=style.FAINT, linestyle=style.LIMIT_DASHES[name], linewidth=1.6)


def _draw_slope(axes: Axes, track: Track, realisation: int, window: tuple[float, float]) -> None:
    style.zero_line(axes)
    slope = history(track.entry.ds, "wave_slope", track.entry.case, realisation)
    if slope is not None:
        seen = (track.t >= window[0]) & (track.t <= window[1])
        axes.plot(*thinned(track.t[seen], slope[seen]), color=style.INK, linewidth=1.2)
    axes.set_ylabel("wave slope\n[°]")
    axes.set_xlabel(style.axis_text("t"))


def _legend(tracks: list[Track], realisation: int, limits: list[tuple[str, float]]) -> list[Line2D]:
    """The loadings with what became of them, and the limits."""
    handles = []
    for track in tracks:
        ended = cases.outcome_text(track.entry.ds, track.entry.case, realisation)
        words = f"{style.literal(track.entry.loading, 44)}: {ended}"
        handles.append(Line2D([], [], **style.cue(track.place), label=words))
    for name in dict.fromkeys(name for name, _ in limits):
        said = ", ".join(f"{angle:g}°" for other, angle in limits if other == name)
        line = Line2D([], [], color=style.FAINT, linestyle=style.LIMIT_DASHES[name])
        line.set_label(f"{cases.LIMITS[name]} {said}")
        handles.append(line)
    return handles
