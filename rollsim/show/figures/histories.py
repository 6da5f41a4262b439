"""Roll against time, with the wave slope and the heeling lever that drove it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Any

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.gridspec import GridSpec
from matplotlib.lines import Line2D
from matplotlib.patches import Patch
from numpy.typing import NDArray

from rollsim.names import Outcome
from rollsim.show import style
from rollsim.show.query import cases
from rollsim.show.query.runs import by_severity, outcome_text, with_history, worst_cases

if TYPE_CHECKING:
    import xarray as xr

PANELS = 4
SINGLE = 3
"""How many runs of a case are drawn one by one; of more, the band, the worst and the median."""
BAND = "#d4d4d4"

Place = tuple[int, int]
"""A run: its case and its realisation."""


MUCH_SMALLER = 2.0
"""By how many times a panel's rolls are smaller than the greatest to have an axis of its own."""


@dataclass(frozen=True)
class Shown:
    """What one panel shows of a case: runs with the words for each, and the runs of the band."""

    case: int
    runs: dict[int, str]
    band: tuple[int, ...]


@style.styled
def histories_figure(
    ds: xr.Dataset,
    wanted: Sequence[int] | None = None,
    realisations: Sequence[int] | None = None,
) -> Figure:
    """Roll histories, one panel a case; many realisations as a band with the worst and median."""
    chosen = range(ds.sizes["case"]) if wanted is None else wanted
    picked = range(ds.sizes["realisation"]) if realisations is None else realisations
    panels = [_choose(ds, case, picked) for case in worst_cases(ds, chosen, PANELS)]
    reaches = _reaches(ds, panels)
    notes = _notes(ds, panels, len(chosen))
    if len(set(reaches)) > 1:
        notes.insert(0, "Mind the scales: panels of small rolls are drawn larger.")
    figure = style.new_figure(
        cases.title(ds),
        "roll in time",
        notes=notes,
        loll=cases.has_loll(ds, [panel.case for panel in panels]),
        height=style.HEIGHT + 2.0 * (len(panels) - 1),
    )
    grid = GridSpec(len(panels) + 2, 1, figure, height_ratios=[2.2] * len(panels) + [1.15, 1.15])
    cues = {run: i for i, run in enumerate(dict.fromkeys(r for p in panels for r in p.runs))}
    first: Axes | None = None
    for row, panel in enumerate(panels):
        name = style.literal(cases.case_label(ds, panel.case, chosen))
        axes = style.panel(figure, grid[row, 0], name, sharex=first)
        first = first or axes
        _draw_roll(axes, ds, panel, cues)
    for axes, reach in zip(figure.axes, reaches, strict=True):
        axes.set_ylim(-1.1 * reach, 1.1 * reach)
    slope = style.panel(figure, grid[-2, 0], sharex=first)
    lever = style.panel(figure, grid[-1, 0], sharex=first)
    _draw_cause(slope, ds, panels, cues, "wave_slope")
    _draw_cause(lever, ds, panels, cues, "heeling_lever")
    slope.tick_params(labelbottom=False)
    lever.set_xlim(0.0, 1.01 * float(ds["t"].values[-1]) or 1.0)
    lever.set_xlabel(style.axis_text("t"))
    return figure


def _choose(ds: xr.Dataset, case: int, picked: Sequence[int]) -> Shown:
    number = partial(cases.number_of, ds, "realisation")
    picked = with_history(ds, case, picked)
    if "kept" in ds.dims:
        # The kept ones are a choice, the worst: neither their band nor their middle says anything.
        drawn = (by_severity(ds, case, picked) or picked)[:SINGLE]
        return Shown(case, {run: f"realisation {number(run)}" for run in drawn}, ())
    if len(picked) <= SINGLE:
        return Shown(case, {run: f"realisation {number(run)}" for run in picked}, ())
    ranked = by_severity(ds, case, picked)
    if not ranked:
        return Shown(case, {picked[0]: f"realisation {number(picked[0])}"}, ())
    worst, median = ranked[0], ranked[len(ranked) // 2]
    runs = {worst: f"worst: realisation {number(worst)}"}
    if median != worst:
        runs[median] = f"median: realisation {number(median)}"
    return Shown(case, runs, tuple(ranked))


def _notes(ds: xr.Dataset, panels: Sequence[Shown], count: int) -> list[str]:
    drawn = {run for panel in panels for run in panel.runs}
    notes = []
    if len(drawn) <= len(style.COLOURS):
        notes.append("The same colour and dash is the same realisation of the sea in all panels.")
    if any("flooding_limit" in cases.limits(ds, panel.case) for panel in panels):
        notes.append(
            "Flooding counts the heel relative to the wave slope: its mark may stand off the line."
        )
    if any(panel.band for panel in panels):
        notes.append(
            "Band: least and greatest roll at each moment of all solved runs that have not ended. "
            "Worst: the first to capsize, else the greatest roll; median: the run in the middle."
        )
    if "kept" in ds.dims:
        notes.append(
            f"Only some runs have kept their histories ({ds.attrs.get('histories', 'a choice')}): "
            f"drawn are the worst {SINGLE} of them in every case that has any."
        )
    if len(panels) < count:
        notes.append(f"Shown: the {len(panels)} worst of {count} cases.")
    return notes


def _draw_roll(axes: Axes, ds: xr.Dataset, panel: Shown, cues: dict[int, int]) -> None:
    t = ds["t"].values
    handles: list[Artist] = []
    style.zero_line(axes)
    if panel.band:
        roll = _rolls(ds, panel.case, panel.band)
        # fmin and fmax leave out runs that have ended; where all have, the band ends too.
        low, high = np.fmin.reduce(roll), np.fmax.reduce(roll)
        axes.fill_between(t, low, high, color=BAND, linewidth=0)
        handles.append(Patch(color=BAND, label=f"band of {len(panel.band)} runs"))
    for run, words in reversed(panel.runs.items()):
        cue = style.cue(cues[run])
        roll = cases.values(ds, "roll_angle", case=panel.case, realisation=run)
        axes.plot(t, roll, **cue, linewidth=1.6)
        mark = _mark_end(axes, ds, panel.case, run, cue["color"])
        label = f"{words},\n{outcome_text(ds, panel.case, run)}"
        handles.insert(0, Line2D([], [], **cue, **mark, label=label))
    axes.set_ylabel("roll angle [°]")
    axes.tick_params(labelbottom=False)
    style.legend_beside(axes, [*handles, *_draw_limits(axes, ds, panel.case)])


def _mark_end(axes: Axes, ds: xr.Dataset, case: int, run: int, colour: str) -> dict[str, Any]:
    """Mark where a run passed a limit, or ended before its time; the marker's own style."""
    outcome = Outcome(int(cases.values(ds, "outcome", case=case, realisation=run)))
    shapes = {
        Outcome.ROLL_LIMIT: "o",
        Outcome.FLOODED: "v",
        Outcome.CAPSIZED: "X",
        Outcome.NOT_SOLVED: "d",
    }
    if outcome not in shapes:
        return {}
    t = np.asarray(ds["t"].values, dtype=float)
    roll = cases.values(ds, "roll_angle", case=case, realisation=run)
    known = np.isfinite(roll)
    early = outcome in (Outcome.ROLL_LIMIT, Outcome.FLOODED)
    time = cases.number(ds, "failure_time" if early else "end_time", case=case, realisation=run)
    mark: dict[str, Any] = {
        "marker": shapes[outcome],
        "markersize": 11,
        "markeredgecolor": style.INK,
    }
    if known.any() and np.isfinite(time):
        height = float(np.interp(time, t[known], roll[known]))
        if outcome == Outcome.CAPSIZED:
            # The last stored point lies before the end, which is where she has rolled furthest.
            name = "roll_max" if height > 0.0 else "roll_min"
            height = cases.number(ds, name, case=case, realisation=run)
        axes.plot(time, height, color=colour, zorder=5, clip_on=False, **mark)
    return mark


def _draw_limits(axes: Axes, ds: xr.Dataset, case: int) -> list[Artist]:
    handles: list[Artist] = []
    for name, angle in cases.limits(ds, case).items():
        line = {"color": style.FAINT, "linestyle": style.LIMIT_DASHES[name], "linewidth": 1.6}
        for side in (-angle, angle):
            axes.axhline(side, **line)
        handles.append(Line2D([], [], label=f"{cases.LIMITS[name]} ±{angle:g}°", **line))
    return handles


def _rolls(ds: xr.Dataset, case: int, runs: Sequence[int]) -> NDArray[np.float64]:
    """Roll histories of some runs of a case [degree], shape (runs, t)."""
    rows = [cases.values(ds, "roll_angle", case=case, realisation=run) for run in runs]
    return np.array(rows, dtype=np.float64)


def _reaches(ds: xr.Dataset, shown: Sequence[Shown]) -> list[float]:
    """The greatest angle [degree] of every panel's axis: one for all, but for much smaller rolls.

    Room for the roll and for limits that it comes near; one far away would flatten the roll.
    """
    reaches = []
    for panel in shown:
        roll = np.abs(_rolls(ds, panel.case, panel.band or tuple(panel.runs))).ravel()
        most = float(np.fmax.reduce(roll, initial=0.0))
        near = [angle for angle in cases.limits(ds, panel.case).values() if angle < 2.0 * most]
        reaches.append(max(1.0, most, *near))
    common = max(reaches, default=1.0)
    return [reach if MUCH_SMALLER * reach < common else common for reach in reaches]


def _draw_cause(
    axes: Axes, ds: xr.Dataset, panels: Sequence[Shown], cues: dict[int, int], name: str
) -> None:
    """What drove the runs drawn above; of several cases the first run each, shared curves once."""
    style.zero_line(axes)
    several = len(panels) > 1
    for place, shared in enumerate(_causes(ds, panels, name)):
        case, run = shared[0]
        curve = cases.values(ds, name, case=case, realisation=run)
        mark: dict[str, Any] = {}
        if several:
            every = (place * curve.size // 24, max(1, curve.size // 8))
            mark = {
                "marker": style.MARKERS[place],
                "markevery": every,
                "label": _sharers(ds, shared),
            }
        axes.plot(ds["t"].values, curve, **style.cue(cues[run]), **mark, linewidth=1.2)
    if several:
        style.legend_beside(axes, axes.get_lines()[1:])
    axes.set_ylabel({"wave_slope": "wave slope\n[°]", "heeling_lever": "heeling\nlever [m]"}[name])


def _sharers(ds: xr.Dataset, shared: Sequence[Place]) -> str:
    """Which cases met the same, and in which storm, where it is one."""
    held = sorted({cases.number_of(ds, "case", case) for case, _ in shared})
    words = f"case{'s' * (len(held) > 1)} {', '.join(map(str, held))}"
    runs = {cases.number_of(ds, "realisation", run) for _, run in shared}
    return f"{words}: realisation {runs.pop()}" if len(runs) == 1 else words


def _causes(ds: xr.Dataset, panels: Sequence[Shown], name: str) -> list[list[Place]]:
    """The runs that share a curve, curve by curve, the longest run first."""
    each = 1 if len(panels) > 1 else None
    places = [(panel.case, run) for panel in panels for run in list(panel.runs)[:each]]
    curves = {(c, r): cases.values(ds, name, case=c, realisation=r) for c, r in places}
    found: list[list[Place]] = []
    for place in sorted(places, key=lambda at: -int(np.isfinite(curves[at]).sum())):
        alike = (shared for shared in found if _same(curves[place], curves[shared[0]]))
        partner = next(alike, None)
        if partner is None:
            found.append([place])
        else:
            partner.append(place)
    return found


def _same(short: NDArray[np.float64], long: NDArray[np.float64]) -> bool:
    """Whether two curves agree for as long as the shorter runs."""
    known = np.isfinite(short)
    return bool(np.array_equal(short[known], long[known]))
