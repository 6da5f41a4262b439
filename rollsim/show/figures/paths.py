"""The paths of the metacentre M and of the centre of buoyancy B in ship axes, as the ship heels."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from matplotlib.axes import Axes

from rollsim.show import style
from rollsim.show.query import cases
from rollsim.show.query.curves import Floats

if TYPE_CHECKING:
    import xarray as xr

LABELLED = (0, 10, 20, 30, 40, 50, 60, 75, 90)
"""Heels [degree] that the paths may be labelled at, as far as there is room."""
NEAR = 0.075
"""The least distance of two labels, as a share of the extent of both paths."""


def draw_paths(axes: Axes, ds: xr.Dataset, shown: Sequence[int], reach: float) -> None:
    """M and B up to a heel of `reach` [degree], G of every case; rays join B to M at the labels.

    A hull that is the same on both sides is drawn for heel to starboard alone.
    """
    hulls: dict[bytes, int] = {}
    for place, case in enumerate(shown):
        hulls.setdefault(_path(ds, "metacentre", case).tobytes(), place)
    for place in hulls.values():
        line = {"color": style.INK, "linestyle": "-"} if len(hulls) == 1 else style.cue(place)
        _draw_hull(axes, ds, shown[place], line, reach, labelled=place == 0)
    for place, case in enumerate(shown):
        y, z = (cases.number(ds, f"centre_of_gravity_{axis}", case=case, t=0) for axis in "yz")
        colour = style.cue(place)["color"]
        edge: dict[str, Any] = {"markeredgecolor": style.INK, "markersize": 9, "zorder": 6}
        axes.plot(y, z, marker=style.MARKERS[place], color=colour, **edge)
        if place == 0 and np.isfinite(z):
            _write(axes, "G", (y, z), (-20, -4))
    style.zero_line(axes, vertical=True)
    axes.set_aspect("equal", adjustable="datalim")
    axes.margins(0.1)
    axes.set_xlabel("y, off the centreline,\nto starboard [m]")
    axes.set_ylabel("z, above the keel [m]")


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
    """The heel written beside the path, wherever the last label is far enough away."""
    kept: list[Floats] = []
    for point, angle in zip(points.T, heel, strict=True):
        near = any(np.hypot(*(point - other)) < NEAR * span for other in kept)
        if near or not np.isfinite(point).all():
            continue
        axes.plot(*point, marker=".", markersize=9, color=style.INK, zorder=4)
        words = f"{angle:.0f}°" if kept else f"{letter} {angle:.0f}°"
        _write(axes, words, (float(point[0]), float(point[1])), shift)
        kept.append(point)


def _write(axes: Axes, words: str, point: tuple[float, float], shift: tuple[int, int]) -> None:
    axes.annotate(
        words, point, xytext=shift, textcoords="offset points", fontsize=style.SMALL, zorder=7
    )
