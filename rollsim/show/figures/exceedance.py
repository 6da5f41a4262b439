"""How often a run rolls beyond an angle: one panel for each circumstance, one line a loading."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.gridspec import GridSpec
from matplotlib.lines import Line2D
from matplotlib.ticker import FuncFormatter, NullFormatter
from numpy.typing import NDArray

from rollsim.errors import Fault, InputError
from rollsim.measures.extremes.counted import exceedance
from rollsim.measures.outcome import solved
from rollsim.show import style
from rollsim.show.query import cases
from rollsim.show.query.lineup import Group, Loading, Source, line_up
from rollsim.show.query.rolls import counted_roll, extremes_of

if TYPE_CHECKING:
    import xarray as xr

Floats = NDArray[np.float64]

LAWS: dict[str, Any] = {
    "fitted law": (0, (1, 1)),
    "weibull": (0, (4, 2)),
    "rayleigh": (0, (6, 2, 1, 2)),
}
"""The dashes of the laws fitted to the greatest rolls."""
PANELS = 6
ACROSS = 2
POINTS = 401
STEPS = 4000
"""Steps of a curve that are drawn."""


def result_exceedance(ds: xr.Dataset) -> Figure:
    """The exceedance of all cases of one result; InputError where nothing is random."""
    groups = by_chance(line_up([Source(ds)]))
    if not groups and not np.any(solved(cases.values(ds, "outcome"))):
        raise InputError("", [Fault("", "no run has a result", "the messages stand in the result")])
    if not groups:
        hint = "an irregular sea and more realisations make one"
        raise InputError("", [Fault("", "nothing is random here: no probability to draw", hint)])
    return exceedance_figure(groups, cases.title(ds))


def by_chance(groups: Sequence[Group]) -> list[Group]:
    """The groups with those loadings alone whose runs differ by chance."""
    kept = (
        Group(group.circumstances, tuple(each for each in group.loadings if each.random))
        for group in groups
    )
    return [group for group in kept if group.loadings]


@style.styled
def exceedance_figure(groups: Sequence[Group], title: str = "") -> Figure:
    """The probability that a run rolls beyond an angle, with 95 % limits, over that angle."""
    shown = groups[:PANELS]
    reach = max((_reach(loading) for group in shown for loading in group.loadings), default=1.0)
    handles = _legend(shown, reach)
    strip = style.strip_height(handles)
    across = min(ACROSS, len(shown))
    rows = -(-len(shown) // across)
    tall = 4.6 if rows == 1 else 3.4
    figure = style.new_figure(
        title,
        "probability of rolling beyond an angle",
        notes=_notes(groups, shown),
        loll=any(cases.has_loll(e.ds, [e.case]) for group in shown for e in group.loadings),
        height=2.2 + tall * rows + strip,
    )
    grid = GridSpec(rows + 1, across, figure, height_ratios=[tall] * rows + [strip])
    least = min(_least(each) for group in shown for each in group.loadings)
    first: Axes | None = None
    for i, group in enumerate(shown):
        name = style.literal(group.circumstances, 50) if len(groups) > 1 else ""
        axes = style.panel(figure, grid[divmod(i, across)], name, sharex=first, sharey=first)
        first = first or axes
        _draw(axes, group, reach)
        axes.set_ylabel("probability that\none run rolls beyond [–]")
        axes.set_xlabel("roll angle to either side [°]")
    if first is not None:
        first.set_yscale("log")
        # Without powers as formulas: 0.01, not ten to the minus two.
        first.yaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:g}"))
        first.yaxis.set_minor_formatter(NullFormatter())
        first.set_ylim(least, 1.3)
        first.set_xlim(0.0, reach)
    style.legend_strip(figure, grid[rows, :], handles)
    return figure


def _least(loading: Loading) -> float:
    """The least probability of which something is drawn."""
    levels = extremes_of(loading.ds, loading.case).levels
    runs = max([loading.ds.sizes["realisation"], *(level.runs for level in levels)])
    return 0.5 / runs


def _notes(groups: Sequence[Group], shown: Sequence[Group]) -> list[str]:
    notes = [
        "Thick: the share of the runs; thin: exact 95 % limits (Clopper-Pearson), each angle by "
        "itself. A capsized run counts as beyond every angle. Where the thick line ends no run "
        "went further: the upper limit still stands."
    ]
    if any(_has_law(each) for group in shown for each in group.loadings[: style.LINES]):
        notes.append(
            "Dotted: generalised extreme value law as far as the runs carry; bars: return levels "
            "with 95 % limits by profile likelihood."
        )
    if len(shown) < len(groups):
        notes.append(f"Shown: the first {len(shown)} of {len(groups)} circumstances.")
    most = max(len(group.loadings) for group in shown)
    if most > style.LINES:
        notes.append(f"Shown: the first {style.LINES} of {most} loadings.")
    return [" ".join(notes)]


def _has_law(loading: Loading) -> bool:
    """Whether a law of its greatest roll is drawn."""
    return bool(extremes_of(loading.ds, loading.case).levels)


def _draw(axes: Axes, group: Group, reach: float) -> None:
    for i, loading in enumerate(group.loadings[: style.LINES]):
        cue = style.cue(i)
        angle = _angles(counted_roll(loading.ds, loading.case), reach)
        curve = exceedance(counted_roll(loading.ds, loading.case), angle)
        # What is nothing has no place on a logarithmic scale; the line ends there.
        share = np.where(curve.probability > 0.0, curve.probability, np.nan)
        steps: dict[str, Any] = {"drawstyle": "steps-post"}
        axes.plot(angle, share, **cue, **steps, linewidth=2.4)
        lower = np.where(curve.lower > 0.0, curve.lower, np.nan)
        for limit in (lower, curve.upper):
            axes.plot(angle, limit, **cue | steps | {"linewidth": 0.9})
        _draw_law(axes, loading, cue, alone=len(group.loadings) == 1)
        middle = int(np.argmin(np.abs(curve.probability - 0.5)))
        look = {"marker": style.MARKERS[i], "color": cue["color"], "linestyle": ""}
        axes.plot(angle[middle], curve.probability[middle], **look, markersize=8)
    for name, at in _limits(group, reach).items():
        axes.axvline(at, color=style.FAINT, linestyle=style.LIMIT_DASHES[name], linewidth=1.6)


def _angles(greatest: Floats, reach: float) -> Floats:
    """The angles [degree] at which the share falls: those that some run reached, and both ends.

    Of very many an even choice.
    """
    inside = np.unique(greatest[(greatest > 0.0) & (greatest < reach)])
    if inside.size > STEPS:
        inside = inside[np.linspace(0, inside.size - 1, STEPS).astype(int)]
    return np.concatenate(([0.0], inside, [reach]))


def _draw_law(axes: Axes, loading: Loading, cue: dict[str, Any], *, alone: bool) -> None:
    """The fitted law as far as the data carry, and its return levels with their limits."""
    known = extremes_of(loading.ds, loading.case)
    if known.law is None or not known.levels:
        return
    ceiling = cases.number(loading.ds, "capsize_limit", case=loading.case)
    share = np.geomspace(0.99, 1.0 / known.levels[-1].runs, POINTS)
    laws = [(known.law.frozen, LAWS["fitted law"])]
    if alone:
        laws += [(rival.frozen, LAWS[name]) for name, rival in known.rivals.items()]
    for law, dashes in laws:
        angle = law.isf(share)
        seen = angle < ceiling
        axes.plot(angle[seen], share[seen], color=cue["color"], linestyle=dashes, linewidth=1.5)
    for level in known.levels:
        ends = np.minimum([level.lower, level.value, level.upper], ceiling)
        axes.errorbar(
            ends[1], 1.0 / level.runs, xerr=[[ends[1] - ends[0]], [ends[2] - ends[1]]],
            color=cue["color"], capsize=4, elinewidth=1.3,
        )  # fmt: skip


def _limits(group: Group, reach: float) -> dict[str, float]:
    """The limits [degree] within reach that all loadings of a group share."""
    limits = [set(cases.limits(each.ds, each.case).items()) for each in group.loadings]
    return dict(sorted(item for item in set.intersection(*limits) if item[1] <= reach))


def _reach(loading: Loading) -> float:
    """The angle [degree] up to which something is to be seen."""
    greatest = counted_roll(loading.ds, loading.case)
    seen = greatest[np.isfinite(greatest)]
    levels = [level.value for level in extremes_of(loading.ds, loading.case).levels]
    far = [angle for angle in levels if np.isfinite(angle)]
    most: float = max([float(np.max(seen, initial=0.0)), 1.0, *far])
    limits = cases.limits(loading.ds, loading.case).values()
    return 1.05 * max([most, *(angle for angle in limits if angle < 2.0 * most)])


def _legend(groups: Sequence[Group], reach: float) -> list[Line2D]:
    """The loadings of the panels, each once, and the limits."""
    named = {
        (i, loading.name): None
        for group in groups
        for i, loading in enumerate(group.loadings[: style.LINES])
    }
    handles = [
        Line2D([], [], **style.cue(i), marker=style.MARKERS[i], label=style.literal(name, 44))
        for i, name in named
    ]
    if any(_has_law(each) for group in groups for each in group.loadings[: style.LINES]):
        names = [*LAWS] if all(len(group.loadings) == 1 for group in groups) else ["fitted law"]
        words = {"fitted law": "extreme value law", "weibull": "Weibull", "rayleigh": "Rayleigh"}
        handles += [
            Line2D([], [], color=style.INK, linestyle=LAWS[name], label=words[name])
            for name in names
        ]
    limits = sorted({item for group in groups for item in _limits(group, reach).items()})
    for name in dict.fromkeys(name for name, _ in limits):
        angles = ", ".join(f"{angle:g}°" for other, angle in limits if other == name)
        look: dict[str, Any] = {"color": style.FAINT, "linestyle": style.LIMIT_DASHES[name]}
        handles.append(Line2D([], [], label=f"{cases.LIMITS[name]} {angles}", **look))
    return handles
