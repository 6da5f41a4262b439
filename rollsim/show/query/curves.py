"""The curves of a case over heel: read off the result's arrays, and handed to the ship's statics.

Nothing of the kind is worked out anew here: a curve that the result holds over heel becomes a
`RightingCurve`, and equilibria, wells, areas and the potential are what `rollsim.ship` says of it.
Heels are in degrees towards the pictures and in radians towards the statics.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline

from rollsim.measures.margins import escape_rate
from rollsim.ship.equilibria import equilibria
from rollsim.ship.levers import Gravity, Levers
from rollsim.ship.righting import HEELING_LAWS, RightingCurve
from rollsim.ship.wells import one_well
from rollsim.show.query.cases import limits, number, values

if TYPE_CHECKING:
    import xarray as xr

Floats = NDArray[np.float64]

SAME_LAW = 1e-3
"""A lever that departs from a law by less than this share of itself upright follows it."""
ESCAPE_POINTS = 4001
"""Points of an escape line: enough that it closes on the axis."""


def heels(ds: xr.Dataset) -> Floats:
    """The heels [degree] at which the result holds its curves."""
    return np.asarray(ds["heel"].values, dtype=np.float64)


def at_heel(heel: Floats, grid: Floats, curve: Floats) -> Floats:
    """A stored curve at `heel`, straight between its points; missing outside: no extrapolation."""
    return np.asarray(np.interp(heel, grid, curve, left=np.nan, right=np.nan))


def righting(ds: xr.Dataset, case: int) -> RightingCurve | None:
    """The righting lever of a case at t = 0, heeling levers left out; None where it is unknown."""
    return _curve(heels(ds), values(ds, "righting_lever", case=case))


def residual(ds: xr.Dataset, case: int) -> RightingCurve | None:
    """The righting lever of a case at t = 0 less the steady heeling lever."""
    return under(ds, case, np.nan_to_num(values(ds, "steady_heeling_lever", case=case)))


def under(ds: xr.Dataset, case: int, lever: Floats) -> RightingCurve | None:
    """The righting lever of a case at t = 0 less a heeling lever [m] over the result's heels."""
    return _curve(heels(ds), values(ds, "righting_lever", case=case) - lever)


def heeling_law(ds: xr.Dataset, case: int) -> str:
    """The law by which the lever of a case falls off with heel, read off its steady lever.

    "constant" where no lever acts at the start, or one that follows no single law.
    """
    phi, steady = np.radians(heels(ds)), values(ds, "steady_heeling_lever", case=case)
    upright = float(at_heel(np.zeros(1), phi, steady)[0])
    if not abs(upright) > 0.0:
        return "constant"
    fits = {name: np.nanmax(np.abs(steady / upright - law.value(phi)))
            for name, law in HEELING_LAWS.items()}  # fmt: skip
    best = min(fits, key=lambda name: fits[name])
    return best if fits[best] < SAME_LAW else "constant"


def moved(curve: RightingCurve, across: float, up: float) -> RightingCurve:
    """A righting curve after G has moved to starboard and up [m]."""
    return RightingCurve(curve.levers, Gravity(up, across))


def _curve(heel: Floats, lever: Floats) -> RightingCurve | None:
    """A lever [m] over heel [degree] as a curve of its own: the cubic spline through its points."""
    known = np.isfinite(lever)
    if np.count_nonzero(known) < 2:
        return None
    phi = np.radians(heel[known])
    spline = CubicSpline(phi, lever[known].astype(np.float64))
    levers = Levers(float(phi[0]), float(phi[-1]), knots=phi, coefficients=spline.c)
    return RightingCurve(levers, Gravity(0.0))


def on_grid(curve: RightingCurve | None, heel: Floats, what: str = "value") -> Floats:
    """The lever ("value") or its area from upright ("potential") at heels [degree]; NaN outside."""
    out = np.full(heel.shape, np.nan)
    if curve is not None:
        phi = np.radians(heel)
        inside = (phi >= curve.levers.heel_min - 1e-12) & (phi <= curve.levers.heel_max + 1e-12)
        out[inside] = getattr(curve, what)(phi[inside])
    return out


class Point(NamedTuple):
    """A heel [degree], and the potential there above the lowest well [m·rad]."""

    heel: float
    value: float


@dataclass(frozen=True, eq=False)
class Potential:
    """V over heel, counted from the lowest well [m·rad]; from upright where there is none."""

    curve: RightingCurve | None
    heel: Floats
    """The stored heels [degree]."""
    low: float = 0.0
    """V of the lowest well, counted from upright."""
    wells: tuple[Point, ...] = ()
    """The stable heels within the capsize angle, the lowest first."""
    barriers: tuple[Point, ...] = ()
    """The barrier of each side, the lesser first."""

    @property
    def value(self) -> Floats:
        """V at the stored heels."""
        return self.at(self.heel)

    @property
    def escape(self) -> float:
        """The energy that leads over the lesser barrier [m·rad]; NaN where nothing is stable."""
        return self.barriers[0].value if self.barriers else float("nan")

    def at(self, heel: Floats) -> Floats:
        """V at heels [degree]; missing where the levers are not known."""
        return on_grid(self.curve, heel, "potential") - self.low


def potential(ds: xr.Dataset, case: int) -> Potential:
    """The potential of a case at t = 0: the righting lever less the steady heeling lever."""
    heel, curve = heels(ds), residual(ds, case)
    if curve is None:
        return Potential(curve, heel)
    reach = min(-curve.levers.heel_min, curve.levers.heel_max)
    limit = min(np.radians(limits(ds, case).get("capsize_limit", np.inf)), reach)
    well = one_well(curve, limit)
    if not np.isfinite(well.low):
        return Potential(curve, heel)
    stable = [e.heel for e in equilibria(curve) if e.kind == "stable" and abs(e.heel) < limit]
    wells, barriers = (
        sorted((_point(curve, phi, well.low) for phi in angles), key=lambda point: point.value)
        for angles in (stable, (well.port, well.starboard))
    )
    return Potential(curve, heel, well.low, tuple(wells), tuple(barriers))


def _point(curve: RightingCurve, phi: float, low: float) -> Point:
    """A heel [rad] as a point of the potential, counted from `low`."""
    return Point(float(np.degrees(phi)), float(curve.potential(phi)) - low)


def escape_line(well: Potential, gyradius: float) -> tuple[Floats, Floats]:
    """Between the barriers, where she can just get over the lesser one, undamped.

    Heel [degree] and the rate [degree/s] there.
    """
    ends = [point.heel for point in well.barriers]
    heel = np.linspace(min(ends), max(ends), ESCAPE_POINTS)
    spare = well.escape - well.at(heel)
    reached = spare >= 0.0
    return heel[reached], np.degrees(escape_rate(spare[reached], gyradius))


def metacentric_heights(ds: xr.Dataset, case: int, height: Floats, lift: Floats) -> Floats:
    """GM [m] while G stands at heights [m] that differ from the height at the start.

    `lift` is how much further free surfaces raise it than at the start.
    """
    start = number(ds, "centre_of_gravity_z", case=case, t=0)
    return np.asarray(number(ds, "gm", case=case) - (height - start) - lift)


def lifts(ds: xr.Dataset, case: int) -> Floats:
    """How much further free surfaces raise G than at the start [m], over the result's times."""
    if "free_surface_rise" not in ds:
        return np.zeros(ds.sizes["t"])
    rise = values(ds, "free_surface_rise", case=case)
    return np.asarray(rise - rise[0])


def free_surface(ds: xr.Dataset, case: int) -> float:
    """The virtual rise of G by free surfaces at the start [m]: what GM lacks to KM less KG."""
    height = at_heel(np.zeros(1), heels(ds), values(ds, "metacentre_z", case=case))[0]
    start = number(ds, "centre_of_gravity_z", case=case, t=0)
    rise = float(height) - start - number(ds, "gm", case=case)
    return rise if abs(rise) > 1e-6 else 0.0
