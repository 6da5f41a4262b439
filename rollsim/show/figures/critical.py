"""Critical values over a sweep axis, a line a condition: a limiting curve; or over conditions."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.gridspec import GridSpec
from matplotlib.lines import Line2D
from numpy.typing import NDArray

from rollsim.show import style
from rollsim.show.figures.sweep_lines import NO_RESULT
from rollsim.show.query import cases, critical

if TYPE_CHECKING:
    import xarray as xr

Floats = NDArray[np.float64]

RING: dict[str, Any] = {
    "marker": "o", "markersize": 16, "fillstyle": "none", "linestyle": "none", "color": style.INK,
}  # fmt: skip
"""How a value is marked below which the event is likelier, among others above which it is."""
UPRIGHT = 6
"""Of more words on an axis each one is turned."""


@dataclass(frozen=True)
class Curve:
    """The cases of one line, where they stand along the axis, and how the line is called."""

    name: str
    cases: list[int]
    x: Floats


@style.styled
def critical_figure(ds: xr.Dataset) -> Figure:
    """The critical value of every case with its limits, and what the scenario itself gives."""
    axis = _axis(ds)
    curves, words = _over_axis(ds, axis) if axis else _over_cases(ds)
    shown = curves[: style.LINES]
    handles = _legend(ds, shown)
    strip = style.strip_height(handles)
    figure = style.new_figure(
        cases.title(ds),
        textwrap.fill(f"critical {critical.name(ds)}", 90),
        notes=_notes(ds, len(shown), len(curves)),
    )
    grid = GridSpec(2, 1, figure, height_ratios=[style.HEIGHT - 1.6 - strip, strip])
    axes = style.panel(figure, grid[0, 0])
    for i, curve in enumerate(shown):
        _draw(axes, ds, curve, i, joined=axis is not None, apart=len(shown))
    _mark_unanswered(axes, ds, shown)
    axes.set_ylabel(critical.label(ds))
    _label_axis(axes, ds, axis, words)
    style.legend_strip(figure, grid[1, 0], handles)
    return figure


def _axis(ds: xr.Dataset) -> str | None:
    """The first sweep axis of several numbers."""
    for axis in cases.sweep_axes(ds):
        values = ds[axis].values
        if np.issubdtype(values.dtype, np.number) and len(np.unique(values)) > 1:
            return axis
    return None


def _over_axis(ds: xr.Dataset, axis: str) -> tuple[list[Curve], list[str]]:
    """A line for each condition and each place on the other axes."""
    others = [
        other
        for other in cases.sweep_axes(ds)
        if other != axis and len({str(value) for value in ds[other].values}) > 1
    ]
    lines: dict[str, list[int]] = {}
    for case, condition in enumerate(cases.conditions(ds)):
        parts = [condition] if condition != cases.NO_CONDITION else []
        parts += [cases.position_text(ds, other, case) for other in others]
        lines.setdefault(", ".join(parts), []).append(case)
    curves = []
    for name, own in lines.items():
        own.sort(key=lambda case: float(ds[axis].values[case]))
        curves.append(Curve(name, own, np.asarray(ds[axis].values[own], dtype=float)))
    return curves, []


def _over_cases(ds: xr.Dataset) -> tuple[list[Curve], list[str]]:
    """All cases side by side, and their names."""
    every = list(range(ds.sizes["case"]))
    names = [cases.case_label(ds, case, every) for case in every]
    return [Curve("", every, np.array(every, dtype=float))], names


def _draw(axes: Axes, ds: xr.Dataset, curve: Curve, i: int, *, joined: bool, apart: int) -> None:
    value, lower, upper = cases.interval(ds, "critical_value")
    at, low, high = (each[curve.cases] for each in (value, lower, upper))
    # Beside each other, so that bars at the same place stay apart.
    span = float(np.ptp(curve.x)) or 1.0
    x = curve.x + (i - (apart - 1) / 2) * 0.006 * span
    look = style.cue(i) | ({} if joined else {"linestyle": "none"})
    falls = ds["critical_rises"].values[curve.cases] == 0
    mixed = len(critical.sides(ds)) > 1
    # No line joins a value above which the event is likelier to one below which it is.
    for which, line in ((~falls, look), (falls, look | ({"linestyle": "none"} if mixed else {}))):
        if which.any():
            axes.errorbar(
                x,
                np.where(which, at, np.nan),
                yerr=np.nan_to_num(np.stack([at - low, high - at])),
                **line,
                marker=style.MARKERS[i],
                markersize=8,
                capsize=5,
                elinewidth=1.6,
            )
    if mixed:
        axes.plot(x[falls], at[falls], **RING)
    own = ds["own_value"].values[curve.cases]
    axes.plot(
        curve.x, own, color=style.cue(i)["color"], marker=style.MARKERS[i], **_own_look(joined)
    )


def _own_look(joined: bool) -> dict[str, Any]:
    """How the scenario's own values are drawn: hollow, and thin where joined."""
    line = {"linewidth": 1.2, "linestyle": ":"} if joined else {"linestyle": "none"}
    return line | {"markerfacecolor": "white", "markersize": 6}


def _mark_unanswered(axes: Axes, ds: xr.Dataset, curves: Sequence[Curve]) -> None:
    """A cross over the panel, where no height is read, for a case that has no value."""
    answered = critical.answered(ds)
    for i, curve in enumerate(curves):
        x = [x for x, case in zip(curve.x, curve.cases, strict=True) if not answered[case]]
        if not x:
            continue
        height, colour = 1.04 + 0.05 * i, style.cue(i)["color"]
        axes.plot(
            x, [height] * len(x), color=colour, transform=axes.get_xaxis_transform(),
            clip_on=False, **NO_RESULT,
        )  # fmt: skip
    # A gap at an end is seen only where the axis goes that far.
    ends = [float(pick(curve.x)) for curve in curves for pick in (np.min, np.max)]
    axes.update_datalim([(x, 0.0) for x in ends], updatey=False)


def _legend(ds: xr.Dataset, curves: Sequence[Curve]) -> list[Artist]:
    joined = _axis(ds) is not None
    handles: list[Artist] = []
    for i, curve in enumerate(curves):
        name = style.literal(curve.name, 40) or f"critical {critical.name(ds)}"
        look = style.cue(i) | ({} if joined else {"linestyle": "none"})
        handles.append(Line2D([], [], **look, marker=style.MARKERS[i], label=name))
    if np.isfinite(ds["own_value"].values).any():
        words = f"{critical.name(ds)} in the scenario"
        handles.append(
            Line2D([], [], color=style.INK, **_own_look(joined), marker="o", label=words)
        )
    if len(critical.sides(ds)) > 1:
        handles.append(Line2D([], [], **RING, label="the event is likelier below, not above"))
    if not critical.answered(ds).all():
        words = "over the panel: no value, the table says why"
        handles.append(Line2D([], [], color=style.INK, **NO_RESULT, label=words))
    return handles


def _notes(ds: xr.Dataset, shown: int, count: int) -> list[str]:
    sentences = [f"Critical value: {critical.meaning(ds)}.", critical.side_meaning(ds)]
    notes = [" ".join(each for each in (*sentences, critical.limits_meaning(ds)) if each)]
    if any(str(note).find("not monotone") >= 0 for note in ds["note"].values):
        notes[0] += " Not monotone everywhere: the first passing is shown, the table names others."
    if shown < count:
        notes[0] += f" Shown: the first {shown} of {count} lines."
    return notes


def _label_axis(axes: Axes, ds: xr.Dataset, axis: str | None, words: Sequence[str]) -> None:
    if axis is not None:
        axes.set_xlabel(style.literal(cases.axis_label(ds, axis), 60))
        return
    turned = len(words) > UPRIGHT
    room = 18 if turned else 48 // len(words)
    lines = 1 if turned else 3
    names = [textwrap.fill(style.literal(name, lines * room), room) for name in words]
    axes.set_xticks(range(len(names)), names, fontsize=style.SMALL, rotation=90 * turned)
    axes.set_xlim(-0.5, len(names) - 0.5)
