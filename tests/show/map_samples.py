"""Invented files of maps, without any of the program that would make them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
import xarray as xr

from rollsim.map_names import MAPS
from rollsim.names import Outcome

Axes = Mapping[str, tuple[str, Any]]


def _put(command: str, arrays: Mapping[str, Any], axes: Axes, title: str) -> xr.Dataset:
    known = MAPS[command]
    data = {
        name: (known[name].dims, values, {"units": known[name].units})
        for name, values in arrays.items()
    }
    ds = xr.Dataset(data, attrs={"title": title})
    count = ds.sizes["case"]
    ds = ds.assign_coords(case=np.arange(count), condition=("case", ["base"] * count))
    for name, (unit, values) in axes.items():
        ds = ds.assign_coords({name: ("case", np.array(values), {"units": unit})})
    return ds


def basin(
    count: int = 1, wells: bool = False, outcomes: bool = False, title: str = "Safe basins"
) -> xr.Dataset:
    """A drop that shrinks from case to case, over a sweep of the wave's height."""
    roll, rate = np.linspace(-60.0, 60.0, 61), np.linspace(-30.0, 30.0, 41)
    x, y = np.meshgrid(roll / 40.0, rate / 20.0)
    radius = np.hypot(x, y)
    outcome = np.full((count, *radius.shape), int(Outcome.SURVIVED), dtype=np.int8)
    for i in range(count):
        outcome[i][radius > 1.0 / (1.0 + 0.1 * i)] = Outcome.CAPSIZED
        if outcomes:
            outcome[i][(radius > 0.6) & (radius < 0.8)] = Outcome.ROLL_LIMIT
            outcome[i][(radius >= 0.8) & (radius < 0.9)] = Outcome.FLOODED
    survived = outcome == Outcome.SURVIVED
    safe = survived.sum(axis=(1, 2))
    nothing = np.full(count, np.nan)
    arrays = {
        "roll": roll,
        "roll_rate": rate,
        "outcome": outcome,
        "failure_time": np.where(survived, np.nan, 30.0 / np.maximum(radius, 0.1)).astype("f4"),
        "well": np.where(survived & wells, np.sign(x + 1e-9), 0).astype(np.int8),
        "safe_share": safe / radius.size,
        "safe_area": safe * 1e-4,
        "wave_height": 1.0 + np.arange(count),
        "melnikov_height": np.full(count, 2.5),
        "melnikov_height_between": nothing,
        "loll_angle": np.full(count, 9.0) if wells else nothing,
        "loll_angle_port": np.full(count, -9.0) if wells else nothing,
    }
    axes: Axes = {"height": ("m", 1.0 + np.arange(count))} if count > 1 else {}
    return _put("basin", arrays, axes, title)


def response(count: int = 1, heeled: bool = False, title: str = "Steady rolls") -> xr.Dataset:
    """A folded curve that doubles, as a resonance curve leans over."""
    size = np.linspace(0.5, 20.0, 60)
    value = 10.0 + 0.1 * size + 1.5 * np.sin(size / 3.0)
    stable = (np.gradient(value) > 0.0).astype(np.int8)
    double = np.linspace(9.8, 10.4, 20)
    shape = (count, 2, 60)
    arrays: dict[str, Any] = {name: np.full(shape, np.nan) for name in ("value", "roll_amplitude")}
    arrays["value"][:, 0], arrays["roll_amplitude"][:, 0] = value, size
    arrays["value"][:, 1, :20], arrays["roll_amplitude"][:, 1, :20] = double, 6.0 + double
    arrays["roll_mean"] = np.where(np.isfinite(arrays["value"]), 8.0 if heeled else 0.0, np.nan)
    arrays["stable"] = np.zeros(shape, dtype=np.int8)
    arrays["stable"][:, 0], arrays["stable"][:, 1, :20] = stable, 1
    arrays["multiplier_real"] = np.full((*shape, 2), 0.5)
    arrays["multiplier_imag"] = np.zeros((*shape, 2))
    arrays["period_ratio"] = np.tile(np.array([1, 2], dtype=np.int32), (count, 1))
    arrays["branch_end"] = np.tile(np.array([[1, 1], [2, 3]], dtype=np.int8), (count, 1, 1))
    arrays["found_by"] = np.tile(np.array([1, 5], dtype=np.int8), (count, 1))
    arrays["island"] = np.tile(np.array([0, 1], dtype=np.int8), (count, 1))
    arrays["not_followed"] = np.full(count, 2, dtype=np.int32)
    arrays["grid_value"] = np.linspace(9.0, 13.0, 5)
    for kind in ("fold", "flip", "branching"):
        arrays[f"{kind}_value"] = np.tile([10.5, 11.0], (count, 1))
        arrays[f"{kind}_amplitude"] = np.tile([5.0, 12.0], (count, 1))
    swept = np.linspace(9.0, 13.0, 21)
    arrays["sweep_value"] = swept
    arrays["sweep_up"] = np.tile(np.where(swept < 12.0, 3.0 * (swept - 8.5), 1.0), (count, 1))
    arrays["sweep_down"] = np.tile(np.where(swept < 11.0, 3.0 * (swept - 8.5), 1.0), (count, 1))
    arrays["backbone_value"] = np.tile(np.linspace(10.0, 13.0, 30), (count, 1, 1))
    arrays["backbone_amplitude"] = np.tile(np.linspace(0.0, 22.0, 30), (count, 1, 1))
    arrays["backbone_ratio"] = np.ones((count, 1), dtype=np.int32)
    loll = np.full(count, 9.0 if heeled else np.nan)
    arrays |= {"loll_angle": loll, "loll_angle_port": -loll}
    axes: Axes = {"kg": ("m", 5.1 + 0.1 * np.arange(count))} if count > 1 else {}
    ds = _put("response", arrays, axes, title)
    ds["value"].attrs["units"] = "s"
    ds.attrs["response_key"] = "sea.period_s"
    return ds


def equilibria(count: int = 1, title: str = "Where she rests") -> xr.Dataset:
    """A wall-sided ship, BM 3 m, KM 5.66 m, over KG; G a little further off in every case."""
    tangent = np.concatenate((np.linspace(-0.9, -0.04, 60), np.linspace(0.04, 0.9, 60)))
    off_centre = 0.01 * np.arange(count)
    value = np.full((count, 2, 60), np.nan)
    heel = np.broadcast_to(np.degrees(np.arctan(tangent)).reshape(2, 60), value.shape).copy()
    for i, y in enumerate(off_centre):
        value[i] = (5.66 + 1.5 * tangent**2 - y / tangent).reshape(2, 60)
    inside = (value > 5.3) & (value < 6.4)
    stable = np.gradient(value, axis=2) * np.sign(heel) > 0.0
    fold = -np.cbrt(off_centre / 3.0)
    none = np.where(off_centre == 0.0, np.nan, 0.0)
    fall = np.abs(np.linspace(-1.0, 1.0, 41))
    arrays: dict[str, Any] = {
        "value": np.where(inside, value, np.nan),
        "heel": np.where(inside, heel, np.nan),
        "stable": (inside & stable).astype(np.int8),
        "branch_end": np.tile(np.array([[1, 7], [4, 1]], dtype=np.int8), (count, 1, 1)),
        "fold_value": (5.66 + np.cbrt(27.0 * 3.0 * off_centre**2 / 8.0) + none)[:, None],
        "fold_heel": (np.degrees(np.arctan(fold)) + none)[:, None],
        "branching_value": np.where(off_centre == 0.0, 5.66, np.nan)[:, None],
        "branching_heel": np.where(off_centre == 0.0, 0.0, np.nan)[:, None],
        "present_value": np.full(count, 5.9),
        "present_heel": np.full(count, 21.0),
        "track_value": np.tile(5.4 + fall, (count, 1)),
        "track_heel": np.tile(25.0 * np.sqrt(fall), (count, 2, 1)),
        "loll_angle": np.full(count, 21.0),
        "loll_angle_port": np.full(count, -21.0),
    }
    axes: Axes = {"off_centre": ("m", off_centre)} if count > 1 else {}
    ds = _put("equilibria", arrays, axes, title)
    for name in ("value", "fold_value", "branching_value", "present_value", "track_value"):
        ds[name].attrs["units"] = "m"
    ds.attrs["equilibria_key"] = "ship.gravity.kg_m"
    return ds


def heel_causes(count: int = 1, condition: str = "base") -> tuple[list[dict[str, Any]], list[Any]]:
    """Rows and states of `rollsim heel-cause`: a bell of GM, the part below 0 parted."""
    gm, share = np.linspace(-0.2, 0.4, 61), np.array([0.7, 0.3])
    weight = np.exp(-0.5 * ((gm - 0.05) / 0.1) ** 2)
    states = np.array(
        [
            (g, 0.01, w * part, 0 if g > 0.0 else cause)
            for g, w in zip(gm, weight / weight.sum(), strict=True)
            for part, cause in zip(share, (1, 2), strict=True)
        ]
    )
    list_, loll, both = (float(states[states[:, 3] == i, 2].sum()) for i in range(3))
    row = {"condition": condition, "list": list_, "loll": loll, "both": both}
    for name, middle, spread in (("gm_m", 0.05, 0.2), ("off_centre_m", 0.01, 0.02)):
        row |= {name: middle, f"{name}_lower": middle - spread, f"{name}_upper": middle + spread}
    row |= {
        "separating": "roll period by stop-watch",
        "observations": [{"observation": "roll period by stop-watch", "bits": 0.4}],
    }
    return [{"case": i, **row} for i in range(count)], [states] * count
