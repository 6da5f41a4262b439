"""Margins over two sweep axes: numbers in a grid, one for each condition and further value."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from matplotlib.axes import Axes
from matplotlib.colors import LinearSegmentedColormap
from matplotlib.figure import Figure
from matplotlib.gridspec import GridSpec
from matplotlib.patches import Rectangle
from numpy.typing import NDArray

from rollsim.measures.outcome import EVENTS, Event
from rollsim.show import style
from rollsim.show.query import cases, severity
from rollsim.show.query.runs import greatest_worst_roll, without_result

if TYPE_CHECKING:
    import xarray as xr

MISSING = "–"
UNSTABLE = "nothing\nstable"
"""What stands where at some moment no heel is stable, so that there is no energy margin."""
ACROSS = 4
ENERGY = (
    "Energy margin: 1 at rest, 0 at the barrier, negative where the motion relative to the water "
    "had energy enough to go over."
)
"""How many grids stand beside each other."""
SHADES = LinearSegmentedColormap.from_list("shades", ["#ffffff", "#9db8d6"])
"""Light throughout, so that black numbers can be read on every shade, in grey too."""


@dataclass(frozen=True)
class Measure:
    """A measure of every case: its heading, its number, the text that a cell shows, and what it
    means where that must be told."""

    heading: str
    value: NDArray[np.float64]
    text: list[str]
    meaning: str = ""


@style.styled
def draw(ds: xr.Dataset, axes: Sequence[str], event: Event) -> Figure:
    """A row of grids for each measure, a column for each condition and value of further axes."""
    groups = _groups(ds, axes[2:])
    names = list(groups)[:ACROSS]
    measures = _measures(ds, event)
    # The longer axis goes up, where a picture may grow.
    across, up = sorted(axes[:2], key=lambda axis: len(_values(ds, axis)))
    size = _type_size(measures, len(names) * len(_values(ds, across)))
    figure = style.new_figure(
        cases.title(ds),
        "margins over the study",
        notes=_notes(len(names), len(groups), measures, _missing(ds), _counted(ds, event)),
        loll=cases.has_loll(ds, range(ds.sizes["case"])),
        height=2.2 + len(measures) * _height(ds, up),
    )
    grid = GridSpec(len(measures), len(names), figure)
    for row, measure in enumerate(measures):
        for column, name in enumerate(names):
            panel = style.panel(figure, grid[row, column])
            _draw_grid(panel, ds, (across, up), groups[name], measure, size)
            lines = [measure.heading if column == 0 else ""]
            lines += [style.literal(name, 34)] if len(groups) > 1 else []
            panel.set_title("\n".join(lines), loc="left", fontsize=style.TICK)
            if column == 0:
                panel.set_ylabel(style.literal(cases.axis_label(ds, up), 34))
            if row == len(measures) - 1:
                panel.set_xlabel(style.literal(cases.axis_label(ds, across), 34))
    return figure


def _height(ds: xr.Dataset, axis: str) -> float:
    """Height [in] of one grid: two lines of text for each of its rows, and its heading."""
    return 0.9 + 0.42 * max(3, len(_values(ds, axis)))


def _type_size(measures: Sequence[Measure], columns: int) -> float:
    """The size [pt] at which the longest text fits into one of all columns beside each other."""
    longest = max(len(line) for m in measures for text in m.text for line in text.split("\n"))
    room = (style.WIDTH * 72.0 - 180.0) / columns
    return max(5.0, min(style.SMALL, room / (0.62 * longest)))


def _missing(ds: xr.Dataset) -> list[str]:
    """Why cases have no result, each reason once."""
    words = (without_result(ds, case) for case in range(ds.sizes["case"]))
    return [word for word in dict.fromkeys(words) if word]


def _counted(ds: xr.Dataset, event: Event) -> str:
    """What the probabilities are of."""
    return f"{event.capitalize()}: {cases.limits_text(ds, event)}."


def _notes(
    shown: int, count: int, measures: Sequence[Measure], missing: Sequence[str], counted: str
) -> list[str]:
    notes = ["Darker is worse.", measures[0].meaning]
    if any("probability" in measure.heading for measure in measures):
        notes.append(f"Probabilities are for one run, with exact 95 % limits. {counted}")
    if missing:
        notes.append(f"Hatched: no result, {' or '.join(missing)}.")
    if shown < count:
        notes.append(f"Shown: the first {shown} of {count} grids.")
    return [" ".join(notes)]


def _groups(ds: xr.Dataset, further: Sequence[str]) -> dict[str, list[int]]:
    """The cases of each grid, by condition and by the values of all axes beyond the two."""
    groups: dict[str, list[int]] = {}
    for case, condition in enumerate(cases.conditions(ds)):
        parts = [condition, *(cases.position_text(ds, axis, case) for axis in further)]
        groups.setdefault(", ".join(parts), []).append(case)
    return groups


def _margin(ds: xr.Dataset) -> Measure:
    """The severity factor where the result holds it, else the energy margin."""
    asked = severity.asked(ds)
    if asked is None:
        margin = np.fmin.reduce(cases.values(ds, "energy_margin"), axis=1)
        text = [f"{v:.2f}" for v in margin]
        return _full(Measure("least energy margin", -margin, text, ENERGY), ds, UNSTABLE)
    middle = [severity.middle(ds, case) for case in range(ds.sizes["case"])]
    random = cases.random(ds)
    texts = [
        severity.quantile_text(each, asked.tried).replace(" [", "\n[")
        if random
        else severity.text(each.value, asked.tried)
        for each in middle
    ]
    value = np.clip([each.value for each in middle], *asked.tried)
    heading = "median severity factor" if random else "severity factor"
    return Measure(heading, -value, texts, asked.meaning)


def _measures(ds: xr.Dataset, event: Event) -> list[Measure]:
    """The measures that say something in this study."""
    measures = [_margin(ds)]
    names = [f"{each}_probability" for each in EVENTS if each in ("capsize", event)]
    for name in names:
        p, low, high = cases.interval(ds, name)
        if np.isfinite(p).any():
            text = [f"{a:.2g}\n[{b:.2f}, {c:.2f}]" for a, b, c in zip(p, low, high, strict=True)]
            measures.append(Measure(name.replace("_", " "), p, text))
    if len(measures) == 1:
        worst = np.array([greatest_worst_roll(ds, case) for case in range(ds.sizes["case"])])
        text = [f"{v:.1f}" for v in worst]
        measures.append(_full(Measure("greatest roll [°]", np.abs(worst), text), ds, "capsized"))
    return measures


def _full(measure: Measure, ds: xr.Dataset, reason: str) -> Measure:
    """A measure without holes: a case that ran and has no number is the worst, with the reason."""
    value = measure.value
    ran = np.array([not without_result(ds, case) for case in range(value.size)])
    nameless = ran & ~np.isfinite(value)
    worst = np.max(value[np.isfinite(value)], initial=-np.inf)
    filled = np.where(nameless, worst if np.isfinite(worst) else 0.0, value)
    words = [reason if gap else known for gap, known in zip(nameless, measure.text, strict=True)]
    return replace(measure, value=filled, text=words)


def _draw_grid(
    axes: Axes,
    ds: xr.Dataset,
    both: tuple[str, str],
    chosen: Sequence[int],
    measure: Measure,
    size: float,
) -> None:
    """The numbers of one grid, written on shades that are the same in all grids of the measure."""
    columns, rows = (_values(ds, axis) for axis in both)
    shade = np.full((len(rows), len(columns)), np.nan)
    for case in chosen:
        x = columns.index(str(ds[both[0]].values[case]))
        y = rows.index(str(ds[both[1]].values[case]))
        shade[y, x] = measure.value[case]
        missing = without_result(ds, case)
        if missing:
            axes.add_patch(
                Rectangle((x, y), 1, 1, facecolor="white", edgecolor="#b5b5b5", hatch="///")
            )
        text = measure.text[case] if np.isfinite(measure.value[case]) else missing or MISSING
        box = {"bbox": {"facecolor": "white", "edgecolor": "none", "pad": 2.0}} if missing else {}
        axes.text(
            x + 0.5, y + 0.5, text, ha="center", va="center", fontsize=size, linespacing=1.05, **box
        )
    known = measure.value[np.isfinite(measure.value)]
    ends = (known.min(), known.max()) if known.size else (0.0, 1.0)
    axes.pcolormesh(shade, cmap=SHADES, vmin=ends[0], vmax=ends[1], edgecolors="#b5b5b5")
    axes.grid(visible=False)
    for ticks, values, name in (
        (axes.set_xticks, columns, both[0]),
        (axes.set_yticks, rows, both[1]),
    ):
        signed = cases.is_offset(ds, name)
        ticks(
            [i + 0.5 for i in range(len(values))],
            [style.literal(_short(value, signed=signed), 12) for value in values],
        )


def _values(ds: xr.Dataset, axis: str) -> list[str]:
    """The distinct values of an axis as text, numbers in rising order."""
    column = ds[axis].values
    ordered = np.unique(column) if np.issubdtype(column.dtype, np.number) else column
    return list(dict.fromkeys(str(value) for value in ordered))


def _short(value: str, *, signed: bool) -> str:
    """A number as text without needless digits; words as they are."""
    try:
        return cases.value_text(float(value), signed=signed)
    except ValueError:
        return value
