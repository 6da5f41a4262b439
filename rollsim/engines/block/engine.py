"""The block engine: runs of a case side by side, stepped again finer where a step was strained."""

from __future__ import annotations

import math
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from rollsim.engines.at_outputs import AtOutputs
from rollsim.engines.base import Case, RunList
from rollsim.engines.block.drawn import Drawn
from rollsim.engines.block.lanes import LANES
from rollsim.engines.block.step import (
    AS_GIVEN,
    DEFAULT_ACCURACY,
    Strength,
    alike,
    reach_of,
    step_of,
)
from rollsim.engines.block.stepper import Bounds, Stepper
from rollsim.engines.block.stretches import LONGEST_SAMPLE, SAMPLES, Grid
from rollsim.engines.limits import Tolerances
from rollsim.engines.runs import Measured, Runs, arranged, in_units, put_together, replaced
from rollsim.engines.scipy.engine import ScipyEngine

Floats = NDArray[np.float64]

FINER = (1, 4, 16)
"""Parts of the step that a run is stepped with: the next where the scheme was strained."""
REFERENCE = Tolerances("DOP853", 1e-10, 1e-12)
"""How a run is solved that no step was fine enough for."""
MOST_DAMPING = 0.3
MOST_MISS = 60.0
"""Greatest step times slope of damping, and greatest miss in accuracies per step squared."""


class BlockEngine:
    """A case made ready for blocks, in weather up to a `strength`; `step` [s] in place of its own.

    Runs in stronger weather are handed on to engines of their own, with the steps they need.
    """

    def __init__(
        self,
        case: Case,
        step: float | None = None,
        strength: Strength = AS_GIVEN,
        outputs: AtOutputs | None = None,
    ) -> None:
        self.case = case
        self.reach = reach_of(case, strength)
        self.step = step or step_of(case, self.reach)
        self.outputs = outputs or AtOutputs(case)
        self._steppers: dict[int, Stepper] = {}
        self._given_step = step
        self._by_strength: dict[Strength, BlockEngine] = {strength: self}

    def run(self, runs: RunList, *, histories: bool) -> Runs:
        """Make the runs, LANES at a time."""
        measured = self.measured(runs, histories=histories)
        return in_units(measured, self.case.limits, self.outputs.times)

    def measured(self, runs: RunList, *, histories: bool) -> Measured:
        """The runs in radians and seconds, each by the engine for its weather."""
        parts, places = [], []
        for strength, which in alike(runs):
            engine = self._for(strength)
            parts.append(engine._measured(runs.part(which), histories=histories))
            places.append(which)
        return arranged(parts, places)

    def _for(self, strength: Strength) -> BlockEngine:
        """The engine for weather of a strength, made on its first use."""
        if strength not in self._by_strength:
            self._by_strength[strength] = BlockEngine(
                self.case, self._given_step, strength, self.outputs
            )
        return self._by_strength[strength]

    def _measured(self, runs: RunList, *, histories: bool) -> Measured:
        """The runs, those again with finer steps that strained the scheme."""
        measured, trouble = self._at(0, runs, histories=histories)
        for level in range(1, len(FINER)):
            which = np.flatnonzero(trouble)
            if not which.size:
                break
            again, still = self._at(level, runs.part(which), histories=histories)
            measured = replaced(measured, which, again)
            trouble[which] = still
        which = np.flatnonzero(trouble)
        if which.size:
            last = self._reference.measured(runs.part(which), histories=histories)
            measured = replaced(measured, which, last)
        return measured

    def _at(
        self, level: int, runs: RunList, *, histories: bool
    ) -> tuple[Measured, NDArray[np.bool_]]:
        """The runs at one level of step, and which of them strained it."""
        stepper = self.stepper(level)
        levels = self.outputs.levels(runs.roll)
        parts = [slice(i, i + LANES) for i in range(0, runs.size, LANES)]
        drawn = Drawn()
        blocks = [stepper.run(runs.part(p), levels[p], drawn, histories=histories) for p in parts]
        measured, trouble = zip(*blocks, strict=True)
        return put_together(measured), np.concatenate(trouble)

    def stepper(self, level: int = 0) -> Stepper:
        """The case ready at a level of step, made on its first use."""
        if level not in self._steppers:
            self._steppers[level] = self._ready(level)
        return self._steppers[level]

    def _ready(self, level: int) -> Stepper:
        step = self.step / FINER[level]
        single = level == 0 and self.case.accuracy >= DEFAULT_ACCURACY * (1.0 - 1e-9)
        roll = math.tau / math.sqrt(max(self.reach.stiffness, 1e-9))
        stride = max(1, math.floor(min(roll / SAMPLES, LONGEST_SAMPLE) / step))
        grid = Grid(
            step,
            stride,
            np.float32 if single else np.float64,
            self.reach.periods,
            self.reach.weight,
        )
        bounds = Bounds(MOST_MISS * self.case.accuracy / step**2, MOST_DAMPING)
        return Stepper(self.outputs, grid, bounds)

    @cached_property
    def _reference(self) -> ScipyEngine:
        return ScipyEngine(self.case, REFERENCE)
