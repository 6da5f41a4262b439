"""Hulls: KN of 20 displacements at 37 heels, free to trim, from 41 stations; levers in waves.

Against a plain loop that clips each section in Python, and against shapely's vectorised clipping
where that library is installed.
"""

from __future__ import annotations

import math
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np

from rollsim.ship.hull.curves import DENSITY, Curves, whole_volume
from rollsim.ship.hull.form import Hull
from rollsim.ship.hull.sections import immersed, turned
from tests.bench.table import Row, cpu

sys.path.append(str(Path(__file__).parents[1] / "ship" / "hull"))

from hull_samples import area_and_moments, cut, parabolic

PLANES = 40


def rows() -> Iterator[Row]:
    """The figures of hulls."""
    hull = parabolic(41, 12)
    shares = np.linspace(0.2, 0.8, 20)
    displacement = shares * whole_volume(hull) * DENSITY
    heel = np.radians(np.linspace(0.0, 90.0, 37))
    start = time.process_time()
    Curves(hull, displacement[:1]).kn(heel[:2])
    yield Row("hull, first call, compiled code read or made", time.process_time() - start, "s")
    seconds = cpu(lambda: Curves(hull, displacement).kn(heel))
    yield Row("hull, 20 displacements x 37 heels, 41 stations, free trim", seconds, "s", most=5.0)
    waves = np.linspace(-4.0, 4.0, 16)
    nineteen = np.radians(np.linspace(0.0, 90.0, 19))
    seconds = cpu(lambda: Curves(hull, displacement[10:11]).kn(nineteen, waves))
    yield Row("hull, levers in waves, 19 heels x 16 positions", seconds, "s", most=20.0)
    ours = cpu(lambda: _compiled(hull)) / PLANES
    plain = cpu(lambda: _plain(hull), 1) / PLANES
    yield Row("hull, one plane of water through 41 sections", 1e6 * ours, "us")
    yield Row("hull, a plain loop that clips each section, over ours", plain / ours, "x", least=1.0)
    library = _library(hull)
    if library is not None:
        yield Row(
            "hull, shapely's vectorised clipping, over ours", cpu(library) / PLANES / ours, "x"
        )


def _planes() -> Iterator[tuple[float, float]]:
    """Heels [rad] and heights [m] of the water."""
    for i in range(PLANES):
        yield math.radians(2.0 * i), 3.0 + 0.05 * i


def _compiled(hull: Hull) -> None:
    s = hull.sections
    still = np.zeros(s.along.size)
    for heel, height in _planes():
        immersed(turned(s.along, s.share, s.first, s.y, s.z, still, heel), height, 0.0)


def _plain(hull: Hull) -> None:
    for heel, height in _planes():
        for station in hull.stations:
            area_and_moments(cut(station.outline, heel, height))


def _library(hull: Hull) -> Callable[[], None] | None:
    """All sections cut by a half-plane at once, area and centroid, in shapely."""
    try:
        import shapely
    except ImportError:
        return None
    polygons = np.array([shapely.Polygon(station.outline) for station in hull.stations])
    far = 100.0

    def work() -> None:
        for heel, height in _planes():
            c, s = math.cos(heel), math.sin(heel)
            corners = [(-far, height), (far, height), (far, -far), (-far, -far)]
            half = shapely.Polygon([(w * c - v * s, w * s + v * c) for w, v in corners])
            under = shapely.intersection(polygons, half)
            shapely.area(under)
            shapely.centroid(under)

    return work
