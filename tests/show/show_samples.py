"""An invented study of the contract's form, without any of the program that would run it."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from itertools import product
from typing import Any

import numpy as np
import xarray as xr
from matplotlib.lines import Line2D
from scipy.interpolate import CubicSpline

from rollsim.measures.outcome import EVENTS
from rollsim.measures.probability import clopper_pearson
from rollsim.measures.rates import exposure, hourly
from rollsim.names import COORDINATES, VARIABLES, Outcome

HEEL = np.arange(-90.0, 91.0)
# Levers of an invented coaster: heel [degree] and KN [m].
ANGLES = (0, 5, 10, 15, 20, 25, 30, 35, 40, 45, 50, 55, 60, 70, 80, 90)
LEVERS = [0.0, 0.493, 0.983, 1.474, 1.969, 2.468, 2.923, 3.319, 3.658, 3.938, 4.160, 4.327]
LEVERS += [4.444, 4.542, 4.476, 4.264]
KG = {"light": 5.30, "deck cargo": 5.50, "top heavy": 5.70}
GYRADIUS = 5.3

Make = Callable[..., xr.Dataset]


def kn_curve() -> CubicSpline:
    """KN [m] over heel [rad], mirrored to port."""
    angle, kn = np.radians(ANGLES), np.array(LEVERS)
    return CubicSpline(np.r_[-angle[:0:-1], angle], np.r_[-kn[:0:-1], kn])


def statics(kg: float, wind: float) -> dict[str, Any]:
    """Curves and static numbers of one case."""
    kn, phi = kn_curve(), np.radians(HEEL)
    gz = kn(phi) - kg * np.sin(phi)
    slope, area = kn(phi, 1), kn.antiderivative()(phi) - kn.antiderivative()(0.0)
    along, normal = (np.cos(phi), np.sin(phi)), (-np.sin(phi), np.cos(phi))
    rise = 2.739 - area
    gm = float(kn(0.0, 1)) - kg
    starboard = HEEL > 0.5
    falls = np.flatnonzero((gz[:-1] > 0) & (gz[1:] <= 0) & starboard[:-1])
    rises = np.flatnonzero((gz[:-1] <= 0) & (gz[1:] > 0) & starboard[:-1])
    vanishing = float(HEEL[falls[-1]]) if falls.size else np.nan
    loll = float(HEEL[rises[0]]) if gm < 0 and rises.size else np.nan
    balance = np.flatnonzero((gz - wind)[:-1] * (gz - wind)[1:] <= 0)
    static = float(HEEL[balance[np.argmin(np.abs(HEEL[balance] - 8))]])
    return {
        "gm": gm, "loll_angle": loll, "loll_angle_port": -loll, "static_heel": static,
        "vanishing_angle": vanishing, "vanishing_angle_port": -vanishing,
        "righting_lever": gz, "steady_heeling_lever": np.full_like(gz, wind),
        "metacentre_y": kn(phi) * along[0] + slope * normal[0],
        "metacentre_z": kn(phi) * along[1] + slope * normal[1],
        "buoyancy_y": kn(phi) * along[0] + rise * normal[0],
        "buoyancy_z": kn(phi) * along[1] + rise * normal[1],
    }  # fmt: skip


def history(case: int, run: int, t: np.ndarray, height: float) -> dict[str, Any]:
    """A swing that grows with the waves; the highest waves carry some runs over."""
    rng = np.random.default_rng([case, run])
    size = height * (2.0 + rng.uniform(0.0, 1.5))
    grow = 1.0 + 0.02 * t * (size > 19.0)
    phase = rng.uniform(0, 6)
    roll = 6.0 + size * grow * np.sin(0.55 * t + phase) * (0.7 + 0.3 * np.sin(0.043 * t))
    over = np.flatnonzero(np.abs(roll) > 75.0)
    end = int(over[0]) if over.size else t.size
    roll[end:] = np.nan
    outcome = Outcome.CAPSIZED if over.size else Outcome.SURVIVED
    if outcome == Outcome.SURVIVED and np.abs(roll).max() > 40.0:
        outcome = Outcome.ROLL_LIMIT
    past = np.flatnonzero(np.abs(roll) > 40.0)
    slope = height * 1.2 * np.sin(0.55 * t + np.random.default_rng(run).uniform(0, 6))
    return {
        "roll_angle": roll, "roll_rate": np.gradient(roll, t),
        "wave_slope": np.where(np.isfinite(roll), slope, np.nan),
        "heeling_lever": np.where(np.isfinite(roll), 0.06 + 0.03 * ((t > 60) & (t < 80)), np.nan),
        "outcome": int(outcome), "failed_before_settle": 0,
        "failure_time": t[past[0]] if past.size else np.nan,
        "end_time": t[end - 1], "message": "",
        "roll_max": np.nanmax(roll), "roll_min": np.nanmin(roll),
        "energy_margin": 1.0 - (np.nanmax(np.abs(roll)) / 62.0) ** 2,
    }  # fmt: skip


def build(
    conditions: Sequence[str] = tuple(KG),
    realisations: int = 2,
    axes: Mapping[str, tuple[str, Sequence[Any]]] | None = None,
    duration: float = 240.0,
    title: str = "three loadings of an invented coaster in a beam gale",
) -> xr.Dataset:
    """A whole study; run 1 of case 0 is not solved, and the settling of run 0 of case 1 failed."""
    axes = axes or {}
    t = np.arange(0.0, duration + 0.25, 0.5)
    grid = list(product(conditions, *(values for _, values in axes.values())))
    heights = [_height(dict(zip(axes, place[1:], strict=True))) for place in grid]
    runs = [[history(c, r, t, h) for r in range(realisations)] for c, h in enumerate(heights)]
    columns: dict[str, list[Any]] = {}
    for place in grid:
        for name, held in statics(_kg(axes, place), 0.06).items():
            columns.setdefault(name, []).append(held)
    data: dict[str, Any] = {name: np.array(held) for name, held in columns.items()}
    for name in runs[0][0]:
        data[name] = np.array([[run[name] for run in case] for case in runs])
    data["centre_of_gravity_y"] = np.zeros((len(grid), t.size))
    data["centre_of_gravity_z"] = np.repeat([[_kg(axes, p)] for p in grid], t.size, axis=1)
    if realisations > 1:
        data["message"] = data["message"].astype("U40")
        data["outcome"][0, 1], data["message"][0, 1] = Outcome.NOT_SOLVED, "step size too small"
        data["energy_margin"][0, 1] = np.nan
    ds = _labelled(data, grid, axes, t, realisations)
    ds.attrs["title"] = title
    return ds


def _kg(axes: Mapping[str, Any], place: Sequence[Any]) -> float:
    """KG [m] by the sweep where it is swept, else by the condition."""
    return float(dict(zip(axes, place[1:], strict=True)).get("kg", KG.get(place[0], 5.3)))


def _height(place: dict[str, Any]) -> float:
    return float(float(place.get("significant_height", 5.0)) + 4.0 * (place.get("kg", 5.3) - 5.3))


def _labelled(
    data: dict[str, Any], grid: list[Any], axes: Mapping[str, Any], t: np.ndarray, count: int
) -> xr.Dataset:
    for name, codes in (("capsize", [4]), ("failure", [2, 3, 4])):
        k = np.isin(data["outcome"], codes).sum(axis=1)
        n = np.isin(data["outcome"], [1, 2, 3, 4]).sum(axis=1)
        low, high = clopper_pearson(k, n)
        data[f"{name}_probability"] = k / np.maximum(n, 1)
        data[f"{name}_probability_lower"], data[f"{name}_probability_upper"] = low, high
    for event in EVENTS:
        early, failure, end = (
            data[name] for name in ("failed_before_settle", "failure_time", "end_time")
        )
        rate = hourly(exposure(event, data["outcome"], early, failure, end, 0.0), count > 1)
        for part, values in zip(("", "_lower", "_upper"), rate, strict=True):
            data[f"{event}_rate{part}"] = values
    ds = xr.Dataset({name: (VARIABLES[name].dims, held) for name, held in data.items()})
    own = {"case": np.arange(len(grid)), "realisation": np.arange(count), "t": t, "heel": HEEL}
    ds = ds.assign_coords(own).assign_coords(condition=("case", [place[0] for place in grid]))
    for i, (name, (units, _)) in enumerate(axes.items()):
        ds[name] = ("case", [place[i + 1] for place in grid], {"units": units})
        ds = ds.set_coords(name)
    ds["gyradius"] = ("case", np.full(len(grid), GYRADIUS))
    for name, angle in (("roll_limit", 40.0), ("flooding_limit", np.nan), ("capsize_limit", 75.0)):
        ds[name] = ("case", np.full(len(grid), angle))
    for name, held in (VARIABLES | COORDINATES).items():
        if name in ds:
            ds[name].attrs["units"] = held.units
    return ds


def drawn(line: Line2D) -> tuple[np.ndarray, np.ndarray]:
    """The points of a line."""
    return np.asarray(line.get_xdata(), float), np.asarray(line.get_ydata(), float)
