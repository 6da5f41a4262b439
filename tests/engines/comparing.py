"""The block engine against the reference, run by run: numbers, deviation and what growth allows."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from engine_cases import FINE, Recipe, case_of, runs_of
from numpy.typing import NDArray

from rollsim.engines.base import RunList
from rollsim.engines.block.engine import BlockEngine
from rollsim.engines.runs import NUMBERS, Runs
from rollsim.engines.scipy.engine import ScipyEngine

Floats = NDArray[np.float64]

DISTURBANCE = 1e-6
"""By how much a start is disturbed [rad, rad/s]."""
MOST_GROWTH = 10.0
"""Growth of a disturbance up to which the accuracy is promised."""
SLACK = {
    "failure_time": 0.05, "end_time": 0.05, "roll_limit_time": 0.05, "flooding_time": 0.05,
    "capsize_time": 0.05, "energy_margin": 2e-3, "limit_margin": 1e-3, "upcrossings": 0.0,
    "side_changes": 0.0, "side_changes_to_starboard": 0.0, "time_to_port": 0.05,
    "time_to_starboard": 0.05, "outcome": 0.0, "failed_before_settle": 0.0, "roll_std": 0.03,
    "roll_mean": 0.03,
}  # fmt: skip
"""How far numbers may be off where nothing grows; angles by the accuracy where nothing else
stands here; averages of runs that capsize within a swing lean on few samples."""


@dataclass(frozen=True, eq=False)
class Compared:
    """Runs of both engines, and by run the greatest deviation of the roll angle [degree]."""

    block: Runs
    reference: Runs
    deviation: Floats
    engine: BlockEngine
    solver: ScipyEngine
    runs: RunList

    def growth(self) -> tuple[Floats, NDArray[np.bool_]]:
        """By how much a disturbed start grows at most; whether the reference's outcome changes."""
        grown, other = np.zeros(self.runs.size), np.zeros(self.runs.size, dtype=bool)
        for roll, rate in ((1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0)):
            start = self.runs._replace(
                roll=self.runs.roll + DISTURBANCE * roll, rate=self.runs.rate + DISTURBANCE * rate
            )
            disturbed = self.solver.run(start, histories=True)
            away = deviation(disturbed, self.reference) / math.degrees(DISTURBANCE)
            grown = np.fmax(grown, away)
            other |= disturbed.numbers["outcome"] != self.reference.numbers["outcome"]
        return grown, other

    def differing(self, i: int) -> list[str]:
        """The numbers of run `i` in which the engines differ by more than the slack."""
        accuracy = math.degrees(self.engine.case.accuracy)
        ours, theirs = self.block.numbers, self.reference.numbers
        names = [name for name in NUMBERS if name != "message"]
        return [
            f"{name} {ours[name][i]} {theirs[name][i]}"
            for name in names
            if not _near(name, ours[name][i], theirs[name][i], SLACK.get(name, accuracy))
        ]


def _near(name: str, ours: float, theirs: float, slack: float) -> bool:
    if math.isnan(ours) or math.isnan(theirs):
        return math.isnan(ours) and math.isnan(theirs)
    scale = max(1.0, abs(1.0 - theirs)) if name == "energy_margin" else 1.0
    return abs(float(ours) - float(theirs)) <= slack * scale


def deviation(one: Runs, other: Runs) -> Floats:
    """Greatest difference of the roll angle by run [degree], while both are under way."""
    difference = np.abs(one.histories[0].astype(float) - other.histories[0])
    return np.asarray(np.nanmax(difference, axis=1, initial=0.0))


def compared(recipe: Recipe, count: int = 1, runs: RunList | None = None) -> Compared:
    """Both engines over the first runs of a recipe, or over `runs`."""
    case = case_of(recipe)
    wanted = runs_of(case, count if case.random else 1) if runs is None else runs
    engine, solver = BlockEngine(case), ScipyEngine(case, FINE)
    ours = engine.run(wanted, histories=True)
    theirs = solver.run(wanted, histories=True)
    return Compared(ours, theirs, deviation(ours, theirs), engine, solver, wanted)
