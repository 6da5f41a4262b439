"""A wall-sided hull whose levers and points are known in closed form, with histories made up."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, NamedTuple

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from rollsim.names import COORDINATES, VARIABLES, Outcome

Floats = NDArray[np.float64]

BEAM, DRAUGHT, DEPTH, GYRADIUS = 14.0, 5.2, 8.1, 5.3
KB, BM = 2.6, 2.9
KM = KB + BM
HEEL = np.arange(-60.0, 60.25, 0.5)


class Loading(NamedTuple):
    """One case: G [m], and what it meets."""

    name: str = "base"
    kg: float = 5.0
    off_centre: float = 0.0
    free_surface: float = 0.0
    lever: float = 0.0
    swing: float = 20.0
    """Amplitude of the roll [degree] about `about`."""
    about: float = 0.0
    wave: float = 0.0
    """Amplitude of the wave slope [degree]."""
    end: float = np.inf
    """When the run ends [s], capsized."""
    moved: float = 0.0
    """How far G goes to starboard [m] from the middle of the run on."""
    outcome: Outcome = Outcome.SURVIVED


def righting_lever(heel: Floats, kg: float, off_centre: float = 0.0) -> Floats:
    """GZ [m] of a wall-sided hull at `heel` [rad], the exact formula."""
    rise = KM - kg + 0.5 * BM * np.tan(heel) ** 2
    return np.asarray(rise * np.sin(heel) - off_centre * np.cos(heel))


def buoyancy(heel: Floats) -> Floats:
    """B (2, n) in ship axes, the exact formula."""
    slope = np.tan(heel)
    return np.stack([BM * slope, KB + 0.5 * BM * slope**2])


def metacentre(heel: Floats) -> Floats:
    """M (2, n) in ship axes, the evolute of the path of B, the exact formula."""
    slope = np.tan(heel)
    return np.stack([-BM * slope**3, KM + 1.5 * BM * slope**2])


def turned(points: Floats, roll: Floats) -> Floats:
    """Points of the ship turned about the centreline at the draught, starboard down."""
    y, z = points[0], points[1] - DRAUGHT
    return np.stack([y * np.cos(roll) + z * np.sin(roll), z * np.cos(roll) - y * np.sin(roll)])


def study(
    loadings: Sequence[Loading] = (Loading(),),
    duration: float = 40.0,
    realisations: int = 1,
    title: str = "a wall-sided hull",
) -> xr.Dataset:
    """A result of these cases; realisation r swings a tenth more than the one before it."""
    t = np.arange(0.0, duration + 0.25, 0.5)
    data: dict[str, Any] = {}
    for loading in loadings:
        for name, held in (_statics(loading) | _path(loading, t)).items():
            data.setdefault(name, []).append(held)
        runs = [_run(loading, t, 1.0 + 0.1 * r) for r in range(realisations)]
        for name in runs[0]:
            data.setdefault(name, []).append([run[name] for run in runs])
    held = {name: (VARIABLES[name].dims, np.array(values)) for name, values in data.items()}
    ds = xr.Dataset(held, attrs={"title": title, "scenario_text": "", "rollsim_format": 1})
    own = {"case": np.arange(len(loadings)), "realisation": np.arange(realisations)}
    ds = ds.assign_coords(own).assign_coords(t=t, heel=HEEL)
    ds = ds.assign_coords(condition=("case", [loading.name for loading in loadings]))
    for name, variable in (VARIABLES | COORDINATES).items():
        if name in ds.variables:
            ds[name].attrs["units"] = variable.units
    return ds


def _statics(loading: Loading) -> dict[str, Any]:
    phi = np.radians(HEEL)
    virtual = loading.kg + loading.free_surface
    b, m = buoyancy(phi), metacentre(phi)
    gm = KM - virtual
    loll = np.degrees(np.arctan(np.sqrt(-2.0 * gm / BM))) if gm < 0.0 else np.nan
    return {
        "gm": gm, "loll_angle": loll, "loll_angle_port": -loll,
        "vanishing_angle": np.nan, "vanishing_angle_port": np.nan, "static_heel": 0.0,
        "righting_lever": righting_lever(phi, virtual, loading.off_centre),
        "steady_heeling_lever": np.full_like(phi, loading.lever),
        "metacentre_y": m[0], "metacentre_z": m[1], "buoyancy_y": b[0], "buoyancy_z": b[1],
        "beam": BEAM, "draught": DRAUGHT, "depth": DEPTH, "gyradius": GYRADIUS,
        "roll_limit": 40.0, "flooding_limit": np.nan, "capsize_limit": 60.0,
    }  # fmt: skip


def _path(loading: Loading, t: Floats) -> dict[str, Any]:
    late = t > 0.5 * t[-1]
    across = loading.off_centre + loading.moved * late
    return {
        "centre_of_gravity_y": across,
        "centre_of_gravity_z": np.full_like(t, loading.kg),
    }


def _run(loading: Loading, t: Floats, size: float) -> dict[str, Any]:
    over = t > loading.end
    roll = loading.about + size * loading.swing * np.sin(0.6 * t)
    rate = 0.6 * size * loading.swing * np.cos(0.6 * t)
    slope = loading.wave * np.sin(0.7 * t + 1.0)
    roll[over] = np.nan
    capsized = bool(over.any())
    return {
        "roll_angle": roll, "roll_rate": np.where(over, np.nan, rate),
        "wave_slope": np.where(over, np.nan, slope),
        "heeling_lever": np.where(over, np.nan, loading.lever),
        "outcome": int(Outcome.CAPSIZED if capsized else loading.outcome),
        "failure_time": loading.end if capsized else np.nan,
        "end_time": min(loading.end, float(t[-1])),
        "roll_max": np.nanmax(roll), "roll_min": np.nanmin(roll),
    }  # fmt: skip
