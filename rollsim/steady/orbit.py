"""One pass of a trial solution over its period: where it ends, and what that end depends on."""

from __future__ import annotations

import math
import threading
import warnings
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from rollsim.motion.timeline import WAVES
from rollsim.motion.variation import STATES, varied_rates
from rollsim.steady.family import Family

Floats = NDArray[np.float64]

RELATIVE, ABSOLUTE = 1e-10, 1e-12
"""Tolerances of scipy's DOP853 for a pass."""
MOST_STEPS = 20_000
LONGEST_STEP = 1.0 / 48.0
"""Of a wave period: the cubic between two steps is then off by 1e-6 of a roll at its turn."""
LOST = 4.0
"""Angle [rad] beyond which a pass is given up: no levers reach so far."""


class Pass(NamedTuple):
    """The solution from `start` (y [rad], y′ [rad/s]) at phase 0 over `ratio` wave periods.

    `end` and `half` are the states after the whole and after half of them, `matrix` (2, 2) the
    derivatives of the end by the start, `by_value` (2,) those by the key; `turns`, `angle`, `rate`
    (n,) the course: time in wave periods, y, y′. `whole` is False where it was given up.
    """

    value: float
    ratio: int
    start: Floats
    end: Floats
    half: Floats
    matrix: Floats
    by_value: Floats
    turns: Floats
    angle: Floats
    rate: Floats
    whole: bool


class _Quiet:
    """No warnings of scipy's while any thread makes a pass: one that leads nowhere is given up with
    a warning, and `Pass.whole` says so already. The filters are the process's own: the first thread
    in sets them, the last one out puts them back."""

    def __init__(self) -> None:
        self._lock, self._inside = threading.Lock(), 0
        self._filters = warnings.catch_warnings()

    def __enter__(self) -> None:
        with self._lock:
            self._inside += 1
            if self._inside == 1:
                self._filters = warnings.catch_warnings()
                self._filters.__enter__()
                warnings.simplefilter("ignore", UserWarning)

    def __exit__(self, *_: object) -> None:
        with self._lock:
            self._inside -= 1
            if self._inside == 0:
                self._filters.__exit__(None, None, None)


QUIET = _Quiet()


def shoot(family: Family, start: Floats, value: float, ratio: int = 1) -> Pass:
    """Make one pass at `value` of the family's key."""
    state = np.array([*start, 1.0, 0.0, 0.0, 1.0, 0.0, 0.0])
    course: list[Floats] = []
    with QUIET:
        half, reached, whole = _passed(family.packed(value), state, ratio, course)
    turns, angle, rate = np.array(course).T
    fresh = np.append(True, np.diff(turns) > 0.0)
    return Pass(
        value, ratio, np.asarray(start, dtype=np.float64), reached[:2].copy(), half,
        reached[2:6].reshape(2, 2).T.copy(), reached[6:].copy(),
        turns[fresh], angle[fresh], rate[fresh], whole,
    )  # fmt: skip


def _passed(
    arguments: tuple[Floats, ...], state: Floats, ratio: int, course: list[Floats]
) -> tuple[Floats, Floats, bool]:
    """State after half the pass, the STATES after all of it, and whether it came to its end."""
    from scipy.integrate import ode

    def note(turn: float, reached: Floats) -> int:
        course.append(np.array([turn, reached[0], reached[1]]))
        return 0 if abs(reached[0]) < LOST else -1

    # The equation has a corner where |p| p turns over, which no method of its order minds much.
    solver = ode(lambda turn, y: varied_rates(turn, y, *arguments))
    solver.set_integrator(
        "dop853", rtol=RELATIVE, atol=ABSOLUTE, nsteps=MOST_STEPS, max_step=LONGEST_STEP
    )
    solver.set_solout(note)
    solver.set_initial_value(state, 0.0)
    half, reached = np.full(2, math.nan), state
    for end in [0.5 * ratio, float(ratio)] if ratio % 2 == 0 else [float(ratio)]:
        reached = solver.integrate(end)
        if not (solver.successful() and solver.t == end and np.all(np.isfinite(reached))):
            return half, reached, False
        if end < ratio:
            half = reached[:2].copy()
            solver.set_initial_value(reached, end)
    assert reached.size == STATES
    return half, reached, True


class Course(NamedTuple):
    """What a periodic solution shows: half of greatest − least roll and its time mean [rad], and
    the greatest of |roll| and |heel| [rad]."""

    amplitude: float
    mean: float
    reach: float


def course_of(family: Family, made: Pass) -> Course:
    """The course of a pass: cubics through angle and rate at the solver's own steps."""
    c = family.coefficients(made.value)
    frequency, phase, size, _ = c.waves[:, 0]
    period = math.tau / abs(frequency)
    factor = family.segment[WAVES]
    along = frequency * made.turns * period + phase
    slope, slope_rate = -factor * size * np.sin(along), -factor * size * frequency * np.cos(along)
    share = (1.0 if c.relative else 0.0) - c.added_share
    time = made.turns * period
    low, high, mean = _extremes(
        time, made.angle + c.added_share * slope, made.rate + c.added_share * slope_rate
    )
    heel = made.angle - share * slope
    deep, far, _ = _extremes(time, heel, made.rate - share * slope_rate)
    return Course(0.5 * (high - low), mean, max(-low, high, -deep, far))


def _extremes(time: Floats, value: Floats, rate: Floats) -> tuple[float, float, float]:
    """Least, greatest and mean of a course that runs along cubics."""
    h = np.diff(time)
    p, q = rate[:-1], rate[1:]
    turns = p * q < 0.0
    with np.errstate(divide="ignore", invalid="ignore"):
        u = np.where(turns, p / (p - q), 0.0)
    v = 1.0 - u
    left = value[:-1] * (1.0 + 2.0 * u) + h * p * u
    right = value[1:] * (1.0 + 2.0 * v) - h * q * v
    peak = np.where(turns, v * v * left + u * u * right, value[:-1])
    whole = np.sum(0.5 * h * (value[:-1] + value[1:]) + h * h / 12.0 * (p - q))
    seen = np.concatenate((peak, value))
    return float(seen.min()), float(seen.max()), float(whole / (time[-1] - time[0]))
