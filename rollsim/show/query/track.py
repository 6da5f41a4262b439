"""One run at chosen moments: angles, levers and the places of G, B and M."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise
from typing import TYPE_CHECKING, cast

import numpy as np
from numpy.typing import NDArray

from rollsim.constants import GRAVITY
from rollsim.ship.rests import Loadings, Rests, rests
from rollsim.ship.righting import HEELING_LAWS, Heeling, RightingCurve
from rollsim.ship.verdict import NONE, Moment, Verdicts, verdicts
from rollsim.show.query import cases
from rollsim.show.query.curves import (
    heeling_law,
    heels,
    lifts,
    metacentric_heights,
    moved,
    on_grid,
    righting,
)
from rollsim.show.query.filling import StoredFilling, stored_filling
from rollsim.show.query.heel import HeelHistory, heel_history
from rollsim.show.query.section import Scene, Section, scene, section

if TYPE_CHECKING:
    import xarray as xr

Floats = NDArray[np.float64]

LEAST_SHARE = 0.1
"""The least share of an upright lever by which that is worked back from her heel."""
SMOOTH = 0.1
"""Step [s] of the way through the phase plane."""


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
    lift: Floats
    """How much further free surfaces raise it than at t = 0."""
    grid: Floats
    """Heel [degree] (h,) of the lever curves."""
    still: RightingCurve | None
    """The righting curve at t = 0."""
    filling: StoredFilling | None
    """What moving liquid adds to the levers while tanks fill."""
    start: Floats
    """G (2,) at t = 0."""
    law: str
    """How the heeling lever falls off with heel."""
    gyradius: float
    limit: float
    """The capsize angle [rad]."""
    ship: Section
    scene: Scene
    stored: HeelHistory
    """The stored points of the run, up to its end."""
    path: Floats
    """The way (3, p) through the phase plane, fine enough to look smooth: time, heel, its rate."""

    def curve(self, frame: int) -> Floats:
        """GZ (h,) at a moment: that of t = 0 with G where it then is."""
        across, up = self.shift[:, frame]
        if self.still is None:
            return on_grid(None, self.grid)
        return on_grid(self._filled(moved(self.still, across, up), frame), self.grid)

    def _filled(self, curve: RightingCurve, frame: int) -> RightingCurve:
        """A curve with what moving liquid adds at a moment."""
        return replace(curve, filled=self.filling.at(self.times[frame])) if self.filling else curve

    @property
    def _number(self) -> Floats:
        """Which of the stored levers of liquid holds at each moment, 0 without any."""
        return self.filling.at(self.times).at if self.filling else np.zeros(self.times.size)

    @property
    def shift(self) -> Floats:
        """How far G (2, n) lies from where it was at t = 0, raised by free surfaces."""
        moved_by = self.gravity - self.start[:, None]
        moved_by[1] += self.lift
        return moved_by

    @property
    def lever_upright(self) -> Floats:
        """The heeling lever (n,) that she would feel upright, by the law."""
        share = HEELING_LAWS[self.law].value(np.radians(self.heel))
        return np.asarray(self.heeling_lever / np.maximum(share, LEAST_SHARE))

    def moment(self, frame: int, lever: float, known: Rests | None = None) -> Moment | None:
        """All of a moment but heel and rate, under a lever [m] upright; None where unknown."""
        if self.still is None or not np.isfinite([*self.gravity[:, frame], lever]).all():
            return None
        across, up = self.shift[:, frame]
        heeling = Heeling(wind=lever, law=self.law)
        curve = self._filled(replace(moved(self.still, across, up), heeling=heeling), frame)
        inertia = self.gyradius**2 / GRAVITY
        off, gm = float(self.gravity[0, frame]), float(self.gm[frame])
        return Moment(curve, gm, off, lever, inertia, self.limit, known)

    @cached_property
    def verdicts(self) -> Verdicts:
        """The verdict of every moment, and the well [rad] she turns to; empty where unknown.

        Moments whose G and lever differ by less than counts share their curve.
        """
        count, lever = self.times.size, self.lever_upright
        made = Verdicts(np.full(count, "", dtype="U16"), np.full(count, np.nan))
        loading = np.round(np.column_stack([*self.shift, self._number, lever]) / NONE)
        _, first, group = np.unique(loading, axis=0, return_index=True, return_inverse=True)
        heel, rate = np.radians(self.heel), np.radians(self.heel_rate)
        for number, (frame, known) in enumerate(zip(first, self._rests(first), strict=True)):
            moment = self.moment(int(frame), float(lever[frame]), known)
            if moment:
                same = group.reshape(-1) == number
                made.name[same], made.well[same] = verdicts(moment, heel[same], rate[same])
        return made

    def _rests(self, frames: NDArray[np.intp]) -> Sequence[Rests | None]:
        """Every equilibrium under G and lever of some frames, found at once."""
        if self.still is None or not np.isfinite(self.gravity[:, frames]).all():
            return [None] * frames.size
        across, up = self.shift[:, frames]
        lever = self.lever_upright[frames]
        filled = self.filling.at(self.times[frames]) if self.filling else None
        none = np.zeros_like(lever)
        loadings = Loadings(self.still.levers, self.law, up, across, lever, none, filled)
        every = rests(loadings)
        borders = np.searchsorted(every.row, np.arange(frames.size + 1))
        parts = [slice(*ends) for ends in pairwise(borders)]
        return [Rests(1, 0 * every.row[i], every.heel[i], every.kind[i]) for i in parts]

    @property
    def waves(self) -> bool:
        """Whether the water is seen to tilt."""
        return self.stored.waves

    @property
    def moves(self) -> bool:
        """Whether G moves in the ship, and with it the curve."""
        return bool(np.any(self.shift != 0.0))


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
    lift = np.interp(at, np.asarray(ds["t"].values, dtype=np.float64), lifts(ds, case))
    shift = gravity - start[:, None] + np.stack([0.0 * lift, lift])
    filling = stored_filling(ds, case)
    lever_now = _levers(still, shift, heel)
    if filling and still:
        phi = np.clip(np.radians(heel), still.levers.heel_min, still.levers.heel_max)
        lever_now = lever_now + filling.at(at).value(phi)
    path = [hermite(t, value, rate, fine) for value, rate in
            ((stored.heel, stored.rate), (stored.rate, bend))]  # fmt: skip
    return Track(
        times=at,
        roll=roll,
        slope=slope,
        heel=heel,
        heel_rate=hermite(t, stored.rate, bend, at),
        heeling_lever=np.interp(at, t, lever),
        gm=metacentric_heights(ds, case, gravity[1], lift),
        gravity=gravity,
        lift=lift,
        filling=filling,
        grid=heels(ds),
        still=still,
        start=start,
        law=heeling_law(ds, case),
        gyradius=cases.number(ds, "gyradius", case=case),
        limit=float(np.radians(cases.limits(ds, case).get("capsize_limit", np.inf))),
        ship=ship,
        scene=scene(
            ship, np.radians(roll), stored.felt * np.radians(slope), gravity, lever_now, lift
        ),
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
