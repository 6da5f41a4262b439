"""Roll against time, with the wave slope and the heeling lever that drove it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.gridspec import GridSpec
from matplotlib.lines import Line2D
from matplotlib.patches import Patch
from numpy.typing import NDArray

from rollsim.errors import REPLAY, Fault, InputError
from rollsim.names import Outcome
from rollsim.show import style
from rollsim.show.figures.acts import act_handles, draw_acts
from rollsim.show.figures.causes import acting, causes, draw_cause
from rollsim.show.query import cases
from rollsim.show.query.runs import (
    Run,
    by_severity,
    outcome_of,
    outcome_text,
    with_history,
    worst_cases,
)

if TYPE_CHECKING:
    import xarray as xr

PANELS = 4
SINGLE = 3
"""So many runs of a case are drawn one by one; of more, the band, the worst and the median."""
BAND = "#d4d4d4"
ROOM = 1.1
"""How far the axis of the roll goes past the greatest angle that it must show."""
NEAR = 1.4
"""A limit within so many times the greatest roll belongs into the picture."""


@dataclass(frozen=True)
class CasePanel:
    """What one panel shows of a case: runs with the words for each, and the runs of the band."""

    case: int
    runs: dict[int, str]
    band: tuple[int, ...]

    @property
    def drawn(self) -> list[Run]:
        """Case and realisation of every run drawn."""
        return [(self.case, run) for run in self.runs]


@style.styled
def histories_figure(
    ds: xr.Dataset,
    wanted: Sequence[int] | None = None,
    realisations: Sequence[int] | None = None,
    *,
    own_scales: bool = False,
) -> Figure:
    """Roll histories, a panel for each case or for each of few runs; many runs as a band.

    All panels have one scale, so that cases can be compared, unless `own_scales` asks for others.
    """
    chosen = range(ds.sizes["case"]) if wanted is None else wanted
    picked = range(ds.sizes["realisation"]) if realisations is None else realisations
    panels = _choose(ds, worst_cases(ds, chosen, PANELS), picked)
    if not panels:
        raise InputError("", [Fault("", "holds no history of these runs", REPLAY)])
    drawn = [panel.drawn for panel in panels]
    below = acting(ds, drawn)
    reaches = _reaches(ds, panels, own_scales)
    common, own = _parted([_handles(ds, *each) for each in zip(panels, reaches, strict=True)])
    strip = style.strip_height(common) if common else 0.0
    figure = style.new_figure(
        cases.title(ds),
        "roll in time",
        notes=_notes(ds, panels, len(chosen), own_scales),
        loll=cases.has_loll(ds, [panel.case for panel in panels]),
        height=style.HEIGHT + 2.2 * (len(panels) - 1) + strip,
    )
    heights = [2.2] * len(panels) + [1.15] * len(below) + [strip] * bool(common)
    grid = GridSpec(len(heights), 1, figure, height_ratios=heights)
    cues = {run: i for i, run in enumerate(dict.fromkeys(r for p in panels for r in p.runs))}
    first: Axes | None = None
    for row, (panel, reach) in enumerate(zip(panels, reaches, strict=True)):
        name = style.literal(cases.case_label(ds, panel.case, chosen))
        axes = style.panel(figure, grid[row, 0], name, sharex=first)
        first = first or axes
        style.legend_beside(axes, [*_draw_roll(axes, ds, panel, cues), *own[row]])
        axes.set_ylim(-ROOM * reach, ROOM * reach)
    for row, name in enumerate(below, len(panels)):
        axes = style.panel(figure, grid[row, 0], sharex=first)
        draw_cause(axes, ds, drawn, cues, name)
        axes.tick_params(labelbottom=False)
    axes.tick_params(labelbottom=True)
    axes.set_xlim(0.0, 1.01 * float(ds["t"].values[-1]) or 1.0)
    axes.set_xlabel(style.axis_text("t"))
    if common:
        style.legend_strip(figure, grid[-1, 0], common)
    return figure


def _handles(ds: xr.Dataset, panel: CasePanel, reach: float) -> list[Artist]:
    """What the legend says of a panel besides its runs: the band, the limits, what acts when.

    A limit beyond the scale has no line, and the legend says so.
    """
    band = [Patch(color=BAND, label=f"band of {len(panel.band)} runs")] if panel.band else []
    limits = []
    for name, angle in cases.limits(ds, panel.case).items():
        seen = angle <= ROOM * reach
        look = _limit_line(name) if seen else {"linestyle": "none"}
        words = f"{cases.LIMITS[name]} ±{angle:.4g}°" + ", beyond the scale" * (not seen)
        limits.append(Line2D([], [], label=words, **look))
    return [*band, *limits, *act_handles(ds, panel.case)]


def _parted(every: Sequence[Sequence[Artist]]) -> tuple[list[Artist], list[list[Artist]]]:
    """What all panels have in common, for the foot of the picture, and the others' own."""
    shared = set.intersection(*({str(handle.get_label()) for handle in each} for each in every))
    common = [handle for handle in every[0] if handle.get_label() in shared]
    for handle in common:
        handle.set_label(str(handle.get_label()).replace("\n", ", "))
    return common, [
        [h for h in each if h not in common and h.get_label() not in shared] for each in every
    ]


def _choose(ds: xr.Dataset, chosen: Sequence[int], picked: Sequence[int]) -> list[CasePanel]:
    """The panels: one for each case with many runs, small multiples of few runs where they fit."""
    stored = {case: with_history(ds, case, picked) for case in chosen}
    few = {
        # Kept histories are a choice, the worst: neither band nor middle of them says anything.
        case: (by_severity(ds, case, runs) or runs)[:SINGLE] if "kept" in ds.dims else runs
        for case, runs in stored.items()
        if "kept" in ds.dims or len(runs) <= SINGLE
    }
    fits = sum(len(few.get(case, [0])) for case in chosen) <= PANELS
    panels = []
    for case in chosen:
        if case in few:
            runs = few[case] if fits else (by_severity(ds, case, few[case]) or few[case])[:1]
            panels += [CasePanel(case, {run: _name(ds, run)}, ()) for run in runs]
        else:
            panels.append(_banded(ds, case, stored[case]))
    return panels


def _banded(ds: xr.Dataset, case: int, runs: Sequence[int]) -> CasePanel:
    """The band of many runs with the worst and the median of them."""
    ranked = by_severity(ds, case, runs)
    if not ranked:
        return CasePanel(case, {runs[0]: _name(ds, runs[0])}, ())
    worst, median = ranked[0], ranked[len(ranked) // 2]
    named = {worst: f"worst: {_name(ds, worst)}"}
    if median != worst:
        named[median] = f"median: {_name(ds, median)}"
    return CasePanel(case, named, tuple(ranked))


def _name(ds: xr.Dataset, run: int) -> str:
    return f"realisation {cases.number_of(ds, 'realisation', run)}"


def _notes(ds: xr.Dataset, panels: Sequence[CasePanel], count: int, own_scales: bool) -> list[str]:
    drawn = {run for panel in panels for run in panel.runs}
    shown = {panel.case for panel in panels}
    notes = ["Mind the scales: every panel has its own."] if own_scales and len(panels) > 1 else []
    if len(panels) > 1 and len(drawn) <= len(style.COLOURS):
        notes.append("The same colour is the same realisation of the sea in all panels.")
    if any("flooding_limit" in cases.limits(ds, case) for case in shown):
        notes.append(
            "Flooding counts the heel relative to the wave slope: its mark may stand off the line."
        )
    if any(panel.band for panel in panels):
        notes.append(
            "Band: least and greatest roll at each moment of all solved runs that have not ended. "
            "Worst: the gravest outcome, of equal ones the first to come to it, of survivors the "
            "greatest roll; median: the run in the middle of that order."
        )
    elif len(panels) == len(shown) and ds.sizes["realisation"] > 1:
        notes.append("Of each case the worst of its chosen runs is drawn.")
    if "kept" in ds.dims:
        kept = ds.attrs.get("histories", "a choice")
        notes.append(f"Only some runs have kept their histories ({kept}).")
    if len(causes(ds, [panel.drawn for panel in panels], "wave_slope")) > 1:
        notes.append("Wave slope: of the first panel alone, the others met other waves.")
    if len(shown) < count:
        notes.append(f"Shown: the {len(shown)} worst of {count} cases.")
    return notes


def _draw_roll(axes: Axes, ds: xr.Dataset, panel: CasePanel, cues: dict[int, int]) -> list[Artist]:
    """The band, the runs, the limits and what acts when; the legend's handles of the runs."""
    t = ds["t"].values
    handles: list[Artist] = []
    worst = next(iter(panel.runs))
    style.zero_line(axes)
    if panel.band:
        roll = _rolls(ds, panel.case, panel.band)
        # fmin and fmax leave out runs that have ended; where all have, the band ends too.
        low, high = np.fmin.reduce(roll), np.fmax.reduce(roll)
        axes.fill_between(t, low, high, color=BAND, linewidth=0)
    for run, words in reversed(panel.runs.items()):
        # Dashes cut an oscillation into pieces: the second cue is the width.
        line = {"color": style.cue(cues[run])["color"], "linewidth": 1.8 if run == worst else 0.8}
        roll = cases.values(ds, "roll_angle", case=panel.case, realisation=run)
        axes.plot(t, roll, **line)
        mark = _mark_end(axes, ds, panel.case, run, line["color"])
        label = f"{words},\n{outcome_text(ds, panel.case, run)}"
        handles.insert(0, Line2D([], [], **line, **mark, label=label))
    axes.set_ylabel("roll angle [°]")
    axes.tick_params(labelbottom=False)
    _draw_limits(axes, ds, panel.case)
    draw_acts(axes, ds, panel.case)
    return handles


def _mark_end(axes: Axes, ds: xr.Dataset, case: int, run: int, colour: str) -> dict[str, Any]:
    """Mark where a run passed a limit, or ended before its time; the marker's own style."""
    outcome = outcome_of(ds, case, run)
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


def _draw_limits(axes: Axes, ds: xr.Dataset, case: int) -> None:
    for name, angle in cases.limits(ds, case).items():
        for side in (-angle, angle):
            axes.axhline(side, **_limit_line(name))


def _limit_line(name: str) -> dict[str, Any]:
    return {"color": style.FAINT, "linestyle": style.LIMIT_DASHES[name], "linewidth": 1.6}


def _rolls(ds: xr.Dataset, case: int, runs: Sequence[int]) -> NDArray[np.float64]:
    """Roll histories of some runs of a case [degree], shape (runs, t)."""
    rows = [cases.values(ds, "roll_angle", case=case, realisation=run) for run in runs]
    return np.array(rows, dtype=np.float64)


def _reaches(ds: xr.Dataset, panels: Sequence[CasePanel], own_scales: bool) -> list[float]:
    """The greatest angle [degree] of every panel's axis.

    Room for the roll and for limits that it comes near; one far away would flatten the roll.
    """
    reaches = []
    for panel in panels:
        roll = np.abs(_rolls(ds, panel.case, panel.band or tuple(panel.runs))).ravel()
        most = float(np.fmax.reduce(roll, initial=0.0))
        near = [angle for angle in cases.limits(ds, panel.case).values() if angle < NEAR * most]
        reaches.append(max(1.0, most, *near))
    return reaches if own_scales else [max(reaches, default=1.0)] * len(reaches)
