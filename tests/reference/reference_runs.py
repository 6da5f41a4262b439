"""A ship of few numbers, how she is released, and what is read off her motion."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicHermiteSpline

from rollsim.constants import GRAVITY
from rollsim.engines.limits import Limits, Tolerances
from rollsim.engines.scipy import watch
from rollsim.engines.scipy.solver import Problem, solve
from rollsim.forcing.single import with_waves
from rollsim.motion.coefficients import Coefficients, calm_coefficients
from rollsim.motion.equation import along
from rollsim.motion.timeline import Base, Change, segment_at, timeline
from rollsim.ship.damping import Damping
from rollsim.ship.inertia import natural_frequency
from rollsim.ship.levers import (
    Gravity,
    Levers,
    from_kn_table,
    metacentric_height,
    polynomial,
    wall_sided,
)
from rollsim.weather.sea import Components

Floats = NDArray[np.float64]

PRECISE = Tolerances("DOP853", 1e-10, 1e-12)
UNIT_GYRADIUS = math.sqrt(GRAVITY)
"""With it k²/g is 1: a lever in metres is then a torque of the equation per unit inertia."""
KG = 5.0
"""Height of G of the ships below, far from 0 so that it has to cancel where it should."""
UNDAMPED = Damping()


@dataclass(frozen=True, eq=False)
class Ship:
    """Levers, G, radius of gyration [m] and damping: all of a ship in calm water."""

    levers: Levers
    gravity: Gravity
    gyradius: float = UNIT_GYRADIUS
    damping: Damping = UNDAMPED

    @property
    def gm(self) -> float:
        """Metacentric height [m]."""
        return metacentric_height(self.levers, self.gravity)

    @property
    def frequency(self) -> float:
        """Small-angle natural frequency [rad/s] at GM > 0."""
        return natural_frequency(self.gyradius, self.gm)

    @property
    def calm(self) -> Coefficients:
        """Coefficients in calm water."""
        return calm_coefficients(self.levers, self.gyradius**2 / GRAVITY, self.damping)

    def among(self, waves: Components, duration: float, absolute: bool = False) -> Coefficients:
        """Coefficients in `waves`, good for `duration` [s]."""
        calm = self.calm._replace(relative=not absolute, absolute_gm=self.gm if absolute else 0.0)
        return with_waves(calm, waves, duration)


def wall_sided_ship(
    gm: float, bm: float, gyradius: float = 8.0, damping: Damping = UNDAMPED
) -> Ship:
    """A wall-sided ship known to 85 degrees."""
    return Ship(wall_sided(KG + gm, bm, math.radians(85.0)), Gravity(KG), gyradius, damping)


def polynomial_ship(
    *lever: float, damping: Damping = UNDAMPED, gyradius: float = UNIT_GYRADIUS
) -> Ship:
    """A ship of GZ = Σ lever[i] φ^(i+1), known to 170 degrees."""
    levers = polynomial(lever, KG, math.radians(170.0))
    return Ship(levers, Gravity(KG), gyradius, damping)


def sine_ship(gm: float = 1.0, step_deg: float = 1.0, gyradius: float = UNIT_GYRADIUS) -> Ship:
    """A ship of GZ = GM sin φ, her KN tabulated every `step_deg` from 0 to 180 degrees."""
    heel = np.radians(np.arange(0.0, 180.0 + 0.5 * step_deg, step_deg))
    return Ship(from_kn_table(heel, (KG + gm) * np.sin(heel)), Gravity(KG), gyradius)


@dataclass(frozen=True, eq=False)
class Solution:
    """What a run came to: roll [rad] and rate [rad/s] at the outputs, extremes, passing times [s].

    `passed` are the first passings of the roll, flooding and capsize limits, NaN where none.
    """

    roll: Floats
    rate: Floats
    roll_max: float
    roll_min: float
    passed: Floats
    message: str

    @property
    def capsized(self) -> bool:
        """Whether she reached her capsize angle."""
        return math.isfinite(self.passed[2])

    @property
    def failure_time(self) -> float:
        """First passing of any limit [s], NaN where none."""
        passed = self.passed[np.isfinite(self.passed)]
        return float(np.min(passed)) if passed.size else math.nan


@dataclass(frozen=True, eq=False)
class Motion:
    """A finished run with its output times [s]."""

    solution: Solution
    times: Floats

    @property
    def roll(self) -> Floats:
        """Roll angle [rad] at the output times."""
        return self.solution.roll

    @property
    def survived(self) -> bool:
        """Whether she never reached the end of her levers; the run must have been solved."""
        assert not self.solution.message
        return not self.solution.capsized

    @cached_property
    def _course(self) -> CubicHermiteSpline:
        return CubicHermiteSpline(self.times, self.roll, self.solution.rate)

    def crossings(self, level: float = 0.0) -> Floats:
        """Times [s] at which the roll angle passes `level` [rad], both ways."""
        shifted = CubicHermiteSpline(self.times, self.roll - level, self.solution.rate)
        return np.asarray(shifted.roots(extrapolate=False))

    def period(self, level: float = 0.0) -> float:
        """Mean period [s] between the first and the last passing of `level` the same way."""
        times = self.crossings(level)[::2]
        return float((times[-1] - times[0]) / (times.size - 1))

    def turns(self) -> Floats:
        """Roll angles [rad] at which she turns, in order of time, the start not counted."""
        times = np.asarray(self._course.derivative().roots(extrapolate=False))
        return np.asarray(self._course(times[times > 0.5 * self.times[1]]))


def release(
    ship: Ship,
    roll: float,
    rate: float = 0.0,
    *,
    duration: float,
    step: float = 0.1,
    changes: Sequence[Change] = (),
    waters: Coefficients | None = None,
    tolerances: Tolerances = PRECISE,
) -> Motion:
    """Let `ship` go from `roll` [rad] with `rate` [rad/s], in calm water or in `waters`.

    `duration` and output `step` in seconds, the run ends on an output; a capsize is the end of the
    levers.
    """
    segments = timeline(step * round(duration / step), Base(ship.gravity), changes)
    waters = ship.calm if waters is None else waters
    return moved(waters, segments, (roll, rate), step, ship.levers.heel_max, tolerances)


def moved(
    waters: Coefficients,
    segments: Floats,
    start: tuple[float, float],
    step: float,
    capsize: float,
    tolerances: Tolerances = PRECISE,
) -> Motion:
    """The run of any coefficients and timeline from `start`, roll [rad] and rate [rad/s]."""
    watched = watch.Watched(Limits(capsize=capsize), math.nan, np.zeros(0))
    problem = Problem(waters, segments, *start, step, watched)
    solution, times = solve(problem, tolerances), problem.output_times
    rows = along(times, solution.states, segments, segment_at(times, segments), waters)
    record = solution.record
    passed = record[[watch.PASSED_ROLL, watch.PASSED_FLOODING, watch.PASSED_CAPSIZE]]
    most, least = float(record[watch.ROLL_MAX]), float(record[watch.ROLL_MIN])
    return Motion(Solution(rows[0], rows[1], most, least, passed, solution.message), times)


def limit_by_bisection(
    survives: Callable[[float], bool], safe: float, lost: float, width: float
) -> float:
    """The load between `safe` and `lost` at which she no longer survives, known to ±width."""
    assert survives(safe)
    assert not survives(lost)
    while abs(lost - safe) > 2.0 * width:
        middle = 0.5 * (safe + lost)
        if survives(middle):
            safe = middle
        else:
            lost = middle
    return 0.5 * (safe + lost)


def harmonic(times: Floats, values: Floats, frequency: float) -> complex:
    """c of the best values ≈ mean + Re(c exp(i frequency t)) by least squares."""
    angle = frequency * times
    basis = np.column_stack([np.ones_like(times), np.cos(angle), -np.sin(angle)])
    _, real, imag = np.linalg.lstsq(basis, values, rcond=None)[0]
    return complex(real, imag)
