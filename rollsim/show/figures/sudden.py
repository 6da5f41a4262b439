"""A sudden heeling lever against the righting lever: the equal areas and the dynamical heel."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from rollsim.show import style
from rollsim.show.query import cases
from rollsim.show.query.acting import Sudden, heels_between, sudden
from rollsim.show.query.curves import at_heel, heels

if TYPE_CHECKING:
    import xarray as xr

ACROSS = 3
"""So many cases are drawn beside each other."""
HEELING: dict[str, Any] = {
    "facecolor": "#f6c9a0",
    "edgecolor": "#9a5a12",
    "hatch": "\\\\\\",
    "linewidth": 0.0,
}
RIGHTING: dict[str, Any] = {
    "facecolor": "#bcd5f5",
    "edgecolor": "#2f5f9e",
    "hatch": "///",
    "linewidth": 0.0,
}
NOTE = (
    "Equal areas: a sudden lever (one that grows within two fifths of her roll period) meets her "
    "where she hangs or lies at rest and drives her, undamped and without waves, to the dynamical "
    "heel, at which the righting lever has done the work of the heeling lever. Where there is no "
    "equal area she would go over; damping and a slower growth may save her."
)

Blow = tuple[int, Sudden]
"""A case and the lever that meets it."""


def blows(ds: xr.Dataset, chosen: Sequence[int]) -> list[Blow]:
    """The cases that a sudden lever meets, those of equal curves, levers and starts once."""
    first: dict[tuple[bytes, bytes, float], Blow] = {}
    for case in chosen:
        blow = sudden(ds, case)
        if blow:
            lever = cases.values(ds, "righting_lever", case=case)
            key = lever.tobytes(), blow.lever.tobytes(), round(blow.start, 3)
            first.setdefault(key, (case, blow))
    return list(first.values())


def worst(blown: Sequence[Blow]) -> list[Blow]:
    """Those that are driven over, then furthest, as many as are drawn, in their own order."""
    reach = [abs(blow.reach) if np.isfinite(blow.reach) else np.inf for _, blow in blown]
    order = sorted(range(len(blown)), key=lambda i: -reach[i])
    return [blown[i] for i in sorted(order[:ACROSS])]


def draw_sudden(axes: Axes, ds: xr.Dataset, blow: Blow, colour: str) -> None:
    """GZ, the steady and the sudden lever of a case, the areas between them, the heels in words."""
    case, seen = blow
    grid = heels(ds)
    righting = cases.values(ds, "righting_lever", case=case)
    steady = np.nan_to_num(cases.values(ds, "steady_heeling_lever", case=case))
    far = seen.reach if np.isfinite(seen.reach) else seen.end
    style.zero_line(axes)
    style.zero_line(axes, vertical=True)
    axes.plot(grid, righting, color=colour)
    axes.plot(grid, seen.lever, color=style.INK, linewidth=1.6, linestyle=style.DASHES[1])
    if steady.any():
        axes.plot(grid, steady, color=style.INK, linewidth=1.0)
    parts = ((seen.start, seen.balance, HEELING), (seen.balance, far, RIGHTING))
    for low, high, look in parts:
        if np.isfinite(low) and np.isfinite(high):
            heel = heels_between(ds, low, high)
            own, driving = (at_heel(heel, grid, curve) for curve in (righting, seen.lever))
            axes.fill_between(heel, own, driving, zorder=1, **look)
    for angle, name in ((seen.start, "from"), (seen.reach, "to")):
        if np.isfinite(angle):
            lever = float(at_heel(np.array([angle]), grid, seen.lever)[0])
            axes.plot(angle, lever, **_mark(name))
    axes.text(
        0.02, 0.98, _words(seen), transform=axes.transAxes, va="top", fontsize=style.SMALL,
        bbox={"facecolor": "white", "edgecolor": "none", "pad": 1.5, "alpha": 0.85}, zorder=8,
    )  # fmt: skip
    axes.set_xlabel("heel, starboard down [°]")


def one_scale(panels: Sequence[Axes], ds: xr.Dataset, blown: Sequence[Blow]) -> None:
    """Give all panels the scale in which each of them finds room, words above the curves."""
    grid = heels(ds)
    ends = [[seen.start, seen.end, seen.balance, 0.0] for _, seen in blown]
    low, high = np.nanmin(ends) - 8.0, np.nanmax(ends) + 8.0
    levers = [0.0]
    for case, seen in blown:  # what lies beyond the areas may leave the panel
        inside = heels_between(ds, seen.start, seen.end)
        for curve in (cases.values(ds, "righting_lever", case=case), seen.lever):
            levers += [*at_heel(inside, grid, curve)]
    least, most = float(np.nanmin(levers)), float(np.nanmax(levers))
    for axes in panels:
        axes.set_xlim(low, high)
        axes.set_ylim(least - 0.12 * (most - least), most + 0.38 * (most - least))


def _mark(name: str) -> dict[str, Any]:
    filled = {"from": "white", "to": style.INK}[name]
    look: dict[str, Any] = {
        "marker": "D",
        "markersize": 6,
        "markeredgewidth": 1.6,
        "linestyle": "none",
    }
    return look | {"color": style.INK, "markerfacecolor": filled, "zorder": 6}


def _words(seen: Sudden) -> str:
    """What the lever is, where it meets her and how far it drives her."""
    start = f"{seen.words}; meets her at {_heel(seen.start)}"
    if np.isfinite(seen.reach):
        return f"{start}\ndynamical heel {_heel(seen.reach)}"
    return f"{start}\nno equal area: undamped she goes over"


def _heel(angle: float) -> str:
    """A heel in words: "12.3° S"."""
    size = f"{abs(angle):.1f}°"
    return size if size == "0.0°" else f"{size} {'S' if angle > 0.0 else 'P'}"


def legend_of() -> list[Artist]:
    """What the panels of sudden levers add to the legend."""
    return [
        Line2D([], [], color=style.INK, linewidth=1.6, linestyle=style.DASHES[1],
               label="gust or sudden lever"),
        Patch(**HEELING, label="work of the lever"),
        Patch(**RIGHTING, label="righting work"),
        Line2D([], [], **_mark("from"), label="meets her"),
        Line2D([], [], **_mark("to"), label="dynamical heel"),
    ]  # fmt: skip
