"""The potential of a righting curve under a steady heeling lever: wells, barriers, energy."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from rollsim.constants import GRAVITY
from rollsim.show.query import cases

if TYPE_CHECKING:
    import xarray as xr

Curve = NDArray[np.float64]


@dataclass(frozen=True)
class Potential:
    """V over heel [degree], counted from the lowest well [m·rad]; missing where there is none."""

    heel: Curve
    value: Curve
    wells: tuple[int, ...]
    barriers: tuple[int, ...]
    """Positions in `heel`: the lowest well first; the barrier of each side, the lesser first."""

    @property
    def escape(self) -> float:
        """The energy that leads over the lesser barrier [m·rad]; NaN where nothing is stable."""
        return float(self.value[self.barriers[0]]) if self.barriers else float("nan")


def integral(heel: Curve, lever: Curve) -> Curve:
    """The integral [m·rad] of a lever [m] over heel [degree] from upright on."""
    known = np.isfinite(lever)
    if not known.any():
        return np.full_like(lever, np.nan)
    phi, held = np.radians(heel[known]), lever[known]
    steps = 0.5 * (held[1:] + held[:-1]) * np.diff(phi)
    total = np.concatenate([[0.0], np.cumsum(steps)])
    out = np.full_like(lever, np.nan)
    out[known] = total - np.interp(0.0, phi, total)
    return out


def potential(ds: xr.Dataset, case: int) -> Potential:
    """The potential of a case at t = 0: the righting lever less the steady heeling lever."""
    heel = np.asarray(ds["heel"].values, dtype=float)
    lever = cases.values(ds, "righting_lever", case=case)
    steady = cases.values(ds, "steady_heeling_lever", case=case)
    value = integral(heel, lever - np.nan_to_num(steady))
    capsize = cases.limits(ds, case).get("capsize_limit", np.inf)
    inside = np.flatnonzero(np.isfinite(value) & (np.abs(heel) <= capsize))
    wells = _wells(value, inside)
    if not wells:
        return Potential(heel, value, (), ())
    low = wells[0]
    sides = (inside[inside <= low], inside[inside >= low])
    barriers = sorted((int(side[np.argmax(value[side])]) for side in sides), key=lambda i: value[i])
    return Potential(heel, value - value[low], wells, tuple(barriers))


def _wells(value: Curve, inside: NDArray[np.intp]) -> tuple[int, ...]:
    """The lowest points inside the range, the deepest first; its ends are no wells."""
    v = value[inside]
    low = 1 + np.flatnonzero((v[1:-1] < v[:-2]) & (v[1:-1] <= v[2:]))
    return tuple(int(inside[i]) for i in low[np.argsort(v[low], kind="stable")])


def energy(well: Potential, gyradius: float, angle: Curve, rate: Curve) -> Curve:
    """E = k²ψ'²/2g + V(ψ) [m·rad] along a run: angle [degree], rate [degree/s]."""
    swing = (gyradius * np.radians(rate)) ** 2 / (2.0 * GRAVITY)
    return swing + np.interp(angle, well.heel, well.value)


def escape_line(well: Potential, gyradius: float) -> tuple[Curve, Curve]:
    """Between the barriers, where she can just get over the lesser one, undamped.

    Heel [degree] and the rate [degree/s] there, finely enough that the line closes on the axis.
    """
    ends = [float(well.heel[i]) for i in well.barriers]
    heel = np.linspace(min(ends), max(ends), 4001)
    spare = well.escape - np.interp(heel, well.heel, well.value)
    reached = spare >= 0.0
    rate = np.degrees(np.sqrt(2.0 * GRAVITY * spare[reached]) / gyradius)
    return heel[reached], rate
