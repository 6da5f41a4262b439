"""Margins over one sweep axis, or over the conditions: one line a condition."""

from __future__ import annotations

import math
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

from rollsim.measures.outcome import Event, capsized, solved
from rollsim.show import style
from rollsim.show.query import cases, severity
from rollsim.show.query.runs import without_result

if TYPE_CHECKING:
    import xarray as xr


NO_RESULT: dict[str, Any] = {
    "marker": "x", "markersize": 9, "markeredgewidth": 2.2, "linestyle": "none",
}  # fmt: skip
"""How a case without any result is marked."""
OVER: dict[str, Any] = NO_RESULT | {"marker": "^", "markeredgewidth": 1.0}
"""How a case is marked of which every run capsized before its extremes count."""
OVER_PANEL = 1.05
"""Height at which the marks of cases without a result begin, as a share of the panel's."""
UPRIGHT = 6
"""Of more words on an axis each one is turned."""


@dataclass(frozen=True)
class Line:
    """The cases of one line, where they stand on the axis, and how the line is called."""

    name: str
    cases: list[int]
    x: NDArray[np.float64]
    joined: bool

    def cue(self, index: int) -> dict[str, Any]:
        """How it is drawn: points that have no order are not joined."""
        return style.cue(index) | ({} if self.joined else {"linestyle": "none"})


@style.styled
def draw(ds: xr.Dataset, axis: str, event: Event) -> Figure:
    """Severity factor or energy margin, roll extremes and, where something is random, chances."""
    lines, ticks = _lines(ds, axis)
    shown = lines[: style.LINES]
    random = cases.random(ds)
    missing = [case for line in shown for case in line.cases if without_result(ds, case)]
    over = [case for line in shown for case in line.cases if _over_at_once(ds, case)]
    handles = _legend(ds, shown, missing, over)
    strip = style.strip_height(handles)
    figure = style.new_figure(
        cases.title(ds),
        "margins over the study",
        notes=_notes(ds, len(shown), len(lines), random, cases.limits_text(ds, event)),
        loll=cases.has_loll(ds, range(ds.sizes["case"])),
        height=style.HEIGHT + (1.4 if random else 0.0) + strip,
    )
    names = _chances(ds, event) if random else []
    rows = 1 + -(-len(names) // 2)
    height = (figure.get_figheight() - 2.0 - strip) / rows
    grid = GridSpec(rows + 1, 2, figure, height_ratios=[height] * rows + [strip])
    panels = [style.panel(figure, grid[i // 2, i % 2]) for i in range(2 + len(names))]
    (_draw_severity if severity.asked(ds) else _draw_margin)(panels[0], ds, shown)
    _draw_extremes(panels[1], ds, shown)
    for axes, name in zip(panels[2:], names, strict=True):
        _draw_chance(axes, ds, shown, name)
    _mark(panels[1], shown, over, 0.96, OVER)
    ends = [float(pick(line.x)) for line in shown for pick in (np.min, np.max)]
    for axes in panels:
        if missing:
            _mark(axes, shown, missing, OVER_PANEL, NO_RESULT)
            title = axes.get_title(loc="left")
            axes.set_title(title, loc="left", fontsize=style.TEXT, pad=8.0 + 12.0 * len(shown))
        # A gap at an end is seen only where the axis goes that far.
        axes.update_datalim([(x, 0.0) for x in ends], updatey=False)
        _label_axis(axes, ds, axis, ticks)
    style.legend_strip(figure, grid[rows, :], handles)
    return figure


def _chances(ds: xr.Dataset, event: Event) -> list[str]:
    """What is drawn of chance: both probabilities, or of a capsize alone what there is."""
    names = ["capsize_probability", "failure_probability" if event == "failure" else "capsize_rate"]
    return [name for name in names if name in ds.variables]


def _lines(ds: xr.Dataset, axis: str) -> tuple[list[Line], list[str]]:
    """The lines, and the words at 0, 1, 2, ... where the axis holds words."""
    names = cases.conditions(ds)
    if axis == "condition":
        every = list(range(len(names)))
        return [Line("all conditions", every, np.array(every, dtype=float), joined=False)], names
    column = ds[axis].values
    words = [] if np.issubdtype(column.dtype, np.number) else list(dict.fromkeys(map(str, column)))
    x = np.array([words.index(str(v)) for v in column]) if words else column
    lines = []
    for name in dict.fromkeys(names):
        own = [i for i, other in enumerate(names) if other == name]
        own.sort(key=lambda i: float(x[i]))
        lines.append(Line(name, own, np.asarray(x[own], dtype=float), joined=not words))
    return lines, words


def _over_at_once(ds: xr.Dataset, case: int) -> bool:
    """Whether all runs of a case capsized before their extremes count."""
    outcome = cases.values(ds, "outcome", case=case)
    rolls = cases.values(ds, "roll_max", case=case)
    return bool(capsized(outcome).any() and not np.isfinite(rolls[solved(outcome)]).any())


def _notes(ds: xr.Dataset, shown: int, count: int, random: bool, limits: str) -> list[str]:
    asked = severity.asked(ds)
    energy = (
        "Energy margin: 1 at rest, 0 at the barrier, negative where the motion relative to the "
        "water had energy enough to go over."
    )
    notes = [asked.meaning if asked else energy]
    if random:
        notes.append(f"Probabilities are for one run; bars: exact 95 % limits. Limits: {limits}.")
    if shown < count:
        notes.append(f"Shown: the first {shown} of {count} conditions.")
    return [" ".join(notes)]


def _legend(
    ds: xr.Dataset, lines: Sequence[Line], missing: Sequence[int], over: Sequence[int]
) -> list[Artist]:
    named = [
        Line2D([], [], **style.cue(i), marker=style.MARKERS[i], label=style.literal(line.name, 40))
        for i, line in enumerate(lines)
    ]
    several = ds.sizes["realisation"] > 1
    median = Line2D([], [], color=style.INK, marker="o", label="median of the runs")
    least = Line2D(
        [],
        [],
        color=style.INK,
        linewidth=1.0,
        marker="o",
        markerfacecolor="white",
        label="least margin, extremes of all runs",
    )
    handles: list[Artist] = [
        *(named if len(lines) > 1 else []),
        *([median] if several else []),
        least,
    ]
    if missing:
        words = " or ".join(dict.fromkeys(without_result(ds, case) for case in missing))
        handles.append(
            Line2D([], [], color=style.INK, **NO_RESULT, label=f"over a panel: no result, {words}")
        )
    if over:
        words = "capsized before settle_s, every run"
        handles.append(Line2D([], [], color=style.INK, **OVER, label=words))
    return handles


def _mark(
    axes: Axes, lines: Sequence[Line], which: Sequence[int], first: float, look: dict[str, Any]
) -> None:
    """A mark for cases of the lines that have no number: over the panel, where no height is read,
    or at its upper edge for what is more than it shows.

    `first` is the height of the first line's marks as a share of the panel's.
    """
    edge = axes.get_xaxis_transform()
    for i, line in enumerate(lines):
        at = [x for x, case in zip(line.x, line.cases, strict=True) if case in which]
        height = first + (0.05 * i if first > 1.0 else -0.05 * i)
        colour = style.cue(i)["color"] if len(lines) > 1 else style.INK
        if at:
            axes.plot(
                at, [height] * len(at), color=colour, transform=edge, clip_on=first < 1.0, **look
            )


def _draw_margin(axes: Axes, ds: xr.Dataset, lines: Sequence[Line]) -> None:
    axes.axhline(0.0, color=style.INK, linewidth=1.2)
    margin = cases.values(ds, "energy_margin")
    for i, line in enumerate(lines):
        least = np.fmin.reduce(margin[line.cases], axis=1)
        _plot(axes, line, least, i, hollow=True)
        if margin.shape[1] > 1:
            median = [_median(margin[case]) for case in line.cases]
            _plot(axes, line, np.array(median), i)
    axes.set_ylabel("energy margin\nagainst capsize [–]")
    axes.set_title("energy margin", loc="left")


def _draw_severity(axes: Axes, ds: xr.Dataset, lines: Sequence[Line]) -> None:
    """The median with its limits and the least factor, clipped to the range of the search."""
    asked = severity.asked(ds)
    assert asked is not None
    axes.axhline(1.0, color=style.INK, linewidth=1.2)
    for i, line in enumerate(lines):
        samples = [severity.sample(ds, case) for case in line.cases]
        least = [float(np.min(each)) if each.size else math.nan for each in samples]
        _plot(axes, line, np.clip(least, *asked.tried), i, hollow=True)
        if cases.random(ds):
            middle = np.clip([severity.middle(ds, case) for case in line.cases], *asked.tried)
            value, lower, upper = middle.T
            axes.vlines(line.x, lower, upper, color=style.cue(i)["color"], linewidth=1.4)
            _plot(axes, line, value, i)
    what = severity.WHAT.get(asked.on, asked.on)
    axes.set_ylabel(f"severity factor\non {what} [–]")
    axes.set_title("severity factor", loc="left")


def _median(values: NDArray[np.float64]) -> float:
    known = values[np.isfinite(values)]
    return float(np.median(known)) if known.size else float("nan")


def _plot(axes: Axes, line: Line, y: Any, i: int, *, hollow: bool = False) -> None:
    """A line with its marker: thin and hollow for extremes, full for the middle."""
    look: dict[str, Any] = {"linewidth": 1.0, "markerfacecolor": "white"} if hollow else {}
    axes.plot(line.x, y, **line.cue(i), marker=style.MARKERS[i], markersize=8, **look)


def _draw_extremes(axes: Axes, ds: xr.Dataset, lines: Sequence[Line]) -> None:
    style.zero_line(axes)
    for name, pick in (("roll_max", np.fmax), ("roll_min", np.fmin)):
        for i, line in enumerate(lines):
            extremes = pick.reduce(cases.values(ds, name)[line.cases], axis=1)
            _plot(axes, line, extremes, i, hollow=True)
    axes.set_ylabel("roll angle,\nstarboard down [°]")
    axes.set_title("greatest roll to either side", loc="left")


def _draw_chance(axes: Axes, ds: xr.Dataset, lines: Sequence[Line], name: str) -> None:
    p, low, high = cases.interval(ds, name)
    span = max(float(np.ptp(line.x)) for line in lines) or 1.0
    for i, line in enumerate(lines):
        # Beside each other, so that bars at the same value stay apart.
        x = line.x + (i - (len(lines) - 1) / 2) * 0.012 * span
        bars = np.abs(np.stack([p - low, high - p]))[:, line.cases]
        axes.errorbar(
            x,
            p[line.cases],
            yerr=bars,
            **line.cue(i),
            marker=style.MARKERS[i],
            markersize=8,
            capsize=5,
            elinewidth=1.4,
        )
    top = float(np.fmax.reduce(high, initial=0.05))
    rate = name.endswith("_rate")
    axes.set_ylim(-0.03 * top, 1.06 * top if rate else min(1.06 * top, 1.03))
    words = (
        "events per hour,\n95 % limits [1/h]"
        if rate
        else "probability in one run,\n95 % limits [–]"
    )
    axes.set_ylabel(words)
    axes.set_title(name.replace("_", " "), loc="left")


def _label_axis(axes: Axes, ds: xr.Dataset, axis: str, ticks: Sequence[str]) -> None:
    if ticks:
        turned = len(ticks) > UPRIGHT
        room = 18 if turned else 48 // len(ticks)
        lines = 1 if turned else 3
        names = [textwrap.fill(style.literal(name, lines * room), room) for name in ticks]
        axes.set_xticks(range(len(names)), names, fontsize=style.SMALL, rotation=90 * turned)
        axes.set_xlim(-0.5, len(names) - 0.5)
    else:
        axes.locator_params(axis="x", nbins=5)
    label = "condition" if axis == "condition" else style.literal(cases.axis_label(ds, axis), 60)
    axes.set_xlabel(label)
