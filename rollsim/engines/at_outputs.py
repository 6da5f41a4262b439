"""What a case is at its output times, whatever the engine: loading, wells and energies."""

from __future__ import annotations

import math
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from rollsim.engines.base import Case
from rollsim.engines.limits import output_times
from rollsim.motion.timeline import FILLING, START, loading_at, segment_at
from rollsim.ship.liquid import Filled
from rollsim.ship.rests import STABLE, UNSTABLE, Loadings, Rests, rests, static_heels
from rollsim.ship.wells import lowest_wells

Floats = NDArray[np.float64]


class AtOutputs:
    """The output times of a case and what its timeline makes of her there."""

    def __init__(self, case: Case) -> None:
        self.case = case
        self.times = output_times(case.duration, case.output_step)

    @cached_property
    def segment(self) -> NDArray[np.int64]:
        """Number of the segment of every output."""
        return segment_at(self.times, self.case.segments)

    @cached_property
    def loading(self) -> Floats:
        """A `Loading` a row, (n, 6)."""
        return loading_at(self.times, self.case.segments)

    @cached_property
    def loadings(self) -> Loadings:
        """The loadings for potentials: G with free surfaces, mean wind without gusts, levers."""
        mass, kg, off_centre, lever, free_surface, _ = self.loading.T
        heeling = self.case.heeling
        return Loadings(
            levers=self.case.levers,
            law=heeling.law,
            kg=kg + free_surface,
            off_centre=off_centre,
            wind=self._mean_wind / mass,
            lever=lever,
            filled=self._filled,
        )

    @cached_property
    def _filled(self) -> Filled | None:
        """What liquid adds in tanks as full as they are at every output."""
        if self.case.filling is None:
            return None
        segments = self.case.segments[self.segment]
        passed = self.times - segments[:, START]
        at = segments[:, FILLING] + segments[:, FILLING + 1] * passed
        return Filled(self.case.filling, np.asarray(at))

    @cached_property
    def _mean_wind(self) -> Floats:
        """Lever of the mean wind [m], per weight at t = 0, gusts left out."""
        speed = self.case.mean_wind_at(self.times)
        return np.asarray(self.case.coefficients.wind * speed * np.abs(speed))

    @cached_property
    def wells(self) -> Floats:
        """A `Well` a row, (n, 4): the lowest within the capsize angle at every output."""
        loadings = self.loadings
        columns = [loadings.kg, loadings.off_centre, loadings.wind, loadings.lever]
        columns += [loadings.filled.at] if loadings.filled else []
        rows = np.stack(columns, axis=1)
        new = np.append(True, np.any(rows[1:] != rows[:-1], axis=1))
        first, limit = np.flatnonzero(new), self.case.limits.capsize
        if first.size == 1 and not self._changed_at_once:
            loading, at = self._at_start
            return np.repeat(lowest_wells(loading, limit, at), rows.shape[0], axis=0)
        return np.asarray(lowest_wells(loadings.at(first), limit)[np.cumsum(new) - 1])

    @property
    def _changed_at_once(self) -> bool:
        """Whether an event acts from t = 0 on, so that the loading is never that of the case."""
        first = self.loading[0]
        g = self.case.gravity
        start = [1.0, g.kg, g.off_centre, 0.0, g.free_surface]
        return (
            bool(np.any(first[:5] != start))
            or self.case.mean_wind_at(self.times[:1])[0] != (self.case.mean_wind[0, 1])
        )

    @cached_property
    def _at_start(self) -> tuple[Loadings, Rests]:
        """The loading of t = 0 under mean wind, and where she rests."""
        loading = Loadings.single(self.case.curve)
        return loading, rests(loading)

    def levels(self, start: Floats) -> Floats:
        """The static heel [rad] from every start roll [rad], NaN where there is none."""
        return static_heels(*self._at_start, np.zeros(start.size, dtype=np.intp), start)

    @cached_property
    def bottoms(self) -> Floats:
        """Heels [rad] of the wells at t = 0 under mean wind, in order; empty below two."""
        at = self._at_start[1]
        heels = at.heel[(at.kind == STABLE) & (np.abs(at.heel) < self.case.limits.capsize)]
        return heels if heels.size > 1 else np.zeros(0)

    @cached_property
    def crests(self) -> Floats:
        """Heels [rad] of the crests between the `bottoms`."""
        at, bottoms = self._at_start[1], self.bottoms
        if not bottoms.size:
            return np.zeros(0)
        crest = (at.kind == UNSTABLE) & (at.heel > bottoms[0]) & (at.heel < bottoms[-1])
        return np.asarray(at.heel[crest])

    def energy_ratio(self, which: NDArray[np.intp], heel: Floats, rate: Floats) -> Floats:
        """E/E_b at outputs `which` for heel [rad] and heel rate [rad/s] there.

        At least 1 beyond a barrier's heel; NaN where nothing is stable.
        """
        low, height, port, starboard = self.wells[which].T
        inertia = self.case.coefficients.inertia
        potential = self.loadings.at(which).curves.potential(heel)
        with np.errstate(divide="ignore", invalid="ignore"):
            ratio = (0.5 * inertia * rate**2 + potential - low) / height
        beyond = (heel > starboard) | (heel < port)
        return np.asarray(np.where(beyond, np.fmax(ratio, 1.0), ratio))


def greatest_energy(ratios: Floats, capsized: bool) -> float:
    """The greatest E/E_b of those looked at; NaN where one is, or where there is none."""
    if ratios.size == 0 or np.isnan(ratios).any():
        return math.nan
    greatest = float(np.max(ratios))
    return max(greatest, 1.0) if capsized else greatest
