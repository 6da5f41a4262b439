"""The integrity profile: the safe area over a sweep, where it falls off, Melnikov's estimate."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from matplotlib.artist import Artist
from matplotlib.figure import Figure
from matplotlib.gridspec import GridSpec

from rollsim.measures.integrity import FALLEN
from rollsim.show import style
from rollsim.show.query import basins, cases
from rollsim.show.query.basins import Profile

if TYPE_CHECKING:
    import xarray as xr


@style.styled
def integrity_figure(ds: xr.Dataset, axis: str) -> Figure:
    """Safe area over its greatest, a line for each condition and value of further axes."""
    lines = [each for each in basins.profiles(ds, axis) if len(each.cases) > 1]
    shown = lines[: style.LINES]
    figure = style.new_figure(
        cases.title(ds),
        "integrity of the safe basin",
        notes=_notes(shown, len(lines)),
        loll=cases.has_loll(ds, range(ds.sizes["case"])),
    )
    axes = style.panel(figure, GridSpec(1, 1, figure)[0, 0])
    handles: list[Artist] = []
    unit = basins.unit_after(ds, axis)
    for i, each in enumerate(shown):
        cue = style.cue(i)
        name = style.literal(each.name, 40) or "safe area"
        handles += axes.plot(each.x, 100.0 * each.share, **cue, marker=style.MARKERS[i], label=name)
        if not math.isnan(each.falls):
            mark = axes.plot(
                each.falls, 100.0 * FALLEN, marker="X", markersize=13, linestyle="",
                color=cue["color"], markeredgecolor=style.INK, zorder=5,
                label=_broken(f"falls off {basins.falls_words(each, unit)}"),
            )  # fmt: skip
            handles += mark
        if not math.isnan(each.melnikov):
            line = axes.axvline(
                each.melnikov, color=cue["color"], linestyle=(0, (1, 1.5)), linewidth=2.0,
                label=style.literal(f"Melnikov's estimate: {each.melnikov:.4g}{unit}"),
            )  # fmt: skip
            handles.append(line)
    axes.axhline(100.0 * FALLEN, color=style.FAINT, linewidth=1.0)
    axes.set_ylim(0.0, 106.0)
    axes.set_xlabel(style.literal(cases.axis_label(ds, axis)))
    axes.set_ylabel("safe area over its greatest [%]")
    style.legend_beside(axes, handles)
    return figure


def _broken(words: str) -> str:
    """Words of the legend in two lines."""
    return "\n(".join(style.literal(line) for line in words.split(" (", 1))


def _notes(shown: Sequence[Profile], count: int) -> list[str]:
    notes = [
        "Safe: no limit passed up to the end of the run. The point where a profile falls off is "
        "where it leaves nine tenths of its greatest area; the cross lies straight between the "
        "values of the sweep that hold it."
    ]
    if any(not math.isnan(each.melnikov) for each in shown):
        notes.append(
            "Melnikov's estimate, to first order in damping and wave: from there on the edge of "
            "the safe basin is torn; the area is lost later."
        )
    if len(shown) < count:
        notes.append(f"Shown: the first {len(shown)} of {count} lines.")
    return [" ".join(notes)]
