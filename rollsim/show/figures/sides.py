"""Hopping between two lolls: changes of side, time and stays on each, over the first axis."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.gridspec import GridSpec
from matplotlib.lines import Line2D
from matplotlib.ticker import FuncFormatter, NullFormatter

from rollsim.errors import Fault, InputError
from rollsim.measures.rates import MeanTime, Rate
from rollsim.show import style
from rollsim.show.query import cases
from rollsim.show.query import sides as query

if TYPE_CHECKING:
    import xarray as xr

NOTE = "From settle_s to the end of the runs, with 95 % limits of a Poisson count."
STAYS = f" {query.STAYS} An arrow: no departure yet, the stay is longer than that."
OPEN: Any = {"marker": r"$\uparrow$", "markersize": 12}
"""The look of a value without an upper end, from its lower limit on."""


def sides_figure(ds: xr.Dataset) -> Figure:
    """The rate of changes of side, the share of time to starboard, the mean stay on each side, with
    their limits; InputError where no ship has two sides."""
    made = query.sides(ds)
    every = range(ds.sizes["case"])
    if not (made.changes.any() or cases.has_loll(ds, every)):
        hint = "a GM below 0, or a lever with two wells, makes two"
        raise InputError("", [Fault("", "no ship here rests on two sides", hint)])
    return _figure(ds, made)


@style.styled
def _figure(ds: xr.Dataset, made: query.Sides) -> Figure:
    groups = query.lines(ds)
    lines = groups[: style.LINES]
    figure = style.new_figure(
        cases.title(ds), "changes of side", notes=_notes(made, len(lines), len(groups)),
        loll=cases.has_loll(ds, range(ds.sizes["case"])),
    )  # fmt: skip
    handles = [Line2D([], [], label=_name(line), **_look(ds, i)) for i, line in enumerate(lines)]
    rows = 1 if made.stays is None else 2
    strip = style.strip_height(handles) if len(lines) > 1 else 0.02
    heights = [*[(figure.get_figheight() - strip) / rows] * rows, strip]
    grid = GridSpec(rows + 1, rows, figure, height_ratios=heights)
    panels = [style.panel(figure, grid[0, 0])]
    panels[0].set_ylabel("changes of side [1/h]")
    drawn: list[Rate | MeanTime] = [made.rate]
    if made.stays is not None:
        panels += _more_panels(figure, grid, panels[0])
        share = made.stays.share
        drawn += [Rate(share, share, share), made.stays.port, made.stays.starboard]
    for axes, interval in zip(panels, drawn, strict=True):
        for i, line in enumerate(lines):
            ends = [each[line.cases] for each in interval]
            _draw(axes, _places(ds)[line.cases], ends, _look(ds, i))
    for axes in panels[-2:]:
        _label_cases(axes, ds)
    panels[0].set_ylim(0.0, None)
    if len(lines) > 1:
        style.legend_strip(figure, grid[rows, :], handles)
    return figure


def _more_panels(figure: Figure, grid: GridSpec, first: Axes) -> list[Axes]:
    """The share of time to starboard, and the mean stays on one scale."""
    share = style.panel(figure, grid[0, 1], sharex=first)
    share.set_ylim(-0.03, 1.03)
    share.set_ylabel("time to starboard [1]")
    port = style.panel(figure, grid[1, 0], sharex=first)
    port.set_yscale("log")
    port.yaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:g}"))
    port.yaxis.set_minor_formatter(NullFormatter())
    starboard = style.panel(figure, grid[1, 1], sharex=first, sharey=port)
    for axes in (first, share):
        axes.tick_params(labelbottom=False)
    for axes, side in ((port, "port"), (starboard, "starboard")):
        axes.set_ylabel(f"stay to {side} [h]")
    return [share, port, starboard]


def _draw(axes: Axes, x: np.ndarray, interval: list[np.ndarray], look: dict[str, Any]) -> None:
    """A line with its limits; an arrow from the lower one where there is no end to the value."""
    value, lower, upper = interval
    ends = np.isfinite(upper)
    value, upper = (np.where(ends, each, np.nan) for each in (value, upper))
    axes.errorbar(x, value, yerr=[value - lower, upper - value], capsize=4.0, **look)
    if np.any(open_end := np.isfinite(lower) & ~ends):
        axes.plot(x[open_end], lower[open_end], linestyle="none", **OPEN, color=look["color"])


def _look(ds: xr.Dataset, i: int) -> dict[str, Any]:
    """Colour, dash and marker of a line; cases that stand on no axis are not joined."""
    joined = {} if query.axis_of(ds) else {"linestyle": "none"}
    return style.cue(i) | {"marker": style.MARKERS[i]} | joined


def _name(line: query.Line) -> str:
    return style.literal(line.name, 40) or "changes"


def _places(ds: xr.Dataset) -> np.ndarray:
    """Where the cases stand: on the first axis of numbers, or side by side."""
    axis = query.axis_of(ds)
    return ds[axis].values.astype(float) if axis else np.arange(ds.sizes["case"], dtype=float)


def _label_cases(axes: Axes, ds: xr.Dataset) -> None:
    """The name of the axis, or the names of the cases."""
    if axis := query.axis_of(ds):
        axes.set_xlabel(style.literal(cases.axis_label(ds, axis), 60))
        return
    every = list(range(ds.sizes["case"]))
    axes.set_xticks(_places(ds), [style.literal(cases.case_label(ds, k, every), 24) for k in every])


def _notes(made: query.Sides, shown: int, count: int) -> list[str]:
    more = f" Shown: {shown} of {count} lines." if shown < count else ""
    return [NOTE + (STAYS if made.stays is not None else "") + more]
