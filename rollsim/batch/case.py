"""The runs of one case, by a scipy solver or in blocks; what they share is worked out once."""

from __future__ import annotations

import math
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from rollsim.batch.build import BLOCK, Case
from rollsim.batch.runs import Runs, joined
from rollsim.batch.wells import Loadings, lowest_wells
from rollsim.integrate.block import BlockEngine, BlockProblem, BlockRuns
from rollsim.integrate.lanes import LANES
from rollsim.integrate.scipy_solver import solve
from rollsim.integrate.solution import ROUNDING, Problem, Solution, output_times
from rollsim.measures.margins import energy_margin
from rollsim.motion.coefficients import Coefficients
from rollsim.motion.equation import levers_along
from rollsim.motion.forcing import with_waves
from rollsim.motion.synthesis import block_sea
from rollsim.motion.timeline import loading_at
from rollsim.names import Outcome
from rollsim.weather.waves import realise

Floats = NDArray[np.float64]

NOT_FINITE = "the state is no longer a finite number"


class CaseRunner:
    """Runs of one case."""

    def __init__(self, case: Case) -> None:
        self.case = case

    def run(self, first: int, last: int, *, histories: bool = True) -> Runs:
        """Realisations [first, last); where nothing is random, one run serves for all."""
        if not self.case.random and last - first > 1:
            return self.run(first, first + 1, histories=histories).repeated(last - first)
        if self.case.method == BLOCK:
            blocks = range(first, last, LANES)
            return joined(
                [self._block(b, min(b + LANES, last), histories=histories) for b in blocks]
            )
        return joined([self._single(r, histories=histories) for r in range(first, last)])

    def problem(self, realisation: int) -> Problem:
        """The equation of motion with the storm of `realisation`, for a scipy solver."""
        case = self.case
        waves = realise(case.sea, case.seed, realisation)
        return Problem(
            coefficients=with_waves(case.coefficients, waves, case.duration),
            segments=case.segments,
            roll=case.start[0],
            rate=case.start[1],
            output_step=case.output_step,
            limits=case.limits,
            settle=case.settle,
        )

    @cached_property
    def engine(self) -> BlockEngine:
        """The block engine made ready for this case."""
        case = self.case
        low, height = self._wells.T
        problem = BlockProblem(
            levers=case.levers,
            coefficients=case.coefficients,
            segments=case.segments,
            sea=block_sea(case.sea, case.band),
            roll=case.start[0],
            rate=case.start[1],
            output_step=case.output_step,
            step=case.step,
            limits=case.limits,
            settle=case.settle,
            mean_wind=case.mean_wind,
            low=low,
            barrier=height,
        )
        return BlockEngine(problem)

    @cached_property
    def times(self) -> Floats:
        """Output times [s]."""
        return output_times(self.case.duration, self.case.output_step)

    @cached_property
    def loading(self) -> Floats:
        """Mass ratio, KG, off-centre G, heeling lever, wind speed at the output times, (n, 5)."""
        return loading_at(self.times, self.case.segments)

    def _block(self, first: int, last: int, *, histories: bool) -> Runs:
        wanted = np.arange(first, last, dtype=np.uint64)
        return _from_block(self.engine.run(self.case.seed, wanted, histories), self.times)

    def _single(self, realisation: int, *, histories: bool) -> Runs:
        problem = self.problem(realisation)
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


def _from_block(block: BlockRuns, times: Floats) -> Runs:
    """Runs of the block engine in the units of the result."""
    passed = np.where(np.isnan(block.passed), math.inf, block.passed)
    outcome = np.full(block.end_time.size, Outcome.SURVIVED, dtype=np.int8)
    for code, row in zip(
        (Outcome.ROLL_LIMIT, Outcome.FLOODED, Outcome.CAPSIZED), passed, strict=True
    ):
        outcome[np.isfinite(row)] = code
    outcome[~block.solved] = Outcome.NOT_SOLVED
    first = passed.min(axis=0)
    message = np.where(block.solved, "", NOT_FINITE).astype(object)
    histories = block.histories.transpose(0, 2, 1).copy()
    if histories.shape[2]:
        # The last output may stand a rounding error past the end of the run.
        histories[:, times > block.end_time[:, None] * (1.0 + ROUNDING)] = math.nan
        # A run that could not be solved may stand at any number at all.
        with np.errstate(over="ignore"):
            histories[:3] = np.degrees(histories[:3])
    numbers = {
        "outcome": outcome,
        "failed_before_settle": block.early.astype(np.int8),
        "failure_time": np.where(np.isfinite(first), first, math.nan),
        "end_time": block.end_time,
        "message": message,
        "roll_max": np.degrees(block.roll_max),
        "roll_min": np.degrees(block.roll_min),
        "energy_margin": 1.0 - block.energy,
    }
    return Runs(numbers, histories)
