"""Decay records made by scipy's solver on an equation written out here, with noise and worse."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

from rollsim.decay.record import Record
from rollsim.decay.restoring import Restoring

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Made:
    """A record to be made: b1 [1/s], b2 [1/rad], b3 [s/rad²], period [s], start and noise [degree].

    `offset` [degree] and `drift` [degree/s] are those of the mean line.
    """

    b1: float = 0.012
    b2: float = 0.35
    b3: float = 0.0
    period: float = 10.0
    start: float = 25.0
    noise: float = 0.0
    offset: float = 0.0
    drift: float = 0.0
    duration: float = 120.0
    step: float = 0.1
    seed: int = 0

    def record(self, restoring: Restoring | None = None, inertia: float = 1.0) -> Record:
        """The record, by DOP853; about a straight lever where no other is given."""
        frequency = 2.0 * np.pi / self.period

        def righting(heel: float) -> float:
            if restoring is None:
                return float(frequency**2 * heel)
            return float(restoring.curve.value(restoring.rest + heel)) / inertia

        def derivative(_: float, state: Floats) -> list[float]:
            heel, rate = state
            damping = self.b1 * rate + self.b2 * abs(rate) * rate + self.b3 * rate**3
            return [rate, -righting(heel) - damping]

        time = np.arange(0.0, self.duration, self.step)
        begin = [np.radians(self.start), 0.0]
        solved = solve_ivp(
            derivative, (0.0, self.duration), begin, "DOP853", time, rtol=1e-9, atol=1e-11
        )
        return with_noise(time, np.degrees(solved.y[0]), self)


def with_noise(time: Floats, angle: Floats, made: Made) -> Record:
    """A record of angles [degree] with the mean line and the noise of `made`."""
    noise = made.noise * np.random.default_rng(made.seed).standard_normal(time.size)
    return recorded(time, angle + made.offset + made.drift * time + noise)


def recorded(time: Floats, angle: Floats) -> Record:
    """Times [s] and angles [degree] as a record."""
    return Record(time, np.radians(angle), np.arange(time.size))
