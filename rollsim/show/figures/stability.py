"""The static picture: righting levers, dynamical stability, the paths of B and M."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.gridspec import GridSpec, GridSpecFromSubplotSpec, SubplotSpec
from matplotlib.lines import Line2D

from rollsim.show import style
from rollsim.show.figures.paths import draw_paths
from rollsim.show.figures.sudden import ACROSS, Blow, blows, draw_sudden, one_scale, worst
from rollsim.show.figures.sudden import NOTE as SUDDEN_NOTE
from rollsim.show.figures.sudden import legend_of as sudden_legend
from rollsim.show.query import cases
from rollsim.show.query.curves import at_heel, heels, on_grid, righting

if TYPE_CHECKING:
    import xarray as xr

MARKS = {
    "loll": ("o", ("loll_angle", "loll_angle_port")),
    "static heel": ("^", ("static_heel",)),
    "vanishing": ("s", ("vanishing_angle", "vanishing_angle_port")),
}
"""Of each kind of marked angle the marker and the variables."""
SUDDEN = 4.0
"""Height [in] of the row of sudden levers."""
TALLER = 1.3
"""Height [in] that an inset near upright adds to the panel of the levers."""
INSET, LABELS = 0.42, 0.27
"""Share of that panel over the curves that the inset takes, and that of its labels in it."""
TOO_SMALL = 0.05
"""A lever below this share of the scale's height is enlarged."""
BEYOND = 12.0
"""How much heel [degree] is shown past the angle of vanishing stability."""


@style.styled
def stability_figure(ds: xr.Dataset, wanted: Sequence[int] | None = None) -> Figure:
    """GZ with the steady heeling lever, dynamical stability, and the paths of B and M."""
    chosen = range(ds.sizes["case"]) if wanted is None else wanted
    distinct = _distinct(ds, chosen)
    shown = distinct[: style.LINES]
    reach = _reach(ds, shown)
    blown = blows(ds, chosen)
    handles = [*_legend(ds, shown, reach), *(sudden_legend() if blown else [])]
    strip = style.strip_height(handles)
    below = SUDDEN if blown else 0.0
    near = _near_upright(ds, shown, reach)
    taller = TALLER if near else 0.0
    figure = style.new_figure(
        cases.title(ds),
        "static stability at the start",
        notes=_notes(len(shown), len(distinct), len(chosen), len(blown)),
        loll=cases.has_loll(ds, shown),
        height=style.HEIGHT + taller + below + strip,
    )
    rows = [3.0 + taller, 1.9, *([0.7 * below] if blown else []), strip]
    grid = GridSpec(len(rows), 1, figure, height_ratios=rows)
    upper = GridSpecFromSubplotSpec(
        2, 2, grid[:2, 0], width_ratios=[1.5, 1.0], height_ratios=rows[:2]
    )
    levers = style.panel(figure, upper[0, 0], "righting lever GZ and steady heeling lever")
    work = style.panel(figure, upper[1, 0], "dynamical stability", sharex=levers)
    paths = style.panel(figure, upper[:, 1], "how M and B move with heel")
    _draw_levers(levers, ds, shown, reach)
    if near:
        _enlarge_loll(levers, ds, shown, near)
    _draw_work(work, ds, shown, reach)
    draw_paths(paths, ds, shown, reach)
    if blown:
        _draw_blows(figure, grid[2, 0], ds, worst(blown), shown)
    style.legend_strip(figure, grid[-1, 0], handles)
    return figure


def _draw_blows(
    figure: Figure, row: SubplotSpec, ds: xr.Dataset, blown: Sequence[Blow], shown: Sequence[int]
) -> None:
    """The sudden levers beside each other on one scale, in the colours of the curves above."""
    lines = {cases.values(ds, "righting_lever", case=c).tobytes(): i for i, c in enumerate(shown)}
    spec = GridSpecFromSubplotSpec(1, len(blown), row)
    panels = []
    for column, blow in enumerate(blown):
        name = cases.case_label(ds, blow[0], [case for case, _ in blown])
        axes = style.panel(figure, spec[0, column])
        axes.set_title(style.literal(name, 120 // len(blown) + 2), loc="left", fontsize=style.TICK)
        lever = cases.values(ds, "righting_lever", case=blow[0]).tobytes()
        draw_sudden(axes, ds, blow, style.cue(lines.get(lever, 0))["color"])
        panels.append(axes)
    one_scale(panels, ds, blown)
    panels[0].set_ylabel("lever [m]")


def _notes(shown: int, distinct: int, chosen: int, blown: int) -> list[str]:
    notes = [
        "G without the effect of free surfaces, Gv raised by them; GZ and the metacentric "
        "height are corrected for free surfaces."
    ]
    if blown:
        notes.append(SUDDEN_NOTE)
    if blown > ACROSS:
        notes.append(f"Sudden levers: the {ACROSS} worst of {blown} cases.")
    if distinct < chosen:
        notes.append("Cases with the same curves are drawn once, under the first one's name.")
    if shown < distinct:
        notes.append(f"Shown: the first {shown} of {distinct} cases with curves of their own.")
    return notes


def _distinct(ds: xr.Dataset, wanted: Sequence[int]) -> list[int]:
    """The first case of each pair of curves: many cases differ in the weather alone."""
    first: dict[bytes, int] = {}
    for case in wanted:
        lever = cases.values(ds, "righting_lever", case=case)
        steady = cases.values(ds, "steady_heeling_lever", case=case)
        first.setdefault(lever.tobytes() + steady.tobytes(), case)
    return list(first.values())


def _reach(ds: xr.Dataset, shown: Sequence[int]) -> float:
    """Heel [degree] to show: a little past vanishing, if there is any; else all that is known."""
    whole = float(np.abs(ds["heel"].values).max())
    names = MARKS["vanishing"][1]
    ends = np.abs([cases.number(ds, name, case=case) for case in shown for name in names])
    known = ends[np.isfinite(ends)]
    return min(whole, float(known.max()) + BEYOND) if known.size else whole


def _legend(ds: xr.Dataset, shown: Sequence[int], reach: float) -> list[Artist]:
    """The cases, each with the marker of its G; the marked angles; the limits within reach."""
    handles: list[Artist] = [
        Line2D(
            [],
            [],
            **style.cue(i),
            marker=style.MARKERS[i],
            markeredgecolor=style.INK,
            label=f"{style.literal(cases.case_label(ds, case, shown), 40)}, {_gm(ds, case)}",
        )
        for i, case in enumerate(shown)
    ]
    if any(np.nan_to_num(cases.values(ds, "steady_heeling_lever", case=c)).any() for c in shown):
        handles.append(Line2D([], [], color=style.INK, linewidth=1.0, label="steady heeling lever"))
    handles += [
        Line2D([], [], linestyle="", color=style.INK, label=kind, **_marker(kind))
        for kind in MARKS
        if any(_angles(ds, case, kind) for case in shown)
    ]
    limits = _limits(ds, shown, reach)
    for name in dict.fromkeys(name for name, _ in limits):
        angles = ", ".join(f"±{angle:.4g}°" for other, angle in limits if other == name)
        handles.append(Line2D([], [], label=f"{cases.LIMITS[name]} {angles}", **_limit_line(name)))
    return handles


def _gm(ds: xr.Dataset, case: int) -> str:
    """GM with its sign."""
    gm = round(cases.number(ds, "gm", case=case), 3)
    return f"GM {gm:+.3f} m".replace("-", "−") if gm else "GM 0.000 m"


def _limits(ds: xr.Dataset, shown: Sequence[int], reach: float) -> list[tuple[str, float]]:
    """The limits [degree] of all cases that lie within reach, each once."""
    limits = {item for case in shown for item in cases.limits(ds, case).items()}
    return sorted((name, angle) for name, angle in limits if angle <= reach)


def _limit_line(name: str) -> dict[str, Any]:
    return {"color": style.FAINT, "linestyle": style.LIMIT_DASHES[name], "linewidth": 1.6}


def _marker(kind: str) -> dict[str, Any]:
    return {
        "marker": MARKS[kind][0],
        "markersize": 9,
        "markerfacecolor": "white",
        "markeredgewidth": 2,
    }


def _angles(ds: xr.Dataset, case: int, kind: str) -> list[float]:
    """The angles [degree] of a kind that a case has."""
    angles = (cases.number(ds, name, case=case) for name in MARKS[kind][1])
    return [angle for angle in angles if np.isfinite(angle)]


def _draw_levers(axes: Axes, ds: xr.Dataset, shown: Sequence[int], reach: float) -> None:
    _ground(axes, _limits(ds, shown, reach), reach)
    heel = ds["heel"].values
    seen = np.abs(heel) <= reach
    for i, case in enumerate(shown):
        steady = np.nan_to_num(cases.values(ds, "steady_heeling_lever", case=case))
        lever = cases.values(ds, "righting_lever", case=case)
        axes.plot(heel[seen], lever[seen], **style.cue(i))
        if steady.any():
            axes.plot(heel[seen], steady[seen], **style.cue(i) | {"linewidth": 1.0})
        for kind in MARKS:
            angles = _angles(ds, case, kind)
            height = (
                at_heel(np.array(angles), heel, steady)
                if kind == "static heel"
                else [0] * len(angles)
            )
            colour = style.cue(i)["color"]
            axes.plot(angles, height, color=colour, linestyle="", zorder=4, **_marker(kind))
    axes.set_ylabel("lever [m]")
    axes.tick_params(labelbottom=False)


def _near_upright(ds: xr.Dataset, shown: Sequence[int], reach: float) -> tuple[float, float] | None:
    """Heel [degree] and lever [m] that an inset shows: where the lever that makes her loll is too
    small to be seen beside the others; else None."""
    heel = np.abs(heels(ds))
    lolls = [
        (case, max(map(abs, angles))) for case in shown if (angles := _angles(ds, case, "loll"))
    ]
    if not lolls:
        return None
    curves = {case: cases.values(ds, "righting_lever", case=case) for case in shown}
    size = max(float(np.nanmax(np.abs(curves[case][heel <= angle]))) for case, angle in lolls)
    seen = np.concatenate([curve[heel <= reach] for curve in curves.values()])
    span = float(np.nanmax(seen) - np.nanmin(seen))
    small = 0.0 < size < TOO_SMALL * span
    return (1.25 * max(angle for _, angle in lolls), size) if small else None


def _enlarge_loll(
    axes: Axes, ds: xr.Dataset, shown: Sequence[int], near_upright: tuple[float, float]
) -> None:
    """An inset near upright, with its labels, over all curves."""
    heel = heels(ds)
    reach, size = near_upright
    near = np.abs(heel) <= reach
    curves = {case: cases.values(ds, "righting_lever", case=case) for case in shown}
    low, high = axes.get_ylim()
    axes.set_ylim(low, low + (high - low) / (1.0 - INSET))
    height = INSET * (1.0 - LABELS)
    inset = axes.inset_axes((0.345, 1.0 - height, 0.31, height), zorder=9)
    axes.set_title(f"{axes.get_title(loc='left')}; inset: near upright", loc="left")
    inset.set_facecolor("white")
    inset.tick_params(labelsize=style.SMALL, pad=1.5)
    inset.locator_params(nbins=3)
    style.zero_line(inset)
    style.zero_line(inset, vertical=True)
    for i, case in enumerate(shown):
        inset.plot(heel[near], curves[case][near], **style.cue(i))
        angles = _angles(ds, case, "loll")
        look = {"color": style.cue(i)["color"], "linestyle": "", "zorder": 4}
        inset.plot(angles, [0.0] * len(angles), **look, **_marker("loll"))
    inset.set_xlim(-reach, reach)
    inset.set_ylim(-2.2 * size, 2.2 * size)


def _ground(axes: Axes, limits: Sequence[tuple[str, float]], reach: float) -> None:
    """The lines at zero, and the limits as upright lines."""
    style.zero_line(axes)
    style.zero_line(axes, vertical=True)
    for name, angle in limits:
        for side in (-angle, angle):
            axes.axvline(side, **_limit_line(name))
    axes.set_xlim(-reach, reach)


def _draw_work(axes: Axes, ds: xr.Dataset, shown: Sequence[int], reach: float) -> None:
    _ground(axes, _limits(ds, shown, reach), reach)
    heel = heels(ds)
    seen = np.abs(heel) <= reach
    for i, case in enumerate(shown):
        area = on_grid(righting(ds, case), heel, "potential")
        axes.plot(heel[seen], area[seen], **style.cue(i))
    axes.set_xlabel(style.axis_text("heel"))
    axes.set_ylabel("area under GZ\nfrom upright [m·rad]")
