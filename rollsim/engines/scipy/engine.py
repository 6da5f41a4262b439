"""Runs of one case by a scipy solver, one after the other: the reference."""

from __future__ import annotations

import math
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from rollsim.engines.base import Case, RunList
from rollsim.engines.runs import Runs, joined
from rollsim.engines.scipy.solver import solve
from rollsim.engines.solution import Problem, Solution, output_times
from rollsim.forcing.single import with_waves
from rollsim.measures.margins import energy_margin
from rollsim.motion.coefficients import Coefficients
from rollsim.motion.equation import levers_along
from rollsim.motion.timeline import loading_at
from rollsim.ship.wells import Loadings, lowest_wells
from rollsim.weather.sea import realise

Floats = NDArray[np.float64]


class ScipyEngine:
    """A case made ready for scipy's solvers."""

    def __init__(self, case: Case) -> None:
        self.case = case

    def run(self, runs: RunList, *, histories: bool) -> Runs:
        """Make the runs one by one."""
        return joined([self._single(runs, i, histories=histories) for i in range(runs.count)])

    def problem(self, runs: RunList, i: int) -> Problem:
        """The equation of motion of run `i` with its storm, for a scipy solver."""
        case = self.case
        waves = realise(case.sea, case.seed, int(runs.realisation[i]))
        waves = waves._replace(slope=waves.slope * runs.waves[i])
        c = case.coefficients._replace(wind=case.coefficients.wind * float(runs.wind[i]) ** 2)
        return Problem(
            coefficients=with_waves(c, waves, case.duration),
            segments=case.segments,
            roll=float(runs.roll[i]),
            rate=float(runs.rate[i]),
            output_step=case.output_step,
            limits=case.limits,
            settle=case.settle,
        )

    @cached_property
    def times(self) -> Floats:
        """Output times [s]."""
        return output_times(self.case.duration, self.case.output_step)

    @cached_property
    def loading(self) -> Floats:
        """Mass ratio, KG, off-centre G, heeling lever, wind speed at the output times, (n, 5)."""
        return loading_at(self.times, self.case.segments)

    def _single(self, runs: RunList, i: int, *, histories: bool) -> Runs:
        problem = self.problem(runs, i)
        solution = solve(problem, self.case.tolerances)
        slope, slope_rate, lever = levers_along(
            self.times, solution.roll, self.loading, problem.coefficients
        )
        margin = self._margin(solution, slope, slope_rate, problem.coefficients)
        kept = np.zeros((4, 1, 0), dtype=np.float32)
        if histories:
            rows = np.degrees([solution.roll, solution.rate, slope])
            kept = np.array([*rows, lever], dtype=np.float32)[:, None, :]
            kept[:, :, np.isnan(solution.roll)] = math.nan
        numbers = {
            "outcome": np.array([solution.outcome], dtype=np.int8),
            "failed_before_settle": np.array([solution.early], dtype=np.int8),
            "failure_time": np.array([solution.failure_time]),
            "end_time": np.array([solution.end_time]),
            "message": np.array([solution.message], dtype=object),
            "roll_max": np.degrees([solution.roll_max]),
            "roll_min": np.degrees([solution.roll_min]),
            "energy_margin": np.array([margin]),
        }
        return Runs(numbers, kept)

    @cached_property
    def _loadings(self) -> Loadings:
        """The loadings at the output times."""
        mass, kg, off_centre, lever, _ = self.loading.T
        heeling = self.case.heeling
        free_surface = self.case.gravity.free_surface
        return Loadings(
            levers=self.case.levers,
            law=heeling.law,
            kg=kg + free_surface,
            off_centre=off_centre,
            wind=heeling.wind / mass,
            lever=lever,
        )

    @cached_property
    def _wells(self) -> Floats:
        """Lowest potential and height of the barrier at the output times [m rad], (n, 2)."""
        first, which = np.unique(
            self.loading[:, :4], axis=0, return_index=True, return_inverse=True
        )[1:]
        return lowest_wells(self._loadings.at(first), self.case.limits.capsize)[which.reshape(-1)]

    def _margin(
        self, solution: Solution, slope: Floats, slope_rate: Floats, c: Coefficients
    ) -> float:
        """The energy margin over the output points from settle on."""
        counted = (self.times >= self.case.settle) & ~np.isnan(solution.roll)
        shift = 1.0 if c.relative else 0.0
        # The end of a run may stand a rounding error past the levers' end, never more.
        heel = np.clip(solution.roll - shift * slope, c.heel_min, c.heel_max)
        rate = solution.rate - shift * slope_rate
        potential = self._loadings.at(np.flatnonzero(counted)).curves.potential
        low, height = self._wells[counted].T
        energy = 0.5 * c.inertia * rate[counted] ** 2 + potential(heel[counted]) - low
        return energy_margin(energy, height)
