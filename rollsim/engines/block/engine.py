"""The block engine behind the door that all engines have."""

from __future__ import annotations

import math
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from rollsim.engines.base import Case, RunList
from rollsim.engines.block.lanes import LANES
from rollsim.engines.block.prepare import BlockEngine as Prepared
from rollsim.engines.block.prepare import BlockProblem, BlockRuns
from rollsim.engines.block.step import step_of
from rollsim.engines.runs import Runs, joined
from rollsim.engines.scipy.engine import ScipyEngine
from rollsim.engines.solution import ROUNDING
from rollsim.forcing.interpolation import band_for
from rollsim.forcing.synthesis import block_sea
from rollsim.names import Outcome

Floats = NDArray[np.float64]

NOT_FINITE = "the state is no longer a finite number"


class BlockEngine:
    """A case made ready for blocks."""

    def __init__(self, case: Case) -> None:
        self.case = case

    def run(self, runs: RunList, *, histories: bool) -> Runs:
        """Make the runs, LANES at a time."""
        parts = [runs.part(slice(i, i + LANES)) for i in range(0, runs.count, LANES)]
        times = ScipyEngine(self.case).times
        return joined(
            [
                _from_block(self._engine.run(self.case.seed, part, histories), times)
                for part in parts
            ]
        )

    @cached_property
    def _engine(self) -> Prepared:
        case, rest = self.case, ScipyEngine(self.case)
        low, height = rest._wells.T
        return Prepared(
            BlockProblem(
                levers=case.levers,
                coefficients=case.coefficients,
                segments=case.segments,
                sea=block_sea(case.sea, band_for(case.accuracy)),
                output_step=case.output_step,
                step=step_of(case),
                limits=case.limits,
                settle=case.settle,
                mean_wind=case.mean_wind,
                low=low,
                barrier=height,
            )
        )


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
