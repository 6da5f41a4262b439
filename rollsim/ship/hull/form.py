"""The form of a hull: sections along her length, each a closed outline with a share of the length.

Between stations areas and moments are joined linearly in position, so that a volume is the sum of
the sections' areas times half the distances to their neighbours. Prismatic parts, between two equal
stations and in boxes that add buoyancy, are cut at Gauss points instead, two for each piece of her
length: exact, also where she trims. In ship axes: x forward of the after end, y to starboard, z
above the keel line [m].
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]
Cut = tuple[float, float, Floats]
"""Where a section is cut [m], the length that it stands for [m], its outline."""

PIECES = 20
"""Pieces of her length into which prismatic parts are divided, for waves of that length."""


class UnfloatableError(ValueError):
    """A hull that does not float as asked: what stands against it, and what would help."""

    def __init__(self, problem: str, hint: str) -> None:
        super().__init__(problem)
        self.problem, self.hint = problem, hint


@dataclass(frozen=True)
class Box:
    """A buoyant box of which all water is kept out, its six sides in metres."""

    aft: float
    fore: float
    port: float
    starboard: float
    bottom: float
    top: float

    @property
    def corners(self) -> Floats:
        """Its section as an outline (4, 2)."""
        sides = (self.port, self.starboard, self.starboard, self.port)
        return np.stack((sides, (self.bottom, self.bottom, self.top, self.top)), axis=1)


@dataclass(frozen=True)
class Opening:
    """Where water comes in once the sea reaches it [m]."""

    name: str
    along: float
    across: float
    height: float


@dataclass(frozen=True, eq=False)
class Station:
    """A section of the hull at `along` [m]: its closed outline (n, 2), y and z, anticlockwise.

    `deck_edge` is the deck at side (y, z), None where the outline does not tell it.
    """

    along: float
    outline: Floats
    deck_edge: tuple[float, float] | None = None


@dataclass(frozen=True, eq=False)
class Sections:
    """Outlines one after the other as compiled code reads them.

    `along` [m] and `share` of the length [m] (n); the vertices of section i are `y`, `z` from
    first[i] to first[i + 1].
    """

    along: Floats
    share: Floats
    first: Integers
    y: Floats
    z: Floats


@dataclass(frozen=True, eq=False)
class Hull:
    """A hull of stations from aft to fore, with boxes that add buoyancy and openings."""

    name: str
    stations: tuple[Station, ...]
    boxes: tuple[Box, ...] = ()
    openings: tuple[Opening, ...] = ()
    given_length: float | None = None

    @property
    def length(self) -> float:
        """Her length [m]: that of the file, or from the first station to the last."""
        return self.given_length or self.stations[-1].along - self.stations[0].along

    @property
    def middle(self) -> float:
        """Where amidships is [m]: half-way between the first and the last station."""
        return 0.5 * (self.stations[0].along + self.stations[-1].along)

    @cached_property
    def sections(self) -> Sections:
        """The stations and boxes as sections with their shares of the length."""
        cuts = [cut for pair in pairwise(self.stations) for cut in self._between(*pair)]
        for box in self.boxes:
            cuts += self._prismatic(box.aft, box.fore, box.corners)
        vertices = np.concatenate([outline for _, _, outline in cuts])
        first = np.cumsum([0, *(len(outline) for _, _, outline in cuts)]).astype(np.int64)
        y, z = (np.ascontiguousarray(vertices[:, i]) for i in (0, 1))
        along, share = (np.array([cut[i] for cut in cuts], dtype=np.float64) for i in (0, 1))
        return Sections(along, share, first, y, z)

    def _between(self, aft: Station, fore: Station) -> list[Cut]:
        """The sections that stand for the part between two stations."""
        gap = fore.along - aft.along
        if gap == 0.0:
            return []
        if np.array_equal(aft.outline, fore.outline):
            return self._prismatic(aft.along, fore.along, aft.outline)
        return [(each.along, 0.5 * gap, each.outline) for each in (aft, fore)]

    def _prismatic(self, aft: float, fore: float, outline: Floats) -> list[Cut]:
        """The sections that stand for a part of one outline."""
        pieces = max(1, math.ceil(PIECES * (fore - aft) / self.length - 1e-9))
        half = 0.5 * (fore - aft) / pieces
        middles = aft + half * (2.0 * np.arange(pieces) + 1.0)
        return [
            (float(middle + side * half / math.sqrt(3.0)), half, outline)
            for middle in middles
            for side in (-1.0, 1.0)
        ]

    @cached_property
    def symmetric(self) -> bool:
        """Whether port and starboard are alike."""
        outlines = all(_mirrored(station.outline) for station in self.stations)
        sides = {(b.aft, b.fore, b.bottom, b.top, b.port, b.starboard) for b in self.boxes}
        return outlines and sides == {(*s[:4], -s[5], -s[4]) for s in sides}

    @property
    def beam(self) -> float:
        """Greatest breadth over the stations [m]."""
        return max(float(np.ptp(station.outline[:, 0])) for station in self.stations)

    @property
    def depth(self) -> float:
        """Height of the deck at side, or of the outline's top, at the station nearest amidships."""
        nearest = min(self.stations, key=lambda station: abs(station.along - self.middle))
        if nearest.deck_edge is not None:
            return nearest.deck_edge[1]
        return float(nearest.outline[:, 1].max())

    @cached_property
    def deck_edges(self) -> Floats:
        """The deck at side to starboard, x, y and z (n, 3), where a station has breadth there."""
        known = [
            (station.along, *station.deck_edge)
            for station in self.stations
            if station.deck_edge is not None and station.deck_edge[0] > 0.0
        ]
        return np.array(known, dtype=np.float64).reshape(-1, 3)

    @property
    def midship(self) -> Floats:
        """The closed outline of the fullest station, y and z (n, 2)."""
        areas = [area_of(station.outline) for station in self.stations]
        return self.stations[int(np.argmax(areas))].outline


def from_half_breadths(along: float, half_breadth: ArrayLike, height: ArrayLike) -> Station:
    """A station alike on both sides, from the keel up to the deck at side; it is flat on top."""
    y, z = (np.asarray(values, dtype=np.float64) for values in (half_breadth, height))
    starboard = np.stack((y, z), axis=1)
    port = np.stack((-y, z), axis=1)[::-1]
    inner = port[int(y[-1] == 0.0) : len(port) - int(y[0] == 0.0)]  # the centreline stands once
    outline = np.concatenate((starboard, inner))
    return Station(along, outline, (float(y[-1]), float(z[-1])))


def from_outline(along: float, outline: ArrayLike) -> Station:
    """A station of a closed outline, either way round."""
    points = np.asarray(outline, dtype=np.float64)
    return Station(along, points[::-1].copy() if area_of(points) < 0.0 else points)


def area_of(outline: Floats) -> float:
    """Area inside a closed outline [m²], negative where it runs clockwise."""
    y, z = outline[:, 0], outline[:, 1]
    return 0.5 * float(np.sum(y * np.roll(z, -1) - np.roll(y, -1) * z))


def crossing(outline: Floats, closed: bool = True) -> tuple[int, int] | None:
    """The first two sides of an outline that cross each other, by their first points; or None.

    Sides that touch do not cross: a waist of no breadth parts a bulb from the hull above.
    """
    start = outline if closed else outline[:-1]
    end = np.roll(outline, -1, axis=0) if closed else outline[1:]
    for i in range(len(start) - 2):
        others = slice(i + 2, len(start))
        near, far = _side(start[i], end[i], start[others]), _side(start[i], end[i], end[others])
        own = _side(start[others], end[others], start[i]), _side(start[others], end[others], end[i])
        crossed = np.flatnonzero((near * far < 0.0) & (own[0] * own[1] < 0.0))
        if crossed.size:
            return i, i + 2 + int(crossed[0])
    return None


def overlap(outline: Floats, box: Box) -> float:
    """Area of an outline [m²] that lies within the section of a box."""
    from rollsim.ship.hull.sections import area_within

    return area_within(np.ascontiguousarray(outline), box.port, box.starboard, box.bottom, box.top)


def _side(start: Floats, end: Floats, point: Floats) -> Floats:
    """Twice the area of start, end, point: above 0 where the point lies to the left."""
    along, to = np.asarray(end) - start, np.asarray(point) - start
    return np.asarray(along[..., 0] * to[..., 1] - along[..., 1] * to[..., 0])


def _mirrored(outline: Floats) -> bool:
    """Whether an outline is its own mirror image, to rounding."""
    points = outline[np.lexsort((outline[:, 0], outline[:, 1]))]
    other = outline * (-1.0, 1.0)
    other = other[np.lexsort((other[:, 0], other[:, 1]))]
    return bool(np.allclose(points, other, rtol=0.0, atol=1e-12))
