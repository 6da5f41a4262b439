"""One run at the moments of the frames: angles, levers and the places of G, B and M."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from rollsim.show.query import cases
from rollsim.show.query.section import Scene, Section, scene, section

if TYPE_CHECKING:
    import xarray as xr

Floats = NDArray[np.float64]

SMOOTH = 0.1
"""Step [s] of the way through the phase plane."""


@dataclass(frozen=True)
class Track:
    """A run frame by frame (n,): angles in degrees, rates in degrees a second, levers in m."""

    times: Floats
    """Time of the run [s]; it stands still where the run has ended."""
    roll: Floats
    slope: Floats
    relative: bool
    """Whether the levers feel the heel relative to the water."""
    heel: Floats
    """The heel that the levers feel."""
    heel_rate: Floats
    heeling_lever: Floats
    gm: Floats
    gravity: Floats
    """G (2, n) in ship axes."""
    grid: Floats
    """Heel [degree] (h,) of the lever curves."""
    still: Floats
    """GZ (h,) at t = 0."""
    start: Floats
    """G (2,) at t = 0."""
    ship: Section
    scene: Scene
    stored: Floats
    """The stored points (3, m): time, roll, slope."""
    path: Floats
    """The way (3, p) through the phase plane, fine enough to look smooth: time, heel, its rate."""

    def curve(self, frame: int) -> Floats:
        """GZ (h,) at a frame: that of t = 0, less what G has moved since."""
        across, up = self.gravity[:, frame] - self.start
        phi = np.radians(self.grid)
        return np.asarray(self.still - up * np.sin(phi) - across * np.cos(phi))

    @property
    def waves(self) -> bool:
        """Whether the water is seen to tilt."""
        return self.relative and bool(np.any(self.stored[2]))

    @property
    def moves(self) -> bool:
        """Whether G moves in the ship, and with it the curve."""
        return bool(np.any(self.gravity != self.start[:, None]))


def track(ds: xr.Dataset, case: int, realisation: int, times: Floats) -> Track:
    """A run at `times` [s], between stored points on the cubic through angles and rates."""
    t, roll, rate, slope, lever = _stored(ds, case, realisation)
    at = np.clip(times, t[0], t[-1])
    relative = cases.relative(ds, case)
    slope_rate, felt = _gradient(slope, t), float(relative)
    heel, heel_rate = roll - felt * slope, rate - felt * slope_rate
    bend = _gradient(heel_rate, t)
    fine = np.linspace(at[0], at[-1], int((at[-1] - at[0]) / SMOOTH) + 2)
    gravity, start = _gravity(ds, case, at), _gravity(ds, case, np.zeros(1))[:, 0]
    ship = section(ds, case)
    angle, waves = hermite(t, roll, rate, at), hermite(t, slope, slope_rate, at)
    return Track(
        times=at,
        roll=angle,
        slope=waves,
        relative=relative,
        heel=angle - felt * waves,
        heel_rate=hermite(t, heel_rate, bend, at),
        heeling_lever=np.interp(at, t, lever),
        gm=cases.number(ds, "gm", case=case) - (gravity[1] - start[1]),
        gravity=gravity,
        grid=np.asarray(ds["heel"].values, dtype=float),
        still=np.asarray(cases.values(ds, "righting_lever", case=case), dtype=float),
        start=start,
        ship=ship,
        scene=scene(ship, np.radians(angle), felt * np.radians(waves), gravity),
        stored=np.stack([t, roll, slope]),
        path=np.stack([fine, hermite(t, heel, heel_rate, fine), hermite(t, heel_rate, bend, fine)]),
    )


def _stored(ds: xr.Dataset, case: int, realisation: int) -> Floats:
    """The stored points (5, m) of a run: time, roll, rate, slope, heeling lever."""
    names = ("roll_angle", "roll_rate", "wave_slope", "heeling_lever")
    held = [cases.values(ds, name, case=case, realisation=realisation) for name in names]
    points = np.array([ds["t"].values, *held], dtype=float)
    return np.asarray(np.nan_to_num(points[:, np.isfinite(points[1])]))


def hermite(t: Floats, value: Floats, rate: Floats, at: Floats) -> Floats:
    """The cubic through values and rates at the times `t`, at the times `at` within them."""
    if t.size == 1:
        return np.full_like(at, value[0])
    i = np.clip(np.searchsorted(t, at, side="right") - 1, 0, t.size - 2)
    step = t[i + 1] - t[i]
    s = (at - t[i]) / step
    held = (1.0 + 2.0 * s) * (1.0 - s) ** 2 * value[i] + s**2 * (3.0 - 2.0 * s) * value[i + 1]
    bend = s * (1.0 - s) ** 2 * rate[i] - s**2 * (1.0 - s) * rate[i + 1]
    return np.asarray(held + step * bend)


def _gradient(value: Floats, t: Floats) -> Floats:
    return np.asarray(np.gradient(value, t)) if t.size > 1 else np.zeros_like(value)


def _gravity(ds: xr.Dataset, case: int, at: Floats) -> Floats:
    """G (2, n) in ship axes at the times `at`."""
    t = np.asarray(ds["t"].values, dtype=float)
    held = [cases.values(ds, f"centre_of_gravity_{axis}", case=case) for axis in "yz"]
    return np.stack([np.interp(at, t, axis) for axis in held])


def _relative(ds: xr.Dataset, case: int) -> bool:
    """Waves act through the slope of the water unless the result calls them "absolute"."""
    return "excitation" not in ds.variables or str(ds["excitation"].values[case]) != "absolute"
