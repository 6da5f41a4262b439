"""Problems with known solutions, and some without, that the tests of this room share."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from rollsim.constants import GRAVITY
from rollsim.engines.limits import Limits, Problem, Tolerances
from rollsim.forcing.single import with_waves
from rollsim.motion.coefficients import Coefficients, calm_coefficients
from rollsim.motion.timeline import Change, timeline
from rollsim.ship.damping import Damping
from rollsim.ship.levers import Gravity, Levers, from_kn_table, polynomial
from rollsim.weather.sea import Components
from rollsim.weather.wind import Gust

Floats = NDArray[np.float64]

NO_DAMPING = Damping()
SHARP = Tolerances("DOP853", 1e-13, 1e-15)
TIGHT = {
    "DOP853": Tolerances("DOP853", 1e-10, 1e-12),
    "RK45": Tolerances("RK45", 1e-9, 1e-11),
    "LSODA": Tolerances("LSODA", 1e-10, 1e-12),
    "Radau": Tolerances("Radau", 1e-6, 1e-9),
}
"""What each method gives 1e-6 for within a fraction of a second."""
OMEGA = 0.5
"""Frequency [rad/s] of the linear ship: her GM is OMEGA² times her inertia."""
INERTIA = 4.0
LINEAR = polynomial([OMEGA**2 * INERTIA], 0.0, 1.5)
"""GZ = GM φ exactly, G at the keel."""
FREE = polynomial([0.0], 0.0, 1.5)
"""No righting lever at all."""
HEEL = [0, 5, 10, 15, 20, 25, 30, 35, 40, 45, 50, 55, 60, 70, 80, 90]
KN = [0.0, 0.493, 0.983, 1.474, 1.969, 2.468, 2.923, 3.319]
KN += [3.658, 3.938, 4.160, 4.327, 4.444, 4.542, 4.476, 4.264]
COASTER = from_kn_table(np.radians(HEEL), KN, 5.659)
"""The contract's own example."""


def calm(levers: Levers, inertia: float = INERTIA, damping: Damping = NO_DAMPING) -> Coefficients:
    return calm_coefficients(levers, inertia, damping, wind=2e-4)


def problem(
    c: Coefficients,
    duration: float,
    start: tuple[float, float] = (0.0, 0.0),
    output_step: float = 0.5,
    limits: Limits = Limits(),  # noqa: B008  a tuple of three numbers
    settle: float = 0.0,
    **timed: float | Sequence[Change] | tuple[Gust, ...] | Gravity,
) -> Problem:
    """A run of `duration`; `timed` goes to the timeline: gravity, changes, wind_speed, gusts."""
    gravity = timed.pop("gravity", Gravity(0.0))
    segments = timeline(duration, gravity, corners=(settle, c.ramp), **timed)  # type: ignore[arg-type]
    return Problem(c, segments, start[0], start[1], output_step, limits, settle)


def wave(slope: float, frequency: float, phase: float = 0.0) -> Components:
    """One wave of the slope -slope sin(frequency t + phase)."""
    one = np.array([[frequency], [0.0], [slope], [phase]])
    return Components(one[0], one[1], one[2], one[3])


def storm(slope: float, count: int = 40, seed: int = 3) -> Components:
    """An irregular sea whose slope is about `slope` [rad] in the root mean square."""
    random = np.random.default_rng(seed)
    frequency = np.sort(random.uniform(0.3, 1.6, count))
    amplitude = slope * math.sqrt(2.0 / count) * np.ones(count)
    return Components(frequency, amplitude, amplitude, random.uniform(0.0, math.tau, count))


def coaster_in_storm(
    slope: float = 0.08, duration: float = 200.0, relative: bool = True, **rest: object
) -> Problem:
    """A full problem: table, all dampings, irregular sea, wind with a gust, a shifted weight."""
    damping = Damping(0.012, 0.35, 0.05)
    c = calm_coefficients(COASTER, 5.3**2 / GRAVITY, damping, 0.05, 2e-4, "cos")
    c = c._replace(ramp=20.0, relative=relative, absolute_gm=0.309)
    timed: dict[str, object] = {
        "gravity": Gravity(5.3, 0.01),
        "wind_speed": 20.0,
        "gusts": (Gust(60.0, 2.0, 10.0, 1.3),),
        "changes": (Change(90.0, 15.0, 0.0, 0.01, 0.02),),
    }
    return problem(with_waves(c, storm(slope), duration), duration, **{**timed, **rest})  # type: ignore[arg-type]
