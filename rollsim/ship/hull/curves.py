"""What a hull's papers show: hydrostatics, KN over heel and displacement, heels of immersion.

All at constant displacement, in sea water, for G at a given place along the ship where she is free
to trim: the length of G alone decides, so that KN does not depend on its height.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from rollsim.constants import SEA_WATER_DENSITY
from rollsim.ship.hull import balance
from rollsim.ship.hull.form import Hull, UnfloatableError
from rollsim.ship.hull.sections import immersed, turned

Floats = NDArray[np.float64]

DENSITY = SEA_WATER_DENSITY / 1000.0
"""Sea water [t/m³]."""
BISECTIONS = 60


class Hydrostatics(NamedTuple):
    """Of the hull upright, arrays over the displacement: metres, m², t/cm.

    `trim` is the draught aft less that fore, over her length; `draught` is amidships.
    """

    displacement: Floats
    draught: Floats
    trim: Floats
    km: Floats
    kb: Floats
    bm: Floats
    along_of_buoyancy: Floats
    waterplane_area: Floats
    tonnes_per_cm: Floats


@dataclass(frozen=True)
class Trim:
    """How she may trim: free or fixed, and where G lies along her [m], by default where B does
    upright on an even keel."""

    free: bool = True
    along: float | None = None


@dataclass(frozen=True, eq=False)
class Curves:
    """A hull at some displacements [t]: where she floats at any heel, on any wave of her length."""

    hull: Hull
    displacement: Floats
    trim: Trim = Trim()

    @cached_property
    def volumes(self) -> Floats:
        """Displaced volumes [m³]; UnfloatableError where the hull does not hold one of them."""
        volumes = np.atleast_1d(np.asarray(self.displacement, dtype=np.float64)) / DENSITY
        whole = whole_volume(self.hull)
        if np.any(volumes >= whole):
            most = float(volumes.max()) * DENSITY
            raise UnfloatableError(
                f"displaces {most:.6g} t, and the closed hull holds {whole * DENSITY:.6g} t",
                "a lighter ship, or a deeper hull; boxes add what is closed above the deck",
            )
        if np.any(volumes <= 0.0):
            raise UnfloatableError("must displace something", "give a displacement above 0 t")
        return volumes

    @cached_property
    def places(self) -> Floats:
        """Where G lies along the ship at each displacement [m]."""
        if self.trim.along is not None:
            return np.full(self.volumes.size, self.trim.along)
        middle = np.full(self.volumes.size, self.hull.middle)
        upright = self._states(np.zeros(1), np.zeros(1), middle, free=False)[:, 0, 0]
        return np.ascontiguousarray(upright[:, 6])

    def at(self, heel: ArrayLike, elevation: ArrayLike = 0.0) -> Floats:
        """Floating states (displacement, elevation, heel, 8) as `balance.Floating` names them.

        `heel` [rad]; `elevation` [m] amidships of a wave of the ship's length, crest or trough
        amidships. UnfloatableError where no balance is found.
        """
        heels = np.atleast_1d(np.asarray(heel, dtype=np.float64))
        waves = np.atleast_1d(np.asarray(elevation, dtype=np.float64))
        return self._states(heels, waves, self.places, free=self.trim.free)

    def _states(self, heels: Floats, waves: Floats, places: Floats, *, free: bool) -> Floats:
        s = self.hull.sections
        phase = 2.0 * math.pi * (s.along - self.hull.middle) / self.hull.length
        elevations = np.ascontiguousarray(waves[:, None] * np.cos(phase))
        states = np.empty(
            (self.volumes.size, waves.size, heels.size, len(balance.Floating._fields))
        )
        # From upright outwards on either side: each balance begins where its neighbour's ended.
        for side in (heels >= 0.0, heels < 0.0):
            order = np.flatnonzero(side)[np.argsort(np.abs(heels[side]))]
            if order.size:
                states[:, :, order] = balance.curves(
                    *(s.along, s.share, s.first, s.y, s.z, elevations),
                    *(np.ascontiguousarray(heels[order]), self.volumes, places, free),
                )
        missing = np.argwhere(states[..., 0] == 0.0)
        if missing.size:
            i, j, k = missing[0]
            where = f"at {math.degrees(heels[k]):.3g}° of heel"
            where += f" with {waves[j]:+.3g} m of wave amidships" if waves[j] else ""
            steepest = math.degrees(math.atan(balance.STEEPEST))
            raise UnfloatableError(
                f"has no equilibrium within {steepest:.0f}° of trim {where}, at "
                f"{self.volumes[i] * DENSITY:.6g} t",
                "G lies too far from amidships for this hull, or she trims beyond reason: look at "
                'along_m of the masses and at the stations, or give trim = "fixed"',
            )
        return states

    def kn(self, heel: ArrayLike, elevation: ArrayLike = 0.0) -> Floats:
        """KN [m] over displacement, elevation [m] and heel [rad]."""
        return np.ascontiguousarray(self.at(heel, elevation)[..., 3])

    @cached_property
    def hydrostatics(self) -> Hydrostatics:
        """Her numbers upright in still water."""
        state = self.at(0.0)[:, 0, 0]
        height, slope, km, kb, along, plane = (state[:, i] for i in (1, 2, 4, 5, 6, 7))
        return Hydrostatics(
            displacement=self.volumes * DENSITY,
            draught=height + slope * self.hull.middle,
            trim=-slope * self.hull.length,
            km=km,
            kb=kb,
            bm=km - kb,
            along_of_buoyancy=along,
            waterplane_area=plane,
            tonnes_per_cm=plane * DENSITY / 100.0,
        )

    def immersion(self, points: Floats, heel_max: float, step: float) -> Floats:
        """Heels [rad] at which points (n, 3) first come under water; (displacement, n).

        A point to port is looked for at heels to port, which are negative, all others to
        starboard; NaN where it stays dry up to `heel_max` [rad]. 0 where it is under water upright.
        """
        heels = np.linspace(0.0, heel_max, max(2, math.ceil(heel_max / step - 1e-9) + 1))
        found = np.full((self.volumes.size, len(points)), math.nan)
        for side in (1.0, -1.0):
            own = np.flatnonzero((points[:, 1] < 0.0) == (side < 0.0))
            if not own.size:
                continue
            dry = self._freeboard(points[own], side * heels)  # (displacement, heel, point)
            wet = dry <= 0.0
            for i, j in np.argwhere(wet.any(axis=1)):
                first = int(np.argmax(wet[i, :, j]))
                low, high = heels[max(first - 1, 0)], heels[first]
                found[i, own[j]] = side * self._root(int(i), points[own[j]], side, low, high)
        return found

    def _freeboard(self, points: Floats, heels: Floats) -> Floats:
        """Height of points over the water [m]: (displacement, heel, point)."""
        states = self.at(heels)[:, 0]
        c, s = np.cos(heels)[None, :, None], np.sin(heels)[None, :, None]
        x, y, z = points.T
        return np.asarray(z * c - y * s - states[:, :, 1, None] - states[:, :, 2, None] * x)

    def _root(self, i: int, point: Floats, side: float, low: float, high: float) -> float:
        """The heel between two [rad] at which a point comes under water, by halving."""
        one = Curves(self.hull, self.displacement_at(i), Trim(self.trim.free, self.places[i]))
        while high - low > 1e-10:
            middle = 0.5 * (low + high)
            if one._freeboard(point[None], np.array([side * middle]))[0, 0, 0] <= 0.0:
                high = middle
            else:
                low = middle
        return high

    def displacement_at(self, i: int) -> Floats:
        """One displacement [t] as an array."""
        return np.array([self.volumes[i] * DENSITY])


def whole_volume(hull: Hull) -> float:
    """Volume inside the closed hull and its boxes [m³]."""
    return _upright(hull, math.inf)


def volume_at(hull: Hull, draught: float) -> float:
    """Volume upright on an even keel at a draught [m] above height 0, in m³."""
    return _upright(hull, draught)


def _upright(hull: Hull, draught: float) -> float:
    s = hull.sections
    water = min(draught, float(s.z.max()))
    still = np.zeros(s.along.size)
    return float(
        immersed(turned(s.along, s.share, s.first, s.y, s.z, still, 0.0), water, 0.0).volume
    )
