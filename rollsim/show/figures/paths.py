"""The paths of the metacentre M and of the centre of buoyancy B in ship axes, as the ship heels."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.font_manager import FontProperties
from matplotlib.text import OffsetFrom
from matplotlib.textpath import TextPath

from rollsim.show import style
from rollsim.show.query import cases
from rollsim.show.query.curves import Floats, at_heel, free_surface, heels

if TYPE_CHECKING:
    import xarray as xr

LABELLED = (0, 10, 20, 30, 40, 50, 60, 75, 90)
"""Heels [degree] that the paths may be labelled at, as far as there is room."""
NEAR, WIDER = 0.08, 0.035
"""The least distance of two labels, as a share of the extent of both paths, and for a long label
that of each of its characters."""
LINE = 0.045
"""The least distance of two names in the column, as a share of the panel's height."""
COLUMN = 0.35
"""The room for the column of names, as a share of what the paths take across."""


def draw_paths(axes: Axes, ds: xr.Dataset, shown: Sequence[int], reach: float) -> None:
    """M and B up to a heel of `reach` [degree], G of every case; rays join B to M at the labels.

    A hull that is the same on both sides is drawn for heel to starboard alone. What lies near the
    centreline (M upright, every G, and Gv, raised by free surfaces) is named in a column beside
    the paths, in its true order of height, each name with a line to its point.
    """
    hulls: dict[bytes, int] = {}
    for i, case in enumerate(shown):
        hulls.setdefault(_path(ds, "metacentre", case).tobytes(), i)
    for i in hulls.values():
        line = {"color": style.INK, "linestyle": "-"} if len(hulls) == 1 else style.cue(i)
        _draw_hull(axes, ds, shown[i], line, reach, labelled=i == 0)
    names = _draw_gravity(axes, ds, shown)
    names |= _upright(ds, shown[0])
    style.zero_line(axes, vertical=True)
    axes.set_aspect("equal", adjustable="datalim")
    axes.margins(0.1)
    _room_below(axes)
    _name(axes, names)
    axes.set_xlabel("y, off the centreline,\nto starboard [m]")
    axes.set_ylabel("z, above the keel [m]")


def _room_below(axes: Axes) -> None:
    """Room for the labels under B and over M, which equal scales would else take away."""
    limits = axes.dataLim
    low, high = limits.y0 - 0.08 * limits.height, limits.y1 + 0.06 * limits.height
    axes.update_datalim([(0.0, low), (0.0, high)])


Names = dict[str, tuple[float, float]]
"""What is named in the column, and where it is [m]."""


def _draw_gravity(axes: Axes, ds: xr.Dataset, shown: Sequence[int]) -> Names:
    """The markers of every G, hollow where free surfaces raise it; one name for one place."""
    at: dict[tuple[str, float, float], list[int]] = {}
    for i, case in enumerate(shown):
        y, z = (cases.number(ds, f"centre_of_gravity_{axis}", case=case, t=0) for axis in "yz")
        if not np.isfinite(z):
            continue
        points = {"G": z, "Gv": z + free_surface(ds, case)}
        for letter, height in points.items():
            if letter == "Gv" and height == z:
                continue
            face = {"markerfacecolor": "white"} if letter == "Gv" else {}
            edge: dict[str, Any] = {"markeredgecolor": style.INK, "markersize": 9, "zorder": 6}
            axes.plot(
                y, height, marker=style.MARKERS[i], color=style.cue(i)["color"], **edge | face
            )
            at.setdefault((letter, round(y, 4), round(height, 4)), []).append(case)
    every = set(shown)
    return {_which(ds, letter, group, every): (y, z) for (letter, y, z), group in at.items()}


def _which(ds: xr.Dataset, letter: str, group: Sequence[int], every: set[int]) -> str:
    """The letter, with the numbers of its cases where others have theirs elsewhere."""
    if set(group) == every:
        return letter
    numbers = [str(cases.number_of(ds, "case", case)) for case in group]
    return f"{letter} of {', '.join(numbers)}"


def _upright(ds: xr.Dataset, case: int) -> Names:
    """M upright."""
    grid = heels(ds)
    y, z = (float(at_heel(np.zeros(1), grid, axis)[0]) for axis in _path(ds, "metacentre", case))
    return {"M 0°": (y, z)} if np.isfinite(z) else {}


def _name(axes: Axes, names: Names) -> None:
    """The names in a column at the left, from the top down, with lines to their points."""
    if not names:
        return
    limits = axes.dataLim
    axes.update_datalim([(limits.x0 - COLUMN * max(limits.width, 0.3 * limits.height), limits.y0)])
    axes.autoscale_view()
    low, high = axes.get_ylim()
    ordered = sorted(names.items(), key=lambda item: -item[1][1])
    true = np.array([(z - low) / (high - low) for _, (_, z) in ordered])
    apart = true.copy()
    for i in range(1, apart.size):  # none nearer to the one above it than a line of text
        apart[i] = min(apart[i], apart[i - 1] - LINE)
    apart += float(np.mean(true - apart))
    # All lines begin at the end of the longest name, so that none crosses another name.
    end = 8.0 + max(_width(words) for words in names)
    for (words, point), height in zip(ordered, np.clip(apart, 0.02, 0.96), strict=True):
        axes.annotate(
            words, point, xytext=(end, 0.0),
            textcoords=OffsetFrom(axes.bbox, (0.0, float(height)), "points"),
            fontsize=style.SMALL, ha="right", va="center", zorder=7,
            arrowprops={"arrowstyle": "-", "color": style.INK, "linewidth": 0.8, "shrinkB": 4},
        )  # fmt: skip


def _width(words: str) -> float:
    """How wide a name is drawn [pt]."""
    font = FontProperties(family=[style.FONT])
    return float(TextPath((0.0, 0.0), words, size=style.SMALL, prop=font).get_extents().width)


def _draw_hull(
    axes: Axes, ds: xr.Dataset, case: int, line: dict[str, Any], reach: float, *, labelled: bool
) -> None:
    heel = np.asarray(ds["heel"].values, dtype=float)
    m, b = _path(ds, "metacentre", case), _path(ds, "buoyancy", case)
    seen = (np.abs(heel) <= reach) & (heel >= (0.0 if _both_alike(m) else -reach))
    heel, m, b = heel[seen], m[:, seen], b[:, seen]
    for points in (m, b):
        axes.plot(*points, **line, zorder=3)
    if not labelled:
        return
    at = [int(np.argmin(np.abs(heel - angle))) for angle in LABELLED if angle <= heel.max()]
    axes.plot(
        np.stack([b[0, at], m[0, at]]), np.stack([b[1, at], m[1, at]]), color=style.FAINT, lw=0.8
    )
    span = _span(m, b)
    _label_path(axes, "M", m[:, at], heel[at], span, (8, 4))
    _label_path(axes, "B", b[:, at], heel[at], span, (4, -15))


def _path(ds: xr.Dataset, what: str, case: int) -> Floats:
    return np.stack([cases.values(ds, f"{what}_{axis}", case=case) for axis in "yz"])


def _both_alike(path: Floats) -> bool:
    """Whether a path is its own mirror image."""
    mirrored = path[:, ::-1] * np.array([[-1.0], [1.0]])
    return bool(np.allclose(path, mirrored, atol=1e-6, equal_nan=True))


def _span(*paths: Floats) -> float:
    """The greatest extent [m] of all points of the paths."""
    points = np.concatenate(paths, axis=1)
    points = points[:, np.isfinite(points).all(axis=0)]
    return float(np.ptp(points, axis=1).max()) if points.size else 1.0


def _label_path(
    axes: Axes, letter: str, points: Floats, heel: Floats, span: float, shift: tuple[int, int]
) -> None:
    """The heel written beside the path, wherever the last label is far enough away.

    M upright has its name in the column: it may lie under the marker of a G.
    """
    kept: list[tuple[Floats, float]] = []
    for point, angle in zip(points.T, heel, strict=True):
        words = f"{angle:.0f}°" if kept else f"{letter} {angle:.0f}°"
        near = any(np.hypot(*(point - other)) < max(NEAR, width) * span for other, width in kept)
        if near or not np.isfinite(point).all():
            continue
        axes.plot(*point, marker=".", markersize=7, color=style.INK, zorder=8)
        written = letter != "M" or bool(kept)
        if written:
            where = (float(point[0]), float(point[1]))
            axes.annotate(
                words,
                where,
                xytext=shift,
                textcoords="offset points",
                fontsize=style.SMALL,
                zorder=7,
            )
        kept.append((point, WIDER * len(words) if written else NEAR))
