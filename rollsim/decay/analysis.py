"""A decay record from the file to the damping: swings, two ways, the choice of terms."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from rollsim.decay.energy import ByEnergy, by_energy
from rollsim.decay.record import Record
from rollsim.decay.restoring import Restoring
from rollsim.decay.simulated import BySimulation, by_simulation, points
from rollsim.decay.swings import Swings, find_swings
from rollsim.decay.terms import CANDIDATES, KEYS, Estimate, chosen
from rollsim.errors import RollsimError

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Decay:
    """What a record tells: its swings, every set of terms by both ways, and the one chosen."""

    record: Record
    swings: Swings
    restoring: Restoring
    energy: dict[str, ByEnergy]
    simulated: dict[str, BySimulation]
    terms: str
    forced: bool

    @property
    def fit(self) -> BySimulation:
        """The chosen set by the fit of the whole record."""
        return self.simulated[self.terms]

    @property
    def by_energy(self) -> ByEnergy:
        """The chosen set by the energy of the swings."""
        return self.energy[self.terms]

    @property
    def period(self) -> Estimate:
        """Natural period of small undamped rolls about the mean [s]."""
        inertia, slope = self.fit.inertia, self.restoring.slope
        each = (inertia.value, inertia.lower, inertia.upper)
        return Estimate(*(2.0 * math.pi * math.sqrt(value / slope) for value in each))

    @property
    def extinction(self) -> dict[str, float]:
        """δφ = a φm + b φm² + c φm³ in degrees, to first order (Froude): a, b and c."""
        frequency = 2.0 * math.pi / self.period.value
        b1, b2, b3 = (_value(self.fit.damping, key) for key in KEYS)
        return {
            "a": 0.5 * math.pi * b1 / frequency,
            "b_per_deg": math.radians(4.0 / 3.0 * b2),
            "c_per_deg2": math.radians(math.radians(0.375 * math.pi * frequency * b3)),
        }

    def critical_fraction(self, amplitude: float) -> float:
        """Equivalent linear damping as a share of critical at an amplitude [rad]."""
        frequency = 2.0 * math.pi / self.period.value
        rate = frequency * amplitude
        b1, b2, b3 = (_value(self.fit.damping, key) for key in KEYS)
        whole = b1 + 8.0 / (3.0 * math.pi) * b2 * rate + 0.75 * b3 * rate**2
        return whole / (2.0 * frequency)


def _value(damping: dict[str, Estimate], key: str) -> float:
    return damping[key].value if key in damping else 0.0


def analysed(record: Record, restoring: Restoring, terms: str | None = None) -> Decay:
    """The damping that a record tells; `terms` names the set instead of the rule."""
    swings = find_swings(record)
    seen = points(record, swings)
    energy = {name: by_energy(swings, restoring, name) for name in _affordable(swings)}
    if terms is not None and terms not in energy:
        raise RollsimError(
            f"too few swings for {terms}: {swings.time.size} peaks\n  take fewer terms"
        )
    simulated: dict[str, BySimulation] = {}
    correlation: float | None = None
    for name in sorted(energy, key=lambda name: -len(CANDIDATES[name])):
        known = {key: each.value for key, each in energy[name].damping.items()}
        first = name, known, energy[name].inertia
        simulated[name] = by_simulation(seen, swings, restoring, first, correlation)
        # The richest set leaves the least that terms could explain: its residuals tell the noise.
        correlation = simulated[name].correlation
    if not restoring.straight:  # midway between peaks lies the rest of a straight lever alone
        settled = replace(swings, mean=_mean(swings, next(iter(simulated.values()))))
        energy = {name: by_energy(settled, restoring, name) for name in energy}
    aicc = {name: each.aicc for name, each in simulated.items()}
    possible = [name for name, each in simulated.items() if each.possible]
    choice = terms or chosen(aicc, possible)
    return Decay(record, swings, restoring, energy, simulated, choice, terms is not None)


def _mean(swings: Swings, fit: BySimulation) -> tuple[float, float]:
    """The fitted mean line: offset [rad] at the first peak, drift [rad/s]."""
    offset, drift = fit.mean
    return offset + drift * float(swings.time[0] - fit.time[0]), drift


def _affordable(swings: Swings) -> list[str]:
    """The sets of terms for which there are two peaks more than unknowns."""
    return [name for name, which in CANDIDATES.items() if swings.time.size >= len(which) + 3]
