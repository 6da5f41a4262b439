"""Tanks by sections: closed outlines from aft to fore, of which areas are joined linearly.

The liquid is what of the sections lies under one level plane, as the hull's own sections are cut
(`hull/sections`, `hull/balance`): exact for polygons at any heel.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from rollsim.compiled import compiled
from rollsim.ship.hull.balance import level
from rollsim.ship.hull.form import Sections, Station
from rollsim.ship.hull.sections import Immersed, Turned, immersed, turned
from rollsim.ship.tanks.base import Centroid, Contents
from rollsim.ship.tanks.box import slosh_period

if TYPE_CHECKING:
    Floats = NDArray[np.float64]
    Integers = NDArray[np.int64]

TINY = 1e-12
"""Share of a cell below which its liquid, or its air, is rounding."""


@dataclass(frozen=True, eq=False)
class SectionTank:
    """A tank of `stations` from aft to fore that liquid of `density` [kg/m³] fills.

    `permeability` is the share that is not structure. Bulkheads along the ship, at equal breadths
    between its outermost sides, part it into `divisions` cells; upright their surfaces stand at one
    height.
    """

    stations: tuple[Station, ...]
    density: float
    permeability: float = 1.0
    divisions: int = 1

    @cached_property
    def cells(self) -> tuple[Sections, ...]:
        """The cells from port to starboard; a strip that holds nothing is none."""
        walls = np.linspace(*self._sides, self.divisions + 1)
        parts = (_cut(self.stations, *strip) for strip in pairwise(walls))
        return tuple(part for part in parts if _upright(part, self.top).volume > 0.0)

    @cached_property
    def _whole(self) -> Sections:
        return _cut(self.stations, *self._sides)

    @cached_property
    def _sides(self) -> tuple[float, float]:
        across = np.concatenate([station.outline[:, 0] for station in self.stations])
        return float(across.min()), float(across.max())

    @cached_property
    def bottom(self) -> float:
        """Its lowest point [m]."""
        return min(float(station.outline[:, 1].min()) for station in self.stations)

    @cached_property
    def top(self) -> float:
        """Its highest point [m]."""
        return max(float(station.outline[:, 1].max()) for station in self.stations)

    @cached_property
    def _volumes(self) -> Floats:
        """Moulded volumes of the cells [m³]."""
        return np.array([_upright(cell, self.top).volume for cell in self.cells])

    @property
    def volume(self) -> float:
        """What it holds, structure left out [m³]."""
        return self.permeability * float(np.sum(self._volumes))

    @property
    def capacity(self) -> float:
        """Mass of the liquid that fills it [kg]."""
        return self.density * self.volume

    def surface_height(self, filling: float) -> float:
        """Height of the surface upright [m]."""
        whole = _upright(self._whole, self.top).volume
        if not 0.0 < filling < 1.0:
            return self.bottom if filling <= 0.0 else self.top
        height = float(level(_turned(self._whole), filling * whole, 0.0, math.inf))
        return self.bottom if math.isnan(height) else height

    def volume_to(self, height: float) -> float:
        """Volume of the liquid whose surface stands at a height upright [m³]."""
        return self.permeability * _upright(self._whole, min(height, self.top)).volume

    def surface_area(self, height: float) -> float:
        """Area of the surface at a height upright, structure left out [m²]."""
        return self.permeability * _upright(self._whole, height).plane

    def centroid(self, filling: float) -> Centroid:
        """Where the liquid lies upright; of an empty tank the middle of its bottom's height."""
        at = _upright(self._whole, self.surface_height(filling))
        if at.volume <= 0.0:
            ends = self.stations[0].along, self.stations[-1].along
            return Centroid(0.5 * sum(ends), 0.5 * sum(self._sides), self.bottom)
        return Centroid(at.along / at.volume, at.across / at.volume, at.up / at.volume)

    def contents(self, filling: float) -> Contents:
        """What each cell holds."""
        height = self.surface_height(filling)
        held = [_upright(cell, height) for cell in self.cells]
        share = np.array([each.volume for each in held]) / self._volumes
        share[share < TINY] = 0.0
        share[(share > 1.0 - TINY) | (filling >= 1.0)] = 1.0
        slack = (share > 0.0) & (share < 1.0)
        surface = np.array([_moment(each) for each in held])
        each = self.density * self.permeability
        return Contents(each * share * self._volumes, share, np.where(slack, each * surface, 0.0))

    def free_surface_moment(self, filling: float) -> float:
        """ρ i of all cells about their own middles [kg m]; 0 where none is slack."""
        return float(np.sum(self.contents(filling).moment)) if 0.0 < filling < 1.0 else 0.0

    def own_square(self, filling: float) -> float:
        """Square of the liquid's radius of gyration in roll about its own middle [m²]."""
        if filling <= 0.0:
            return 0.0
        height, whole = self.surface_height(filling), self._whole
        at = _upright(whole, height)
        borders = np.unique(np.append(whole.z, height))
        square = _spread(_turned(whole), borders[borders <= height]) / at.volume
        return max(square - (at.across / at.volume) ** 2 - (at.up / at.volume) ** 2, 0.0)

    def slosh_period(self, filling: float) -> float:
        """Longest period [s] at which the liquid sloshes across a cell; NaN unless slack.

        That of the rectangle whose surface has the cell's area and moment, and its mean depth.
        """
        if not 0.0 < filling < 1.0:
            return math.nan
        height = self.surface_height(filling)
        held = [_upright(cell, height) for cell in self.cells]
        return max(
            (
                slosh_period(math.sqrt(12.0 * _moment(at) / at.plane), at.volume / at.plane)
                for at in held
                if at.plane > 0.0 and at.volume > 0.0 and _moment(at) > 0.0
            ),
            default=math.nan,
        )


def _cut(stations: tuple[Station, ...], left: float, right: float) -> Sections:
    """What of the stations lies between two walls, with shares of the length as a hull has them.

    Without trim a part of one outline needs one section, wherever along it that is cut.
    """
    places: list[float] = []
    shares: list[float] = []
    outlines: list[Floats] = []
    for aft, fore in pairwise(stations):
        gap = fore.along - aft.along
        if np.array_equal(aft.outline, fore.outline):
            ends = [(0.5 * (aft.along + fore.along), gap, aft.outline)]
        else:
            ends = [(each.along, 0.5 * gap, each.outline) for each in (aft, fore)]
        for place, share, outline in ends:
            if places and place == places[-1] and outline is outlines[-1]:
                shares[-1] += share
            elif share > 0.0:
                places.append(place)
                shares.append(share)
                outlines.append(outline)
    held = [_within(outline, left, right) for outline in outlines]
    vertices = np.concatenate(held)
    first = np.cumsum([0, *map(len, held)]).astype(np.int64)
    y, z = (np.ascontiguousarray(vertices[:, i]) for i in (0, 1))
    return Sections(np.array(places), np.array(shares), first, y, z)


def _within(outline: Floats, left: float, right: float) -> Floats:
    """An outline with its sides cut at two walls and held between them.

    What lies beyond a wall is folded on to it and goes there and back: it encloses nothing.
    """
    points = []
    for start, end in zip(outline, np.roll(outline, -1, axis=0), strict=True):
        cuts = [(wall - start[0]) / (end[0] - start[0]) if end[0] != start[0] else 0.0
                for wall in (left, right)]  # fmt: skip
        points.append(start)
        points += [start + cut * (end - start) for cut in sorted(cuts) if 0.0 < cut < 1.0]
    return np.asarray(np.clip(np.array(points), (left, -math.inf), (right, math.inf)))


def _turned(sections: Sections, heel: float = 0.0) -> Turned:
    s = sections
    return turned(s.along, s.share, s.first, s.y, s.z, np.zeros(s.along.size), heel)


def _upright(sections: Sections, height: float) -> Immersed:
    return immersed(_turned(sections), height, 0.0)


def _moment(at: Immersed) -> float:
    """Second moment of the surface about its own middle [m⁴]."""
    return max(at.plane_ww - at.plane_w**2 / at.plane, 0.0) if at.plane > 0.0 else 0.0


GAUSS = (0.5 - 0.5 / math.sqrt(3.0), 0.5 + 0.5 / math.sqrt(3.0))


@compiled
def _spread(sections: Turned, borders: Floats) -> float:
    """∫ (w² + v²) dV below the last of `borders` [m⁵], between which the sides are straight."""
    total = 0.0
    for i in range(borders.size - 1):
        low, rise = borders[i], borders[i + 1] - borders[i]
        for part in GAUSS:
            height = low + part * rise
            at = immersed(sections, height, 0.0)
            total += 0.5 * rise * (at.plane_ww + height * height * at.plane)
    return total


@compiled
def settled_rows(
    along: Floats,
    share: Floats,
    first: Integers,
    y: Floats,
    z: Floats,
    fillings: Floats,
    heels: Floats,
) -> Floats:
    """Liquid in sections at each of `fillings` and `heels` [rad] (n): rows (n, 4).

    The centroid's w and v [m]; what the surface adds to dw/dφ, its moment over the volume [m]; and
    how that changes with heel [m/rad]. dw/dφ = v + that, dv/dφ = −w.
    """
    rows = np.zeros((heels.size, 4))
    still = np.zeros(along.size)
    guess = math.inf
    for n in range(heels.size):
        sections = turned(along, share, first, y, z, still, heels[n])
        highest = sections.highest.max()
        whole = immersed(sections, highest, 0.0)
        if fillings[n] <= TINY:
            continue
        if fillings[n] >= 1.0 - TINY:
            rows[n, 0], rows[n, 1] = whole.across / whole.volume, whole.up / whole.volume
            continue
        water = level(sections, fillings[n] * whole.volume, 0.0, guess)
        guess = water
        at = immersed(sections, water, 0.0)
        rows[n, 0], rows[n, 1] = at.across / at.volume, at.up / at.volume
        if at.plane > 0.0:
            rows[n, 2] = (at.plane_ww - at.plane_w**2 / at.plane) / at.volume
            rows[n, 3] = _widening(sections, water, at.plane_w / at.plane) / at.volume
    return rows


@compiled
def _widening(sections: Turned, water: float, middle: float) -> float:
    """Change with heel of the surface's moment about its own `middle` [m⁴/rad].

    As she heels the water sinks at w = 0 by `middle`, and where it meets a side of the slope dw/dv
    that moves by water + dw/dv (w − middle).
    """
    total = 0.0
    w, v = sections.w, sections.v
    for i in range(sections.along.size):
        before = sections.first[i + 1] - 1
        for k in range(sections.first[i], sections.first[i + 1]):
            under0, under1 = v[before] <= water, v[k] <= water
            if under0 != under1:
                slope = (w[k] - w[before]) / (v[k] - v[before])
                off = w[before] + slope * (water - v[before]) - middle
                side = 1.0 if under0 else -1.0
                total += sections.share[i] * side * off * off * (water + slope * off)
            before = k
    return total
