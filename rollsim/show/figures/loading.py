"""The picture of loading sheets: where the masses lie, and what each adds to KG and takes of GM."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from rollsim.show import style
from rollsim.show.query.loading import Record, label, lolls

MOST = 6
"""Sheets of one picture."""
MARKS = {"lightship": "D", "weight": "o", "icing": "*", "tank": "s"}
WORDS = {"lightship": "lightship", "weight": "weights", "icing": "ice", "tank": "tanks"}


@style.styled
def loading_figure(records: Sequence[Record], title: str) -> Figure:
    """Masses by height, and the stack from KG to KM, for up to six sheets."""
    shown = list(records[:MOST])
    notes = [] if len(records) <= MOST else [f"The first {MOST} of {len(records)} loadings."]
    figure = style.new_figure(title, "Loading", notes=notes, loll=lolls(shown))
    grid = figure.add_gridspec(1, 2, width_ratios=[1.15, 1.0])
    _masses(
        style.panel(figure, grid[0, 0], "Masses by height and place across, port to the left"),
        shown,
    )
    _heights(style.panel(figure, grid[0, 1], "G, its rise by free surfaces, and M"), shown)
    return figure


def _masses(axes: Axes, records: Sequence[Record]) -> None:
    """A mark for each item, its area the mass; sheets beside each other."""
    most = max(float(row.get("mass_t") or 0.0) for record in records for row in record["rows"])
    seen: dict[str, Any] = {}
    for i, record in enumerate(records):
        for row in record["rows"]:
            mass, kind = float(row.get("mass_t") or 0.0), str(row.get("kind"))
            if mass <= 0.0:
                continue
            colour = style.COLOURS[list(MARKS).index(kind) if kind in MARKS else 1]
            mark = axes.scatter(
                i + 0.36 * np.clip(float(row.get("across_m") or 0.0) / 10.0, -1.0, 1.0),
                float(row["height_m"]),
                s=20.0 + 900.0 * mass / most,
                marker=MARKS.get(kind, "o"),
                color=colour,
                alpha=0.55,
                edgecolors=style.INK,
                linewidths=0.8,
            )
            seen.setdefault(WORDS.get(kind, kind), mark)
        axes.plot([i - 0.4, i + 0.4], [record["kg_m"]] * 2, color=style.COLOURS[2], linewidth=2.0)
    axes.set_ylabel("height above the keel [m]")
    axes.set_ylim(bottom=0.0)
    _names(axes, records)
    handles = [
        axes.scatter([], [], marker=MARKS[kind], s=60.0, color=style.COLOURS[i], alpha=0.7,
                     edgecolors=style.INK)
        for i, kind in enumerate(MARKS) if WORDS[kind] in seen
    ]  # fmt: skip
    names = [words for words in WORDS.values() if words in seen]
    axes.legend(
        [*handles, axes.plot([], [], color=style.COLOURS[2])[0]],
        [*names, "KG"],
        loc="upper left",
        ncols=2,
        frameon=True,
        framealpha=0.9,
    )
    top = max(float(row["height_m"]) for record in records for row in record["rows"])
    axes.set_ylim(0.0, 1.35 * top)


def _heights(axes: Axes, records: Sequence[Record]) -> None:
    """From KG up: the rise by free surfaces, then GM to M; M below G where GM is negative."""
    low, high = [], []
    for i, record in enumerate(records):
        kg, rise, km = (float(record[key]) for key in ("kg_m", "free_surface_m", "km_m"))
        gm = _fluid(record)
        axes.add_patch(
            Rectangle((i - 0.28, kg), 0.56, rise, facecolor=style.COLOURS[1], hatch="//",
                      edgecolor=style.INK, linewidth=0.8)
        )  # fmt: skip
        axes.add_patch(
            Rectangle((i - 0.28, min(kg + rise, km)), 0.56, abs(gm), alpha=0.5,
                      facecolor=style.COLOURS[0 if gm >= 0.0 else 2], edgecolor=style.INK,
                      linewidth=0.8)
        )  # fmt: skip
        # The upper of the two is named above its line, the lower below it; over a hatching both
        # stand on white.
        for height, name, up in ((kg, "G", kg > km), (km, "M", km >= kg)):
            axes.plot([i - 0.29, i + 0.29], [height, height], color=style.INK, linewidth=1.6)
            axes.annotate(
                f"{name} {height:.2f}", (i, height), (0, 4 if up else -4), ha="center",
                va="bottom" if up else "top", textcoords="offset points", fontsize=style.SMALL,
                bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.8}, zorder=8,
            )  # fmt: skip
        low.append(min(kg, km))
        high.append(max(kg + rise, km))
    span = max(high) - min(low) or 1.0
    axes.set_ylim(min(low) - 0.25 * span, max(high) + 0.4 * span)
    axes.set_ylabel("height above the keel [m]")
    _names(axes, records, [f"GM {_fluid(record):.2f}".replace("-", "−") for record in records])
    colours = {"rise by free surfaces": 1, "GM": 0} | ({"GM below 0": 2} if lolls(records) else {})
    handles = [
        Rectangle((0, 0), 1, 1, facecolor=style.COLOURS[colour], edgecolor=style.INK,
                  hatch="//" if colour == 1 else None, alpha=1.0 if colour == 1 else 0.5)
        for colour in colours.values()
    ]  # fmt: skip
    axes.legend(handles, list(colours), loc="upper left", ncols=2, frameon=True, framealpha=0.9)


def _fluid(record: Record) -> float:
    """GM [m] with free surfaces."""
    kg, rise, km = (float(record[key]) for key in ("kg_m", "free_surface_m", "km_m"))
    return km - kg - rise


def _names(axes: Axes, records: Sequence[Record], below: Sequence[str] = ()) -> None:
    """The names of the sheets, each with a word `below` it, if any."""
    room = max(8, 60 // len(records))
    names = [textwrap.fill(style.literal(label(record), 3 * room), room) for record in records]
    if below:
        names = [f"{name}\n{words}" for name, words in zip(names, below, strict=True)]
    axes.set_xticks(range(len(records)), names, fontsize=style.SMALL)
    axes.set_xlim(-0.6, len(records) - 0.4)
