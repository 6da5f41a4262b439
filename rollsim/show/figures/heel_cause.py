"""List or loll: the states of the ship that explain what is seen, by their cause."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.gridspec import GridSpec
from numpy.typing import NDArray

from rollsim.show import style

Floats = NDArray[np.float64]

MOST = 4
"""Cases drawn."""
NAMES = ("list", "loll", "both")
HATCHES = ("", "//", "xx")
BINS = 80


@style.styled
def heel_cause_figure(
    title: str, rows: Sequence[dict[str, Any]], states: Sequence[Floats]
) -> Figure:
    """The density of GM by cause, and the probabilities, a pair of panels for each case.

    states: for each case (n, 4) of GM [m], off-centre G [m], weight and cause.
    """
    shown = min(len(rows), MOST)
    notes = ["Of the ship in the file and what was thought of her G; GM with free surfaces."]
    if shown < len(rows):
        notes.append(f"Shown: the first {shown} of {len(rows)} cases.")
    figure = style.new_figure(
        title,
        "list, loll or both: probabilities, never an order to act",
        notes=[" ".join(notes)],
        loll=True,
        height=style.HEIGHT + 2.6 * (shown - 1),
    )
    grid = GridSpec(shown, 2, figure, width_ratios=[1.7, 1.0])
    for i in range(shown):
        name = style.literal(f"{rows[i]['case']}: {rows[i]['condition']}", 40)
        density = style.panel(figure, grid[i, 0], name if len(rows) > 1 else "")
        _draw_density(density, states[i])
        _draw_probabilities(style.panel(figure, grid[i, 1]), rows[i])
    return figure


def _draw_density(axes: Axes, states: Floats) -> None:
    gm, weight, cause = states[:, 0], states[:, 2], states[:, 3]
    order = np.argsort(gm)
    total = np.cumsum(weight[order])
    ends = np.searchsorted(total, np.array([0.0005, 0.9995]) * total[-1])
    low, high = (float(gm[order[min(i, gm.size - 1)]]) for i in ends)
    edges = np.linspace(min(low, -0.01), max(high, 0.01), BINS + 1)
    floor = np.zeros(BINS)
    for i, name in enumerate(NAMES):
        own = cause == i
        height = np.histogram(gm[own], edges, weights=weight[own])[0] / np.diff(edges)
        axes.fill_between(
            edges[:-1], floor, floor + height, step="post", label=name, hatch=HATCHES[i],
            facecolor=style.COLOURS[i], edgecolor=style.INK, linewidth=0.4, alpha=0.85,
        )  # fmt: skip
        floor = floor + height
    style.zero_line(axes, vertical=True)
    axes.set_ylim(0.0, None)
    axes.set_xlabel("GM with free surfaces [m]")
    axes.set_ylabel("density [1/m]")
    axes.legend(fontsize=style.TICK)


def _draw_probabilities(axes: Axes, row: dict[str, Any]) -> None:
    values = [row[name] for name in NAMES]
    for i, value in enumerate(values):
        axes.barh(
            i, value, color=style.COLOURS[i], hatch=HATCHES[i], edgecolor=style.INK, linewidth=0.6
        )
        axes.text(min(value + 0.02, 0.85), i, f"{value:.3f}", va="center", fontsize=style.TICK)
    axes.set_yticks(range(len(NAMES)), NAMES)
    axes.invert_yaxis()
    axes.set_xlim(0.0, 1.0)
    axes.set_xlabel("probability")
