"""Hopping between two lolls: changes of side an hour, over the first axis of numbers."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from matplotlib.artist import Artist
from matplotlib.figure import Figure
from matplotlib.gridspec import GridSpec

from rollsim.errors import Fault, InputError
from rollsim.show import style
from rollsim.show.query import cases
from rollsim.show.query import sides as query

if TYPE_CHECKING:
    import xarray as xr


def sides_figure(ds: xr.Dataset) -> Figure:
    """The rate of changes of side with its limits; InputError where no ship has two sides."""
    made = query.sides(ds)
    every = range(ds.sizes["case"])
    if not (made.changes.any() or cases.has_loll(ds, every)):
        hint = "a GM below 0, or a lever with two wells, makes two"
        raise InputError("", [Fault("", "no ship here rests on two sides", hint)])
    return _figure(ds, made)


@style.styled
def _figure(ds: xr.Dataset, made: query.Sides) -> Figure:
    every = range(ds.sizes["case"])
    groups = query.lines(ds)
    shown = groups[: style.LINES]
    figure = style.new_figure(
        cases.title(ds), "changes of side", notes=_notes(len(shown), len(groups)),
        loll=cases.has_loll(ds, every),
    )  # fmt: skip
    axes = style.panel(figure, GridSpec(1, 1, figure)[0, 0])
    axis = query.axis_of(ds)
    x = ds[axis].values.astype(float) if axis else np.arange(ds.sizes["case"], dtype=float)
    handles: list[Artist] = []
    for i, line in enumerate(shown):
        rate, lower, upper = (each[line.cases] for each in made.rate)
        look = style.cue(i) | {"linestyle": style.cue(i)["linestyle"] if axis else ""}
        handles.append(
            axes.errorbar(
                x[line.cases], rate, yerr=[rate - lower, upper - rate], capsize=4.0,
                marker=style.MARKERS[i], label=style.literal(line.name, 40) or "changes", **look,
            )  # type: ignore[arg-type]
        )  # fmt: skip
    if axis:
        axes.set_xlabel(style.literal(cases.axis_label(ds, axis), 60))
    else:
        names = [style.literal(cases.case_label(ds, case, list(every)), 24) for case in every]
        axes.set_xticks(x, names)
    axes.set_ylim(0.0, None)
    axes.set_ylabel("changes of side [1/h]")
    if len(shown) > 1:
        style.legend_beside(axes, handles)
    return figure


def _notes(shown: int, count: int) -> list[str]:
    note = (
        "From settle_s to the end of the runs, with 95 % limits of a Poisson count. A stay on one "
        "side lasts the inverse on average."
    )
    return [note + (f" Shown: {shown} of {count} lines." if shown < count else "")]
