"""Hulls in closed form, and a plain way to cut a section, for the tests and the bench."""

from __future__ import annotations

import math
from collections.abc import Iterable
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from rollsim.ship.hull.form import Box, Hull, Station, from_half_breadths, from_outline
from rollsim.ship.hull.sections import Immersed, immersed, turned

Floats = NDArray[np.float64]
Points = list[tuple[float, float]]


def box(length: float = 100.0, beam: float = 20.0, depth: float = 12.0) -> Hull:
    half = 0.5 * beam
    ends = (from_half_breadths(x, [half, half], [0.0, depth]) for x in (0.0, length))
    return Hull("box", tuple(ends))


def prism(outline: Iterable[tuple[float, float]], length: float = 50.0) -> Hull:
    points = list(outline)
    return Hull("prism", (from_outline(0.0, points), from_outline(length, points)))


def parabolic(
    stations: int, levels: int, length: float = 100.0, beam: float = 10.0, draught: float = 6.25
) -> Hull:
    """y = (B/2)(1 − (2x/L)²)(1 − (z/T)²), z downwards from the water; no hull above it."""
    x = np.linspace(-0.5, 0.5, stations)
    z = np.linspace(0.0, 1.0, levels)
    half = 0.5 * beam * (1.0 - (1.0 - z) ** 2)
    rows = ((1.0 - (2.0 * each) ** 2) * half for each in x)
    return Hull(
        "parabolic",
        tuple(
            from_half_breadths(length * (each + 0.5), row, draught * z)
            for each, row in zip(x, rows, strict=True)
        ),
    )


def coaster_like(boxes: tuple[Box, ...] = ()) -> Hull:
    """A ship-shaped hull: parallel amidships, finer to the ends, flared forward, cut up aft."""
    stations = []
    for x in np.linspace(0.0, 80.0, 17):
        aft, fore = max(0.0, 1.0 - x / 25.0), max(0.0, (x - 50.0) / 30.0)
        half = 6.0 * (1.0 - 0.3 * aft**2 - 0.9 * fore**2)
        heights = np.array([0.0, 0.3, 1.2, 3.0, 5.0, 8.0 + fore])
        keel = 3.0 * aft**2
        shape = np.array([0.0, 0.7, 0.9, 0.97, 1.0, 1.0 + 0.2 * fore])
        stations.append(
            from_half_breadths(float(x), half * shape, keel + heights * (1.0 - keel / 8.0))
        )
    return Hull("ship", tuple(stations), boxes)


def lopsided() -> Hull:
    """A hull that differs from side to side."""
    outlines = [
        [(-3.0, 0.0), (4.0, 0.0), (6.0, 5.0), (6.0, 9.0), (-5.0, 9.0), (-5.0, 3.0)],
        [(-2.0, 0.5), (3.0, 0.0), (5.0, 5.0), (5.5, 9.0), (-4.0, 9.0), (-4.5, 3.0)],
    ]
    order = (1, 0, 0, 1)
    return Hull(
        "lopsided",
        tuple(from_outline(20.0 * i, outlines[which]) for i, which in enumerate(order)),
    )


def cut(outline: Floats, heel: float, water: float) -> Points:
    """A section under water, −y sin φ + z cos φ ≤ `water`, corner by corner in plain Python."""
    c, s = math.cos(heel), math.sin(heel)
    points = [(y * c + z * s, z * c - y * s) for y, z in outline]
    kept: Points = []
    for (w0, v0), (w1, v1) in zip([points[-1], *points[:-1]], points, strict=True):
        if (v0 <= water) != (v1 <= water):
            part = (water - v0) / (v1 - v0)
            kept.append((w0 + part * (w1 - w0), water))
        if v1 <= water:
            kept.append((w1, v1))
    return kept


def area_and_moments(points: Points) -> tuple[float, float, float]:
    """Area, and its first moments along w and v, by triangles from the first corner."""
    area = along = up = 0.0
    if not points:
        return area, along, up
    (a, b), rest = points[0], points[1:]
    for (w0, v0), (w1, v1) in pairwise(rest):
        triangle = 0.5 * ((w0 - a) * (v1 - b) - (w1 - a) * (v0 - b))
        area += triangle
        along += triangle * (a + w0 + w1) / 3.0
        up += triangle * (b + v0 + v1) / 3.0
    return area, along, up


def under_water(hull: Hull, heel: float, height: float, slope: float = 0.0) -> Immersed:
    s = hull.sections
    still = np.zeros(s.along.size)
    return immersed(turned(s.along, s.share, s.first, s.y, s.z, still, heel), height, slope)


def station(along: float, half: Iterable[float], height: Iterable[float]) -> Station:
    return from_half_breadths(along, list(half), list(height))
