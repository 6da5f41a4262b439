"""Damping by the energy that each swing loses.

From peak to peak the work of the lever is lost to damping: with E the energy per inertia,

    E(n) − E(n+1) = b1 ∫ p² dt + b2 ∫ |p|³ dt + b3 ∫ p⁴ dt,   ½ p² = E − V(φ).

Over the swing E falls as the damping itself takes it, found again from the coefficients until they
agree; so nothing supposes that damping is small. Energies at the peaks are fitted against the
summed integrals, each with the error of its peak.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rollsim.decay.restoring import Restoring
from rollsim.decay.swings import Swings
from rollsim.decay.terms import CANDIDATES, KEYS, Estimate, estimate

Floats = NDArray[np.float64]

POINTS = 96
ROUNDS = 12
"""Rounds in which the fall of the energy within swings is found: each gains about two digits."""


@dataclass(frozen=True, eq=False)
class ByEnergy:
    """Coefficients by energy, and k²/g [m s²] by the swings' durations."""

    terms: str
    damping: dict[str, Estimate]
    inertia: float


@dataclass(frozen=True, eq=False)
class _Swing:
    """All half swings at points along them: steps of heel [rad], work of the lever [m rad]."""

    path: Floats
    work: Floats
    at_peaks: Floats


def by_energy(swings: Swings, restoring: Restoring, terms: str) -> ByEnergy:
    """The coefficients of a set of terms."""
    which = list(CANDIDATES[terms])
    swing = _swing(swings.heel, restoring)
    damping = np.zeros(3)
    inertia = 1.0
    for _ in range(ROUNDS):
        rate = _rate(swing, damping)
        inertia = _inertia(swing, rate, swings.time)
        actual = rate / np.sqrt(inertia)
        integrals = np.array([np.sum(actual**m * swing.path, axis=1) for m in (1, 2, 3)])
        fit = _fitted(swings, restoring, swing, inertia, integrals[which])
        damping = np.zeros(3)
        # In time units of the inertia, as _rate has them.
        damping[which] = np.maximum(fit[0], 0.0)
        damping *= np.array([np.sqrt(inertia), 1.0, 1.0 / np.sqrt(inertia)])
    values, errors, freedom = fit
    return ByEnergy(
        terms,
        {
            KEYS[term]: estimate(float(value), float(error), freedom)
            for term, value, error in zip(which, values, errors, strict=True)
        },
        inertia,
    )


def _swing(heel: Floats, restoring: Restoring) -> _Swing:
    angle = (np.arange(POINTS) + 0.5) * np.pi / POINTS
    middle, half = 0.5 * (heel[:-1] + heel[1:]), 0.5 * (heel[:-1] - heel[1:])
    along = middle[:, None] + half[:, None] * np.cos(angle)
    path = np.abs(half)[:, None] * np.sin(angle) * (np.pi / POINTS)
    return _Swing(path, restoring.work(along), restoring.work(heel))


def _rate(swing: _Swing, damping: Floats) -> Floats:
    """|p| √inertia along each half swing, its energy falling as `damping` (so scaled) takes it."""
    start, end = swing.at_peaks[:-1, None], swing.at_peaks[1:, None]
    fall = np.full_like(swing.work, 1.0 / POINTS).cumsum(axis=1) - 0.5 / POINTS
    rate = np.sqrt(np.maximum(2.0 * (start + (end - start) * fall - swing.work), 0.0))
    for _ in range(2):
        weights = damping if damping.any() else np.array([1.0, 0.0, 0.0])
        taken = sum(w * rate ** (m + 1) for m, w in enumerate(weights)) * swing.path
        total = np.sum(taken, axis=1, keepdims=True)
        share = taken / np.where(total > 0.0, total, 1.0)
        fall = share.cumsum(axis=1) - 0.5 * share
        rate = np.sqrt(np.maximum(2.0 * (start + (end - start) * fall - swing.work), 0.0))
    return np.asarray(rate)


def _inertia(swing: _Swing, rate: Floats, time: Floats) -> float:
    """k²/g [m s²] by which the half swings last as long as they did."""
    lasts = np.sum(swing.path / np.maximum(rate, 1e-12), axis=1)
    return float((np.sum(np.diff(time)) / np.sum(lasts)) ** 2)


Fit = tuple[Floats, Floats, float]


def _fitted(
    swings: Swings, restoring: Restoring, swing: _Swing, inertia: float, integrals: Floats
) -> Fit:
    """Coefficients, their standard errors and degrees of freedom.

    E(n) = E(0) − Σ b Σ ∫: the errors of the peaks are independent, those of their differences not.
    """
    energy = swing.at_peaks / inertia
    error = np.abs(restoring.lever(swings.heel)) / inertia * swings.error
    columns = [np.concatenate(([0.0], -np.cumsum(each))) for each in integrals]
    design = np.column_stack([np.ones(energy.size), *columns]) / error[:, None]
    solution, *_ = np.linalg.lstsq(design, energy / error, rcond=None)
    squares = float(np.sum((energy / error - design @ solution) ** 2))
    freedom = float(energy.size - design.shape[1])
    spread = squares / max(freedom, 1.0)
    covariance = np.linalg.pinv(design.T @ design) * spread
    errors = np.sqrt(np.diag(covariance))
    return np.asarray(solution[1:]), np.asarray(errors[1:]), freedom
