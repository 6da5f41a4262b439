"""Levers of form KN over heel, and the position of G that turns them into righting levers.

KN is the hull's alone; gravity stands apart, so that a moved weight or a filled tank needs no new
curve. Angles in radians, positive starboard down; lengths in metres.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from rollsim.errors import LeverRangeError
from rollsim.ship.liquid import LiquidLever

if TYPE_CHECKING:
    from scipy.interpolate import PPoly

Floats = NDArray[np.float64]

EMPTY: Floats = np.zeros(0)
NO_SPLINE: Floats = np.zeros((4, 0))
GRID_STEP = math.radians(0.1)
RANGE_SLACK = 1e-12
"""Rounding allowed at the ends of the heel range [rad]: 90 degrees is no exact number."""


@dataclass(frozen=True)
class Gravity:
    """Where G lies: height above keel, off the centreline (+ to starboard), free-surface rise."""

    kg: float
    off_centre: float = 0.0
    free_surface: float = 0.0

    @property
    def virtual_kg(self) -> float:
        """Height of G with the virtual rise by free surfaces [m]."""
        return self.kg + self.free_surface


class LeverGrid(NamedTuple):
    """The levers at some heels [rad]: KN [m] and its slope [m/rad]."""

    heel: Floats
    kn: Floats
    slope: Floats


@dataclass(frozen=True, eq=False)
class Levers:
    """KN(φ) = spline(φ) + Σ powers[i] φ^(i+1) + sine sin φ + wall tan²φ sin φ, within its range.

    Each kind of lever fills some of the four terms, so that one compiled function serves all.
    `knots` [rad] (n+1) and `coefficients` (4, n), highest power first, are scipy's piecewise form.
    `liquid` is what moving liquid adds, in a tank whose surface heels with the water's.
    """

    heel_min: float
    heel_max: float
    knots: Floats = field(default_factory=lambda: EMPTY)
    coefficients: Floats = field(default_factory=lambda: NO_SPLINE)
    powers: Floats = field(default_factory=lambda: EMPTY)
    sine: float = 0.0
    wall: float = 0.0
    liquid: LiquidLever | None = None

    @cached_property
    def hull(self) -> Levers:
        """The levers of the hull alone, whose B and M they tell."""
        return replace(self, liquid=None) if self.liquid else self

    @cached_property
    def _spline(self) -> PPoly:
        from scipy.interpolate import PPoly

        return PPoly(self.coefficients, self.knots, extrapolate=True)

    @cached_property
    def _polynomials(self) -> tuple[np.polynomial.Polynomial, ...]:
        """The powers' share of KN, its two derivatives, and its integral from upright."""
        value = np.polynomial.Polynomial(np.concatenate(([0.0], self.powers)))
        return value, value.deriv(), value.deriv(2), value.integ()

    @cached_property
    def _spline_integral(self) -> PPoly:
        return self._spline.antiderivative()

    @cached_property
    def grid(self) -> LeverGrid:
        """Heels every GRID_STEP and at every knot and at 0, with KN and its slope there."""
        steps = max(2, math.ceil((self.heel_max - self.heel_min) / GRID_STEP))
        even = np.linspace(self.heel_min, self.heel_max, steps + 1)
        upright = [0.0] if self.heel_min < 0.0 < self.heel_max else []
        kinks = self.liquid.kinks if self.liquid else EMPTY
        kinks = kinks[(kinks > self.heel_min) & (kinks < self.heel_max)]
        heel = np.unique(np.concatenate((even, self.knots, upright, kinks)))
        return LeverGrid(heel, self.kn(heel), self.slope(heel))

    @cached_property
    def greatest_curvature(self) -> float:
        """The greatest |d²KN/dφ²| at the heels of the grid [m/rad²]."""
        return float(np.max(np.abs(self.curvature(self.grid.heel))))

    def within(self, heel: ArrayLike) -> Floats:
        """`heel` as an array, ends snapped to the range; LeverRangeError where it lies outside."""
        phi = np.asarray(heel, dtype=np.float64)
        if np.any(~(phi >= self.heel_min - RANGE_SLACK) | ~(phi <= self.heel_max + RANGE_SLACK)):
            low, high = np.degrees([self.heel_min, self.heel_max])
            raise LeverRangeError(
                f"levers are known from {low:.6g}° to {high:.6g}° of heel only; "
                f"requested at {np.degrees(np.max(np.abs(phi))):.6g}°"
            )
        return np.clip(phi, self.heel_min, self.heel_max)

    def kn(self, heel: ArrayLike) -> Floats:
        """KN [m] at `heel` [rad], same shape."""
        phi = self.within(heel)
        s = np.sin(phi)
        value = self._polynomials[0](phi) + self.sine * s + self.wall * np.tan(phi) ** 2 * s
        value = value + self.liquid.value(phi) if self.liquid else value
        return np.asarray(value + self._spline(phi) if self.knots.size else value)

    def slope(self, heel: ArrayLike) -> Floats:
        """dKN/dφ [m/rad] at `heel` [rad]; at 0 the height of the upright metacentre."""
        phi = self.within(heel)
        c, t2 = np.cos(phi), np.tan(phi) ** 2
        wall = self.wall * c * t2 * (2.0 / c**2 + 1.0)
        value = self._polynomials[1](phi) + self.sine * c + wall
        value = value + self.liquid.slope(phi) if self.liquid else value
        return np.asarray(value + self._spline(phi, 1) if self.knots.size else value)

    def curvature(self, heel: ArrayLike) -> Floats:
        """d²KN/dφ² [m/rad²] at `heel` [rad]."""
        phi = self.within(heel)
        s, c2 = np.sin(phi), np.cos(phi) ** 2
        # tan²φ sin φ = sec φ tan φ − sin φ, twice differentiated.
        wall = self.wall * s * (6.0 / c2**2 - 1.0 / c2 + 1.0)
        value = self._polynomials[2](phi) - self.sine * s + wall
        value = value + self.liquid.curvature(phi) if self.liquid else value
        return np.asarray(value + self._spline(phi, 2) if self.knots.size else value)

    def integral(self, heel: ArrayLike) -> Floats:
        """∫ KN dφ from upright to `heel` [m rad]."""
        phi = self.within(heel)
        c = np.cos(phi)
        value = self._polynomials[3](phi) + self.sine * (1.0 - c)
        value = value + self.wall * (1.0 - c) ** 2 / c
        value = value + self.liquid.integral(phi) if self.liquid else value
        if self.knots.size:
            value = value + self._spline_integral(phi) - self._spline_integral(0.0)
        return np.asarray(value)


def from_kn_table(heel: ArrayLike, kn: ArrayLike, km: float | None = None) -> Levers:
    """Levers through a table of KN: the C² cubic spline, the slope at 0 fixed by `km` if given.

    A table from 0 is mirrored to port; a table over both sides must list heel 0 and is taken as
    it is. The slope is carried by one extra knot half-way into the first interval of either side,
    whose values follow from the slope and from smoothness (third derivative) at 0.
    """
    x, y = _both_sides(np.asarray(heel, dtype=np.float64), np.asarray(kn, dtype=np.float64))
    if km is not None:
        x, y = _with_slope(x, y, km)
    spline = _cubic(x, y)
    return Levers(float(x[0]), float(x[-1]), knots=x, coefficients=np.ascontiguousarray(spline.c))


def from_gz_table(heel: ArrayLike, gz: ArrayLike, kg: float, gm: float | None = None) -> Levers:
    """Levers from a GZ table drawn for the height `kg` of G: KN = GZ + KG sin φ, then as KN."""
    phi = np.asarray(heel, dtype=np.float64)
    kn = np.asarray(gz, dtype=np.float64) + kg * np.sin(phi)
    return from_kn_table(phi, kn, None if gm is None else gm + kg)


def wall_sided(km: float, bm: float, heel_max: float) -> Levers:
    """Levers of a wall-sided hull, KN = (KM + ½ BM tan²φ) sin φ, to `heel_max` < 90° either side.

    Exact up to the heel where the deck edge goes under or the bilge comes out (Derrett).
    """
    return Levers(-heel_max, heel_max, sine=km, wall=0.5 * bm)


def polynomial(coefficients: ArrayLike, kg: float, heel_max: float) -> Levers:
    """Levers whose GZ is Σ c_i φ^i (i from 1) for G at `kg`, as written on both sides."""
    powers = np.array(coefficients, dtype=np.float64)
    return Levers(-heel_max, heel_max, powers=powers, sine=kg)


def metacentric_height(levers: Levers, gravity: Gravity) -> float:
    """GM = KN′(0) − KG − free-surface rise [m]; what is only rounding noise is exactly 0."""
    km = float(levers.slope(0.0))
    gm = km - gravity.virtual_kg
    return 0.0 if abs(gm) < 1e-12 * max(1.0, abs(km)) else gm


def _cubic(x: Floats, y: Floats) -> PPoly:
    from scipy.interpolate import CubicSpline

    return CubicSpline(x, y)


def _both_sides(x: Floats, y: Floats) -> tuple[Floats, Floats]:
    if x[0] < 0.0:
        return x, y
    return np.concatenate((-x[:0:-1], x)), np.concatenate((-y[:0:-1], y))


def _with_slope(x: Floats, y: Floats, slope: float) -> tuple[Floats, Floats]:
    """The table with one knot more on either side of 0, such that the spline's slope at 0 holds.

    The spline is linear in its values, so two unit responses give the two new values exactly.
    """
    zero = int(np.searchsorted(x, 0.0))
    below, above = 0.5 * x[zero - 1], 0.5 * x[zero + 1]
    knots = np.concatenate((x[:zero], [below, 0.0, above], x[zero + 1 :]))
    values = np.concatenate((y[:zero], [0.0, y[zero], 0.0], y[zero + 1 :]))

    def conditions(column: Floats) -> Floats:
        c = _cubic(knots, column).c
        return np.array([c[2, zero + 1], c[0, zero + 1] - c[0, zero]])

    unit = np.eye(knots.size)[[zero, zero + 2]]
    base = conditions(values)
    matrix = np.column_stack([conditions(row) for row in unit])
    values[[zero, zero + 2]] = np.linalg.solve(matrix, np.array([slope, 0.0]) - base)
    return knots, values
