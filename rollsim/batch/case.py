"""One case: its numbers at rest, and any of its runs as a row of the result's arrays.

Everything that leaves here is in the units of the result: degrees, metres, seconds.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from rollsim.batch.build import Case
from rollsim.constants import GRAVITY
from rollsim.integrate.scipy_solver import solve
from rollsim.integrate.solution import Problem, Solution, output_times
from rollsim.measures.margins import NO_WELL, Well, energy_margin, lowest_well
from rollsim.motion.coefficients import Coefficients
from rollsim.motion.equation import levers_along
from rollsim.motion.forcing import with_waves
from rollsim.motion.timeline import loading_at
from rollsim.names import Outcome
from rollsim.ship.levers import Gravity, metacentric_height
from rollsim.ship.metacentre import buoyancy, metacentre
from rollsim.ship.statics import (
    Heeling,
    RightingCurve,
    equilibria,
    loll_angles,
    static_heel,
    vanishing_angles,
)
from rollsim.weather.waves import realise

Floats = NDArray[np.float64]

HISTORIES = ("roll_angle", "roll_rate", "wave_slope", "heeling_lever")
"""The histories of a run, in the order of `RunResult.histories`."""


@dataclass(frozen=True, eq=False)
class RunResult:
    """One run in the units of the result; `histories` (4, n) float32, NaN after the end."""

    outcome: Outcome
    early: bool
    failure_time: float
    end_time: float
    message: str
    roll_max: float
    roll_min: float
    energy_margin: float
    histories: NDArray[np.float32]


class CaseRunner:
    """Runs of one case; what all its realisations share is worked out once."""

    def __init__(self, case: Case) -> None:
        self.case = case

    def problem(self, realisation: int) -> Problem:
        """The equation of motion with the storm of `realisation`."""
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

    def run(self, realisation: int) -> RunResult:
        """Run one realisation."""
        problem = self.problem(realisation)
        solution = solve(problem, self.case.tolerances)
        slope, slope_rate, lever = levers_along(
            self.times, solution.roll, self.loading, problem.coefficients
        )
        ended = np.isnan(solution.roll)
        histories = np.array(
            [
                np.degrees(solution.roll),
                np.degrees(solution.rate),
                np.where(ended, math.nan, np.degrees(slope)),
                np.where(ended, math.nan, lever),
            ],
            dtype=np.float32,
        )
        return RunResult(
            outcome=solution.outcome,
            early=solution.early,
            failure_time=solution.failure_time,
            end_time=solution.end_time,
            message=solution.message,
            roll_max=math.degrees(solution.roll_max),
            roll_min=math.degrees(solution.roll_min),
            energy_margin=self._margin(solution, slope, slope_rate, problem.coefficients),
            histories=histories,
        )

    @cached_property
    def times(self) -> Floats:
        """Output times [s]."""
        return output_times(self.case.duration, self.case.output_step)

    @cached_property
    def loading(self) -> Floats:
        """Mass ratio, KG, off-centre G, heeling lever, wind speed at the output times, (n, 5)."""
        return loading_at(self.times, self.case.segments)

    @cached_property
    def _curves(self) -> tuple[list[tuple[RightingCurve, Well]], NDArray[np.intp]]:
        """The righting curve and well of every distinct loading, and which of them holds when."""
        steady = self.loading[:, :4]
        distinct, which = np.unique(steady, axis=0, return_inverse=True)
        return [self._curve(*row) for row in distinct], which.reshape(-1)

    def _curve(
        self, mass: float, kg: float, off_centre: float, lever: float
    ) -> tuple[RightingCurve, Well]:
        heeling = self.case.heeling
        curve = RightingCurve(
            self.case.levers,
            Gravity(kg, off_centre, self.case.gravity.free_surface),
            Heeling(heeling.wind / mass, heeling.law, lever),
        )
        limit = self.case.limits.capsize
        found = [e for e in equilibria(curve) if abs(e.heel) < limit]
        if not found:
            return curve, NO_WELL
        heels = np.array([e.heel for e in found])
        ends = (float(curve.potential(-limit)), float(curve.potential(limit)))
        stable = [e.kind == "stable" for e in found]
        return curve, lowest_well(heels, curve.potential(heels), stable, ends)

    def _margin(
        self, solution: Solution, slope: Floats, slope_rate: Floats, c: Coefficients
    ) -> float:
        """The energy margin over the output points from settle on."""
        counted = (self.times >= self.case.settle) & ~np.isnan(solution.roll)
        shift = 1.0 if c.relative else 0.0
        # The end of a run may stand a rounding error past the levers' end, never more.
        heel = np.clip(solution.roll - shift * slope, c.heel_min, c.heel_max)
        rate = solution.rate - shift * slope_rate
        curves, which = self._curves
        energy, height = np.full(self.times.size, math.nan), np.full(self.times.size, math.nan)
        for i, (curve, well) in enumerate(curves):
            here = counted & (which == i)
            kinetic = 0.5 * c.inertia * rate[here] ** 2
            energy[here] = kinetic + curve.potential(heel[here]) - well.low
            height[here] = well.height
        return energy_margin(energy[counted], height[counted])


def statics(case: Case) -> dict[str, float | str]:
    """The numbers of a case at rest, at t = 0 before events: m and degrees, NaN where none."""
    starboard, port = loll_angles(case.levers, case.gravity)
    vanishing, vanishing_port = vanishing_angles(case.levers, case.gravity)
    gm = metacentric_height(case.levers, case.gravity)
    loll = gm < 0.0
    return {
        "gm": gm,
        "loll_angle": math.degrees(starboard) if loll else math.nan,
        "loll_angle_port": math.degrees(port) if loll else math.nan,
        "vanishing_angle": math.degrees(vanishing),
        "vanishing_angle_port": math.degrees(vanishing_port),
        "static_heel": math.degrees(static_heel(case.curve, case.start[0])),
        "beam": case.beam,
        "draught": case.draught,
        "depth": case.depth,
        "gyradius": math.sqrt(case.coefficients.inertia * GRAVITY),
        "excitation": "relative" if case.coefficients.relative else "absolute",
        "roll_limit": _degrees(case.limits.roll),
        "flooding_limit": _degrees(case.limits.flooding),
        "capsize_limit": _degrees(case.limits.capsize),
    }


def curves(case: Case, heel: Floats) -> dict[str, Floats]:
    """The curves of a case at the heels [degree]: levers and paths of M and B in metres.

    NaN where the levers are not known, and for B where the height of B is not.
    """
    phi = np.radians(heel)
    inside = (phi >= case.levers.heel_min - 1e-12) & (phi <= case.levers.heel_max + 1e-12)
    known = phi[inside]
    gravity_alone = RightingCurve(case.levers, case.gravity)
    m = metacentre(case.levers, known)
    b = (
        buoyancy(case.levers, known, case.kb)
        if case.kb is not None
        else (np.full(known.size, math.nan),) * 2
    )
    found = {
        "righting_lever": gravity_alone.value(known),
        "steady_heeling_lever": case.curve.heeling_lever(known),
        "metacentre_y": m[0],
        "metacentre_z": m[1],
        "buoyancy_y": b[0],
        "buoyancy_z": b[1],
    }
    result = {}
    for name, values in found.items():
        result[name] = np.full(heel.size, math.nan)
        result[name][inside] = values
    return result


def _degrees(limit: float) -> float:
    return math.degrees(limit) if math.isfinite(limit) else math.nan
