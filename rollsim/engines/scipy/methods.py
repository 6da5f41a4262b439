"""The methods of integration, spelled as scipy spells them, and a step's course as a series."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.polynomial import chebyshev
from numpy.typing import NDArray
from scipy.integrate import DOP853, LSODA, RK45, OdeSolver, Radau

Floats = NDArray[np.float64]
Series = Callable[[OdeSolver], Floats]
"""From a solver after a step to the Chebyshev series (2, n) of roll and rate over the step."""


@dataclass(frozen=True)
class Method:
    """A scipy solver class and how its steps are read."""

    solver: type[OdeSolver]
    series: Series


def sampled(degree: int) -> Series:
    """The series of a solver whose dense output is a polynomial of `degree` in time: by sampling.

    Exact, since a polynomial is known from degree + 1 of its values.
    """
    nodes = np.cos(math.pi * (np.arange(degree + 1) + 0.5) / (degree + 1))
    to_series = np.linalg.inv(chebyshev.chebvander(nodes, degree)).T
    places = 0.5 * (nodes + 1.0)

    def series(solver: OdeSolver) -> Floats:
        times = solver.t_old + places * (solver.t - solver.t_old)
        return np.asarray(solver.dense_output()(times) @ to_series)

    return series


def _runge_kutta_45() -> Series:
    """The series of RK45 from its stages, four times cheaper than sampling its dense output.

    y(x) = y_old + h Σ_j (Kᵀ P)_j x^(j+1), x from 0 to 1 over the step (Shampine's quartic).
    """
    unit = [chebyshev.poly2cheb([0.5, 0.5])]
    for _ in range(RK45.P.shape[1] - 1):
        unit.append(chebyshev.chebmul(unit[-1], unit[0]))
    powers = np.zeros((len(unit), len(unit) + 1))
    for row, coefficients in zip(powers, unit, strict=True):
        row[: coefficients.size] = coefficients
    stages_to_series = RK45.P @ powers

    def series(solver: OdeSolver) -> Floats:
        found = solver.K.T @ stages_to_series
        found *= solver.t - solver.t_old
        found[:, 0] += solver.y_old
        return np.asarray(found)

    return series


METHODS: dict[str, Method] = {
    "DOP853": Method(DOP853, sampled(7)),
    "RK45": Method(RK45, _runge_kutta_45()),
    "LSODA": Method(LSODA, sampled(12)),
    "Radau": Method(Radau, sampled(3)),
}
