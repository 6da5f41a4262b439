"""Tanks that are rectangular boxes: closed forms at any filling and heel."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from rollsim.constants import GRAVITY
from rollsim.ship.hull.form import Box, Station
from rollsim.ship.tanks.base import BoxCell, Centroid, Contents

Floats = NDArray[np.float64]


def slosh_period(breadth: float, depth: float) -> float:
    """Longest period [s] of liquid across a rectangle of a `breadth`, filled to a `depth` [m].

    ω² = (π g / b) tanh(π h / b), linear waves (Lamb, Hydrodynamics; the standing wave of half a
    length). Long for a thin layer.
    """
    turn = math.pi / breadth
    return math.tau / math.sqrt(GRAVITY * turn * math.tanh(turn * depth))


@dataclass(frozen=True)
class BoxTank:
    """A box between its six sides [m] that liquid of `density` [kg/m³] fills.

    `permeability` is the share of the box that is not structure. Bulkheads along the ship part it
    into `divisions` cells of one breadth, all filled alike.
    """

    aft: float
    fore: float
    port: float
    starboard: float
    bottom: float
    top: float
    density: float
    permeability: float = 1.0
    divisions: int = 1

    @property
    def breadth(self) -> float:
        """Breadth of one cell [m]."""
        return (self.starboard - self.port) / self.divisions

    @property
    def height(self) -> float:
        """Height [m]."""
        return self.top - self.bottom

    @property
    def plan_area(self) -> float:
        """Area of the level surface upright, structure left out [m²]."""
        return (self.fore - self.aft) * (self.starboard - self.port) * self.permeability

    @property
    def volume(self) -> float:
        """What it holds, structure left out [m³]."""
        return self.plan_area * self.height

    @property
    def capacity(self) -> float:
        """Mass of the liquid that fills it [kg]."""
        return self.density * self.volume

    @property
    def stations(self) -> tuple[Station, ...]:
        """Its two ends."""
        sides = self.aft, self.fore, self.port, self.starboard, self.bottom, self.top
        corners = Box(*sides).corners
        return Station(self.aft, corners), Station(self.fore, corners)

    @property
    def cells(self) -> tuple[BoxCell, ...]:
        """All cells as one, for they are alike."""
        return (BoxCell(self.breadth, self.height),)

    def surface_height(self, filling: float) -> float:
        """Height of the surface upright [m]."""
        return self.bottom + filling * self.height

    def volume_to(self, height: float) -> float:
        """Volume of the liquid whose surface stands at a height upright [m³]."""
        return self.plan_area * min(max(height - self.bottom, 0.0), self.height)

    def surface_area(self, height: float) -> float:
        """Area of the surface at a height upright, structure left out [m²]."""
        return self.plan_area if self.bottom <= height <= self.top else 0.0

    def centroid(self, filling: float) -> Centroid:
        """Where the liquid lies upright."""
        middle = 0.5 * (self.aft + self.fore), 0.5 * (self.port + self.starboard)
        return Centroid(*middle, self.bottom + 0.5 * filling * self.height)

    def contents(self, filling: float) -> Contents:
        """What its cells hold together."""
        numbers = self.capacity * filling, filling, self.free_surface_moment(filling)
        return Contents(*(np.array([each]) for each in numbers))

    def free_surface_moment(self, filling: float) -> float:
        """ρ i [kg m]: i = n l b³ / 12 of n cells of breadth b; 0 unless slack."""
        if not 0.0 < filling < 1.0:
            return 0.0
        return self.density * self.plan_area * self.breadth**2 / 12.0

    def own_square(self, filling: float) -> float:
        """Square of the liquid's radius of gyration in roll about its own middle [m²]."""
        return ((self.starboard - self.port) ** 2 + (filling * self.height) ** 2) / 12.0

    def slosh_period(self, filling: float) -> float:
        """Longest period [s] at which the liquid sloshes across a cell; NaN unless slack."""
        if not 0.0 < filling < 1.0:
            return math.nan
        return slosh_period(self.breadth, filling * self.height)


class Settled(NamedTuple):
    """Where the liquid lies in a box, from the box's middle: y, z of its centroid [m].

    `surface` [m] is the breadth of its surface, `widening` its change with heel [m/rad].
    """

    y: Floats
    z: Floats
    surface: Floats
    widening: Floats


def settled(breadth: ArrayLike, height: ArrayLike, filling: ArrayLike, heel: ArrayLike) -> Settled:
    """Liquid in a rectangle of `breadth` and `height` [m], filled by a share, at a heel [rad].

    Exact at any heel. A part below half full has one of three forms, seen from its lowest corner: a
    trapezium across the box, one up it, or a triangle. Above half full the air has them.
    """
    b, h, part, phi = np.broadcast_arrays(
        *(np.asarray(each, dtype=np.float64) for each in (breadth, height, filling, heel))
    )
    sine, cosine = np.sin(phi), np.cos(phi)
    u, v = np.abs(sine), np.abs(cosine)
    less = np.minimum(part, 1.0 - part)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        x, z, surface, widening = _lowest_part(b, h, less, u, v)
        air = part > 0.5
        scale = np.where(air, less / part, 1.0)
    x, z = (np.where(less > 0.0, each, middle) for each, middle in ((x, 0.5 * b), (z, 0.5 * h)))
    # To starboard down the lowest corner is the starboard one; the air is highest to port, and so
    # the liquid's own middle moves the same way.
    y = np.sign(sine) * scale * (0.5 * b - x)
    z = np.where(cosine < 0.0, -1.0, 1.0) * scale * (z - 0.5 * h)
    none = less <= 0.0
    turn = np.sign(sine) * np.sign(cosine)
    empty = part <= 0.0
    z = np.where(empty, -0.5 * h, np.where(part >= 1.0, 0.0, z))
    y = np.where(none, 0.0, y)
    return Settled(y, z, np.where(none, 0.0, surface), np.where(none, 0.0, turn * widening))


def _lowest_part(
    b: Floats, h: Floats, part: Floats, u: Floats, v: Floats
) -> tuple[Floats, Floats, Floats, Floats]:
    """Centroid from the lowest corner, breadth of the surface and its change with the angle.

    `part` at most ½ of the rectangle, below a surface inclined by tan θ = u/v to its base b.
    """
    up, across = u / v, v / u
    flat, steep = part * h >= 0.5 * up * b, part * b >= 0.5 * across * h
    leg = np.sqrt(2.0 * part * b * h * across)
    rise = np.sqrt(2.0 * part * b * h * up)
    length = np.hypot(leg, rise)

    def chosen(by_flat: Floats, by_steep: Floats, by_corner: Floats) -> Floats:
        return np.where(flat, by_flat, np.where(steep, by_steep, by_corner))

    return (
        chosen(
            0.5 * b - up * b**2 / (12.0 * part * h),
            0.5 * part * b + (across * h) ** 2 / (24.0 * part * b),
            leg / 3.0,
        ),
        chosen(
            0.5 * part * h + (up * b) ** 2 / (24.0 * part * h),
            0.5 * h - across * h**2 / (12.0 * part * b),
            rise / 3.0,
        ),
        chosen(b / v, h / u, length),
        chosen(b * up / v, -h * across / u, part * b * h * (1.0 / v**2 - 1.0 / u**2) / length),
    )
