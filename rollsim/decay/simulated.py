"""Damping by the whole record: the program's own equation, fitted to every point of it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from rollsim.compiled import compiled
from rollsim.decay.restoring import Restoring
from rollsim.decay.swings import Swings
from rollsim.decay.terms import (
    CANDIDATES,
    KEYS,
    Estimate,
    corrected_aic,
    correlation_time,
    estimate,
)
from rollsim.motion.equation import acceleration

if TYPE_CHECKING:
    from rollsim.decay.record import Record
    from rollsim.motion.coefficients import Coefficients

Floats = NDArray[np.float64]

STEPS_A_ROLL = 80
POINTS_A_ROLL = 60
"""Points of a roll that are fitted; of more, neighbours are averaged."""
FIXED = 5
"""Parameters besides the damping: inertia, start roll and rate, offset and drift of the mean line.
"""
LEAST = 1e-7
"""A coefficient below this is none."""


@compiled
def steps(
    roll: float, rate: float, step: float, count: int, c: Coefficients, segment: Floats
) -> Floats:
    """Roll [rad], rate [rad/s] and acceleration every `step` [s] by the classical Runge-Kutta."""
    states = np.empty((count + 1, 3))
    y, p = roll, rate
    for i in range(count + 1):
        k1 = acceleration(0.0, y, p, c, segment)
        states[i, 0], states[i, 1], states[i, 2] = y, p, k1
        p2 = p + 0.5 * step * k1
        k2 = acceleration(0.0, y + 0.5 * step * p, p2, c, segment)
        p3 = p + 0.5 * step * k2
        k3 = acceleration(0.0, y + 0.5 * step * p2, p3, c, segment)
        p4 = p + step * k3
        k4 = acceleration(0.0, y + step * p3, p4, c, segment)
        y += step * (p + 2.0 * p2 + 2.0 * p3 + p4) / 6.0
        p += step * (k1 + 2.0 * k2 + 2.0 * k3 + k4) / 6.0
    return states


@dataclass(frozen=True, eq=False)
class BySimulation:
    """Coefficients by the fit, with what else it gives, in SI units.

    `time`, `angle`, `fitted` and `mean` (the mean line) are the points of the fit [s, rad];
    `residual` the standard deviation [rad] of what is left.
    """

    terms: str
    damping: dict[str, Estimate]
    inertia: Estimate
    mean: tuple[float, float]
    time: Floats
    angle: Floats
    fitted: Floats
    correlation: float
    aicc: float
    possible: bool

    @property
    def residual(self) -> Floats:
        """What is left of the record [rad]."""
        return np.asarray(self.angle - self.fitted)


def points(record: Record, swings: Swings) -> tuple[Floats, Floats]:
    """Time [s] and angle [rad] from the first peak to the last, neighbours averaged."""
    part = record.between(float(swings.time[0]), float(swings.time[-1]))
    rolls = (part.time[-1] - part.time[0]) / swings.period
    together = max(1, int(part.time.size / (POINTS_A_ROLL * rolls)))
    whole = part.time.size - part.time.size % together
    shape = (-1, together)
    return (
        part.time[:whole].reshape(shape).mean(axis=1),
        part.angle[:whole].reshape(shape).mean(axis=1),
    )


def by_simulation(
    seen: tuple[Floats, Floats],
    swings: Swings,
    restoring: Restoring,
    first: tuple[str, dict[str, float], float],
    correlation: float | None = None,
) -> BySimulation:
    """The least-squares fit of a set of terms to the points `seen`.

    `first` are the terms, where their coefficients start, and where the inertia k²/g [m s²] does.
    `correlation` is how many neighbouring residuals say the same; taken from this fit where None.
    """
    terms, damping, inertia = first
    which = list(CANDIDATES[terms])
    time, angle = seen
    frame = _Frame(time, swings, restoring, which)
    fit = _least_squares(frame, angle, frame.start(swings, damping, inertia))
    residual = np.asarray(fit.fun)
    tau = correlation_time(residual) if correlation is None else correlation
    independent = time.size / tau
    freedom = max(1.0, independent - fit.x.size)
    spread = float(np.sum(residual**2)) / max(1.0, time.size - fit.x.size * tau)
    errors = np.sqrt(np.diag(np.linalg.pinv(fit.jac.T @ fit.jac)) * spread * tau)
    coefficients = fit.x[FIXED:]
    k, share = float(np.exp(fit.x[0])), estimate(1.0, float(errors[0]), freedom)
    return BySimulation(
        terms,
        {
            KEYS[term]: estimate(float(value), float(error), freedom)
            for term, value, error in zip(which, coefficients, errors[FIXED:], strict=True)
        },
        Estimate(k, k * share.lower, k * share.upper),
        (float(fit.x[3]), float(fit.x[4])),
        time,
        angle,
        frame.angle(fit.x),
        tau,
        corrected_aic(float(np.sum(residual**2)), time.size, independent, fit.x.size),
        bool(np.all(coefficients > LEAST)),
    )


def _least_squares(frame: _Frame, angle: Floats, start: Floats) -> Any:
    """scipy's fit of the frame's parameters to the angles [rad], damping at least 0."""
    from scipy.optimize import least_squares

    lower = np.where(np.arange(start.size) < FIXED, -math.inf, 0.0)
    return least_squares(
        lambda x: frame.angle(x) - angle,
        start,
        bounds=(lower, math.inf),
        x_scale=frame.scale(start),
        xtol=1e-12,
        ftol=1e-12,
        gtol=1e-12,
        max_nfev=200,
    )


class _Frame:
    """The simulated record as a function of the parameters of the fit.

    In their order: ln(k²/g), roll [rad] and rate [rad/s] at the first point, offset [rad] there and
    drift [rad/s] of the mean line, then the coefficients of the terms.
    """

    def __init__(
        self, time: Floats, swings: Swings, restoring: Restoring, which: list[int]
    ) -> None:
        self._since = time - time[0]
        self._restoring, self._which = restoring, which
        span = float(self._since[-1])
        self._count = max(2, math.ceil(span / swings.period * STEPS_A_ROLL))
        self._step = span / self._count
        at = np.minimum((self._since / self._step).astype(np.intp), self._count - 1)
        self._at, self._part = at, self._since / self._step - at
        self._first = float(time[0])

    def start(self, swings: Swings, damping: dict[str, float], inertia: float) -> Floats:
        """Where the fit starts."""
        offset, drift = swings.mean
        offset += drift * (self._first - float(swings.time[0]))
        terms = [max(damping.get(KEYS[term], 0.0), 1e-4) for term in self._which]
        heel = float(swings.heel[0])
        return np.array([math.log(inertia), heel, 0.0, offset, drift, *terms])

    def scale(self, start: Floats) -> Floats:
        """The sizes of the parameters' changes."""
        roll = abs(float(start[1]))
        fixed = [0.05, 0.1 * roll, 0.1 * roll, 0.1 * roll, 0.1 * roll / float(self._since[-1])]
        return np.array([*fixed, *(max(abs(value), 1e-3) for value in start[FIXED:])])

    def angle(self, x: Floats) -> Floats:
        """The angle at the points [rad]."""
        damping = np.zeros(3)
        damping[self._which] = x[FIXED:]
        base = self._restoring
        c = base.coefficients._replace(
            inertia=float(np.exp(x[0])),
            linear=float(damping[0]),
            quadratic=float(damping[1]),
            cubic=float(damping[2]),
        )
        states = steps(
            base.rest + float(x[1]), float(x[2]), self._step, self._count, c, base.segment
        )
        roll = _between(states, self._at, self._part, self._step) - base.rest
        angle = roll + x[3] + x[4] * self._since
        # A trial that runs away is far off, not infinite.
        return np.asarray(np.nan_to_num(np.clip(angle, -1e3, 1e3), nan=1e3))


def _between(states: Floats, at: NDArray[np.intp], part: Floats, step: float) -> Floats:
    """Roll between the steps, by the cubic through both ends."""
    y0, y1 = states[at, 0], states[at + 1, 0]
    d0, d1 = states[at, 1] * step, states[at + 1, 1] * step
    rise = y1 - y0
    bend, twist = 3.0 * rise - 2.0 * d0 - d1, d0 + d1 - 2.0 * rise
    return np.asarray(y0 + part * (d0 + part * (bend + part * twist)))
