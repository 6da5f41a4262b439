"""One run at chosen moments: angles, levers and the places of G, B and M."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, NamedTuple, cast

import numpy as np
from numpy.typing import NDArray

from rollsim.ship.equilibria import equilibria
from rollsim.ship.righting import RightingCurve
from rollsim.show.query import cases
from rollsim.show.query.curves import heels, metacentric_heights, moved, on_grid, righting
from rollsim.show.query.heel import HeelHistory, heel_history
from rollsim.show.query.section import Scene, Section, scene, section

if TYPE_CHECKING:
    import xarray as xr

Floats = NDArray[np.float64]

SMOOTH = 0.1
"""Step [s] of the way through the phase plane."""
FINEST = 1e-4
"""Places of G and levers [m] that differ by less have the same heels of rest."""


class Rests(NamedTuple):
    """Heels [degree] at which nothing turns the ship, by what she does beside them, in order."""

    stable: Floats
    unstable: Floats


@dataclass(frozen=True)
class Track:
    """A run moment by moment (n,): angles in degrees, rates in degrees a second, levers in m."""

    times: Floats
    """Time of the run [s]; it stands still where the run has ended."""
    roll: Floats
    slope: Floats
    heel: Floats
    """The heel that the levers feel."""
    heel_rate: Floats
    heeling_lever: Floats
    gm: Floats
    gravity: Floats
    """G (2, n) in ship axes."""
    grid: Floats
    """Heel [degree] (h,) of the lever curves."""
    still: RightingCurve | None
    """The righting curve at t = 0."""
    start: Floats
    """G (2,) at t = 0."""
    ship: Section
    scene: Scene
    stored: HeelHistory
    """The stored points of the run, up to its end."""
    path: Floats
    """The way (3, p) through the phase plane, fine enough to look smooth: time, heel, its rate."""
    _rests: dict[tuple[int, ...], Rests] = field(default_factory=dict)

    def curve(self, frame: int) -> Floats:
        """GZ (h,) at a moment: that of t = 0 with G where it then is."""
        return on_grid(self._righting(frame), self.grid)

    def rests(self, frame: int, lever: float = 0.0) -> Rests:
        """Where she rests at a moment, under a heeling lever [m] that does not change with heel."""
        lengths = (*(self.gravity[:, frame] - self.start), lever)
        key = tuple(round(float(length) / FINEST) for length in lengths)
        if key not in self._rests:
            self._rests[key] = _rests(self._righting(frame, lever))
        return self._rests[key]

    def _righting(self, frame: int, lever: float = 0.0) -> RightingCurve | None:
        across, up = self.gravity[:, frame] - self.start
        return moved(self.still, across, up, lever) if self.still else None

    @property
    def waves(self) -> bool:
        """Whether the water is seen to tilt."""
        return self.stored.waves

    @property
    def moves(self) -> bool:
        """Whether G moves in the ship, and with it the curve."""
        return bool(np.any(self.gravity != self.start[:, None]))


def _rests(curve: RightingCurve | None) -> Rests:
    every = equilibria(curve) if curve else ()
    stable, unstable = (
        np.degrees([each.heel for each in every if each.kind == kind])
        for kind in ("stable", "unstable")
    )
    return Rests(stable, unstable)


def track(ds: xr.Dataset, case: int, realisation: int, times: Floats) -> Track:
    """A run at `times` [s], between stored points on the cubic through angles and rates."""
    stored, lever = _stored(ds, case, realisation)
    t = stored.t
    at = np.clip(times, t[0], t[-1])
    bend = np.gradient(stored.rate, t) if t.size > 1 else np.zeros_like(t)
    fine = np.linspace(at[0], at[-1], int((at[-1] - at[0]) / SMOOTH) + 2)
    gravity, start = _gravity(ds, case, at), _gravity(ds, case, np.zeros(1))[:, 0]
    roll = hermite(t, stored.roll, stored.roll_rate, at)
    slope = hermite(t, stored.slope, stored.slope_rate, at)
    heel = roll - stored.felt * slope
    still, ship = righting(ds, case), section(ds, case)
    lever_now = _levers(still, gravity - start[:, None], heel)
    path = [hermite(t, value, rate, fine) for value, rate in
            ((stored.heel, stored.rate), (stored.rate, bend))]  # fmt: skip
    return Track(
        times=at,
        roll=roll,
        slope=slope,
        heel=heel,
        heel_rate=hermite(t, stored.rate, bend, at),
        heeling_lever=np.interp(at, t, lever),
        gm=metacentric_heights(ds, case, gravity[1]),
        gravity=gravity,
        grid=heels(ds),
        still=still,
        start=start,
        ship=ship,
        scene=scene(ship, np.radians(roll), stored.felt * np.radians(slope), gravity, lever_now),
        stored=stored,
        path=np.stack([fine, *path]),
    )


def _stored(ds: xr.Dataset, case: int, realisation: int) -> tuple[HeelHistory, Floats]:
    """The stored points of a run up to its end, and the heeling lever [m] there."""
    whole = heel_history(ds, case, realisation)
    lever = cases.values(ds, "heeling_lever", case=case, realisation=realisation)
    known = lever[np.isfinite(whole.roll)].astype(np.float64)
    return whole.up_to_end(), np.nan_to_num(known)


def _levers(still: RightingCurve | None, shift: Floats, heel: Floats) -> Floats:
    """GZ (n,) at each heel [degree], G moved by `shift` (2, n); missing where nothing is known."""
    lever = np.full(heel.shape, np.nan)
    if still is not None:
        phi = np.radians(heel)
        inside = (phi >= still.levers.heel_min) & (phi <= still.levers.heel_max)
        # One curve for all moments: its numbers go element by element.
        across, up = (cast(float, part) for part in shift[:, inside])
        lever[inside] = moved(still, across, up).value(phi[inside])
    return lever


def hermite(t: Floats, value: Floats, rate: Floats, at: Floats) -> Floats:
    """The cubic through values and rates at the times `t`, at the times `at` within them."""
    if t.size == 1:
        return np.full_like(at, value[0])
    i = np.clip(np.searchsorted(t, at, side="right") - 1, 0, t.size - 2)
    step = t[i + 1] - t[i]
    s = (at - t[i]) / step
    straight = (1.0 + 2.0 * s) * (1.0 - s) ** 2 * value[i] + s**2 * (3.0 - 2.0 * s) * value[i + 1]
    bend = s * (1.0 - s) ** 2 * rate[i] - s**2 * (1.0 - s) * rate[i + 1]
    return np.asarray(straight + step * bend)


def _gravity(ds: xr.Dataset, case: int, at: Floats) -> Floats:
    """G (2, n) in ship axes at the times `at`."""
    t = np.asarray(ds["t"].values, dtype=np.float64)
    places = [cases.values(ds, f"centre_of_gravity_{axis}", case=case) for axis in "yz"]
    return np.stack([np.interp(at, t, axis) for axis in places])
