"""Runs of one case by a scipy solver, one after the other: the reference."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from rollsim.engines.at_outputs import AtOutputs, greatest_energy
from rollsim.engines.base import FIRST_LIMIT, Case, RunList
from rollsim.engines.limits import Tolerances
from rollsim.engines.runs import Measured, Runs, in_units, put_together
from rollsim.engines.scipy import watch
from rollsim.engines.scipy.solver import Problem, Solution, solve
from rollsim.engines.sides import side_numbers
from rollsim.forcing.single import with_storm
from rollsim.motion.coefficients import Coefficients
from rollsim.motion.equation import along
from rollsim.motion.timeline import segment_at

Floats = NDArray[np.float64]


class ScipyEngine:
    """A case made ready for scipy's solvers; `tolerances` default to the case's own."""

    def __init__(self, case: Case, tolerances: Tolerances | None = None) -> None:
        self.case = case
        self.tolerances = tolerances or case.tolerances
        self.outputs = AtOutputs(case)

    def run(self, runs: RunList, *, histories: bool) -> Runs:
        """Make the runs one by one."""
        return in_units(
            self.measured(runs, histories=histories), self.case.limits, self.outputs.times
        )

    def measured(self, runs: RunList, *, histories: bool) -> Measured:
        """The runs in radians and seconds."""
        levels = self.outputs.levels(runs.roll)
        return put_together(
            [
                self._single(self.problem(runs, i, float(levels[i])), runs, i, histories=histories)
                for i in range(runs.size)
            ]
        )

    def problem(self, runs: RunList, i: int, level: float = math.nan) -> Problem:
        """The equation of motion of run `i` with its storm, for a scipy solver.

        `level` [rad] is the heel whose upward crossings are counted.
        """
        case = self.case
        factors = float(runs.waves[i]), float(runs.wind[i])
        number = int(runs.realisation[i])
        roll = float(runs.roll[i])
        return Problem(
            coefficients=with_storm(case.coefficients, case.storm, case.seed, number, factors),
            segments=case.segments,
            roll=roll,
            rate=float(runs.rate[i]),
            output_step=case.output_step,
            watched=watch.Watched(
                case.limits,
                level,
                self.outputs.bottoms,
                case.limits.weight,
                bool(runs.until[i] == FIRST_LIMIT),
            ),
            settle=case.settle,
            well=int(np.count_nonzero(self.outputs.crests <= roll)),
        )

    def _single(self, problem: Problem, runs: RunList, i: int, *, histories: bool) -> Measured:
        solution = solve(problem, self.tolerances)
        c, record = problem.coefficients, solution.record
        outputs = self.outputs
        rows = along(outputs.times, solution.states, problem.segments, outputs.segment, c)
        kept = np.zeros((4, 0, 1), dtype=np.float32)
        if histories:
            kept = rows[[0, 1, 2, 4]].astype(np.float32)[:, :, None]
        counted = solution.end_time - problem.settle
        over = counted if counted > 0.0 else math.nan
        seen = record[watch.ROLL_MAX] >= record[watch.ROLL_MIN]
        numbers = {
            "roll_max": record[watch.ROLL_MAX] if seen else math.nan,
            "roll_min": record[watch.ROLL_MIN] if seen else math.nan,
            "heel_most": record[watch.HEEL_MOST] if seen else math.nan,
            "early": record[watch.EARLY] > 0.0,
            "end_time": solution.end_time,
            "end_heel": self._end_heel(solution, c),
            "energy": self._energy(solution, rows, c) if runs.wind[i] == 1.0 else math.nan,
            "roll_mean": record[watch.SUM] / over,
            "roll_square": record[watch.SQUARES] / over,
            "upcrossings": record[watch.UPCROSSINGS],
        }
        end, wells = np.array([solution.end_time]), outputs.bottoms.size
        passed = record[watch.PASSED_ROLL : watch.PASSED_CAPSIZE + 1].copy()
        return Measured(
            **{name: np.array([value]) for name, value in numbers.items()},
            **side_numbers(record[watch.SIDES :, None], end, problem.settle, wells),
            passed=passed[:, None],
            message=np.array([solution.message], dtype=object),
            histories=kept,
        )

    def _end_heel(self, solution: Solution, c: Coefficients) -> float:
        """ψ at the end [rad]."""
        segments, time = self.case.segments, np.array([solution.end_time])
        rows = along(time, solution.last[:, None], segments, segment_at(time, segments), c)
        return float(rows[0, 0] - (rows[2, 0] if c.relative else 0.0))

    def _energy(self, solution: Solution, rows: Floats, c: Coefficients) -> float:
        """The greatest E/E_b over the counted output points and, after a capsize, at the end."""
        outputs = self.outputs
        shift = 1.0 if c.relative else 0.0
        which = np.flatnonzero((outputs.times >= self.case.settle) & ~np.isnan(solution.states[0]))
        # The end of a run may stand a rounding error past the levers' end, never more.
        heel = np.clip(rows[0] - shift * rows[2], c.heel_min, c.heel_max)[which]
        rate = (rows[1] - shift * rows[3])[which]
        ratios = outputs.energy_ratio(which, heel, rate)
        capsized = not math.isnan(solution.record[watch.PASSED_CAPSIZE])
        if capsized:
            last = int(np.searchsorted(outputs.times, solution.end_time, side="right")) - 1
            time = np.array([solution.end_time])
            index = outputs.segment[[last]]
            end = along(time, solution.last[:, None], self.case.segments, index, c)[:, 0]
            heel = np.clip(end[[0]] - shift * end[[2]], c.heel_min, c.heel_max)
            at_end = outputs.energy_ratio(np.array([last]), heel, end[[1]] - shift * end[[3]])
            ratios = np.append(ratios, at_end)
        return greatest_energy(ratios, capsized)
