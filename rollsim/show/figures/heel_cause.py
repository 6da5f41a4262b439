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
FAINT = 1e-3
"""Share of the highest bar below which the ends are left out."""


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
    # The states stand at equally spaced heights of G: a bar for each, so that none holds two.
    heights, which = np.unique(gm, return_inverse=True)
    total = np.bincount(which, weight)
    inside = np.flatnonzero(total > FAINT * total.max())
    first, last = int(inside[0]), int(inside[-1]) + 1
    width = float(np.median(np.diff(heights))) if heights.size > 1 else 1.0
    edges = np.append(heights - 0.5 * width, heights[-1] + 0.5 * width)[first : last + 1]
    floor = np.zeros(last - first)
    for i, name in enumerate(NAMES):
        own = np.bincount(which, np.where(cause == i, weight, 0.0))[first:last] / width
        axes.stairs(
            floor + own, edges, baseline=floor, fill=True, label=name, hatch=HATCHES[i],
            facecolor=style.COLOURS[i], edgecolor=style.INK, linewidth=0.4, alpha=0.85,
        )  # fmt: skip
        floor = floor + own
    style.zero_line(axes, vertical=True)
    axes.set_xlim(min(float(edges[0]), -0.01), max(float(edges[-1]), 0.01))
    axes.set_ylim(0.0, None)
    axes.set_xlabel("GM with free surfaces [m]")
    axes.set_ylabel("density [1/m]")
    axes.legend(fontsize=style.TICK)


def _draw_probabilities(axes: Axes, row: dict[str, Any]) -> None:
    values = [100.0 * row[name] for name in NAMES]
    for i, value in enumerate(values):
        axes.barh(
            i, value, color=style.COLOURS[i], hatch=HATCHES[i], edgecolor=style.INK, linewidth=0.6
        )
        axes.text(value + 2.0, i, f"{value:.1f}", va="center", fontsize=style.TICK)
    axes.set_yticks(range(len(NAMES)), NAMES)
    axes.invert_yaxis()
    # Room for the number beside a full bar.
    axes.set_xlim(0.0, 120.0)
    axes.set_xticks([0.0, 25.0, 50.0, 75.0, 100.0])
    axes.set_xlabel("probability [%]")
