"""The phase portrait of one run over the potential that holds the ship."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.gridspec import GridSpec

from rollsim.measures.margins import roll_energy
from rollsim.names import Outcome
from rollsim.show import style
from rollsim.show.query import cases
from rollsim.show.query.curves import Floats, Potential, escape_line, potential
from rollsim.show.query.heel import HeelHistory, heel_history
from rollsim.show.query.runs import outcome_of, outcome_text

if TYPE_CHECKING:
    import xarray as xr

RUN, WELL, EDGE = style.COLOURS[0], style.INK, style.COLOURS[2]


@style.styled
def phase_figure(ds: xr.Dataset, case: int, realisation: int) -> Figure:
    """Roll rate over roll angle, and below it the potential with the energy of the run."""
    run = heel_history(ds, case, realisation)
    track = run.heel, run.rate
    well = potential(ds, case)
    gyradius = cases.number(ds, "gyradius", case=case)
    name = style.literal(cases.case_label(ds, case, [case]), 50)
    figure = style.new_figure(
        cases.title(ds),
        f"phase portrait over the potential: case {name}, "
        f"realisation {cases.number_of(ds, 'realisation', realisation)}",
        notes=_notes(run.waves, gyradius),
        loll=cases.has_loll(ds, [case]),
        height=style.HEIGHT + 1.0,
    )
    grid = GridSpec(2, 1, figure, height_ratios=[1.15, 1.0])
    phase = style.panel(figure, grid[0, 0])
    energies = style.panel(figure, grid[1, 0], sharex=phase)
    _draw_phase(phase, well, gyradius, track, _moments(ds, case, realisation, run))
    _draw_potential(energies, well, gyradius, track)
    words = "heel, relative to the wave slope" if run.waves else "angle of heel"
    energies.set_xlabel(f"{words}, starboard down [°]")
    reach = _reach(well, run.heel)
    phase.set_xlim(-reach, reach)
    return figure


def _notes(relative: bool, gyradius: float) -> list[str]:
    notes = [
        "Potential: of the righting lever less the steady heeling lever at the start of the run."
    ]
    if relative:
        notes.append("The rate of the wave slope is taken from the stored output points.")
    if np.isfinite(gyradius):
        notes.append(
            "The ship goes over, if nothing damps or drives her, from outside the escape line."
        )
    return [" ".join(notes)]


class Moment(NamedTuple):
    """A stored point of the run that is marked, by its position, with its marker and its words."""

    at: int
    marker: str
    words: str


def _moments(ds: xr.Dataset, case: int, realisation: int, run: HeelHistory) -> list[Moment]:
    """Start and end of a run, and where it passed a limit and went on."""
    known = np.flatnonzero(np.isfinite(run.heel) & np.isfinite(run.rate))
    if not known.size:
        return []
    outcome, words = outcome_of(ds, case, realisation), outcome_text(ds, case, realisation)
    moments = [Moment(int(known[0]), "o", "start")]
    if outcome not in (Outcome.ROLL_LIMIT, Outcome.FLOODED):
        return [*moments, Moment(int(known[-1]), "X", f"end:\n{words}")]
    time = cases.number(ds, "failure_time", case=case, realisation=realisation)
    passed = int(known[np.argmin(np.abs(run.t[known] - time))])
    moments.append(Moment(passed, "v", f"{words},\nthe run goes on"))
    return [*moments, Moment(int(known[-1]), "s", "end of the run")]


def _draw_phase(
    axes: Axes,
    well: Potential,
    gyradius: float,
    track: tuple[Floats, Floats],
    moments: Sequence[Moment],
) -> None:
    style.zero_line(axes)
    style.zero_line(axes, vertical=True)
    handles: list[Artist] = list(axes.plot(*track, color=RUN, linewidth=1.3, label="run"))
    if well.barriers and np.isfinite(gyradius):
        heel, bound = escape_line(well, gyradius)
        for side in (bound, -bound):
            (line,) = axes.plot(heel, side, color=EDGE, linestyle=style.DASHES[1])
        line.set_label("escape line")
        handles.append(line)
    for moment in moments:
        handles += axes.plot(
            track[0][moment.at],
            track[1][moment.at],
            marker=moment.marker,
            markersize=11,
            linestyle="",
            color=RUN,
            zorder=5,
            markeredgecolor=style.INK,
            label=moment.words,
        )
    axes.set_ylabel(style.axis_text("roll_rate", 22))
    axes.tick_params(labelbottom=False)
    style.legend_beside(axes, handles)


def _draw_potential(
    axes: Axes, well: Potential, gyradius: float, track: tuple[Floats, Floats]
) -> None:
    handles: list[Artist] = list(axes.plot(well.heel, well.value, color=WELL, label="potential"))
    if np.isfinite(gyradius):
        path = roll_energy(np.radians(track[1]), gyradius, well.at(track[0]))
        handles += axes.plot(track[0], path, color=RUN, linewidth=1.0, label="energy of the run")
    marks = (
        (well.wells, "o", "well: stable"),
        (well.barriers, "^", "potential barrier of each side"),
    )
    for points, marker, label in marks:
        if points:
            handles += axes.plot(
                *zip(*points, strict=True),
                marker=marker,
                linestyle="",
                markersize=10,
                color=WELL,
                markerfacecolor="white",
                markeredgewidth=2,
                zorder=5,
                label=label,
            )
    if well.barriers:
        handles.append(
            axes.axhline(well.escape, color=EDGE, linestyle=style.DASHES[1], label="escape energy")
        )
    tops = [float(np.fmax.reduce(line.get_ydata(), initial=0.0)) for line in axes.get_lines()[1:]]
    top = 1.12 * max(tops, default=0.0)
    if top > 0.0:
        axes.set_ylim(-0.25 * top, top)
    axes.set_ylabel("potential and energy\nabove the lowest well\n[m·rad]")
    style.legend_beside(axes, handles)


def _reach(well: Potential, angle: Floats) -> float:
    """Heel [degree] to show: the barriers and all of the run."""
    most = float(np.fmax.reduce(np.abs(angle), initial=0.0))
    ends = [abs(point.heel) for point in well.barriers]
    return 1.08 * max([most, *ends]) or float(np.abs(well.heel).max())
