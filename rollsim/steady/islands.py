"""What ships from a whole grid of starts come to in a regular sea: the way to responses that no
continuation reaches, because their branches close upon themselves."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from rollsim.engines.base import run_list
from rollsim.engines.block.engine import BlockEngine
from rollsim.names import Outcome
from rollsim.steady.family import Family, resting_curve
from rollsim.steady.sweep import case_at, ratios_of, share_of

Floats = NDArray[np.float64]

SIDE = 40
"""Starts along the roll angle and along the rate."""
ALIKE = math.radians(0.2)
"""States [rad, and rad per radian of the wave] up to which one comes back to another: what is left
of the start may still die away, and Newton's method does the rest."""
APART = math.radians(1.0)
"""States nearer than this [rad] are taken for one where the next search for a solution begins."""


def attractors(family: Family, value: float) -> tuple[Floats, NDArray[np.int64]]:
    """States y, y′ at phase 0, (n, 2), and waves to a response, (n,), that runs from SIDE² starts
    come to at a value of the key.

    The starts lie evenly within the capsize angle, and up to the rate that takes her from the
    bottom of her wells to the greatest potential within it.
    """
    here = case_at(family, value, (0.0, 0.0))
    roll, rate = _starts(family)
    runs = BlockEngine(here).run(run_list(0, (roll, rate)), histories=True)
    lasting = runs.numbers["outcome"] == Outcome.SURVIVED
    if not lasting.any():
        return np.zeros((0, 2)), np.zeros(0, dtype=np.int64)
    rolls, rates = np.radians(runs.histories[:2, lasting].astype(np.float64))
    frequency = abs(family.wave(value).frequency)
    ratios = ratios_of(np.stack((rolls, rates / frequency)), ALIKE)
    last = np.stack((rolls[:, -1], rates[:, -1] / frequency), axis=1)
    known = ratios > 0
    cells = np.column_stack((ratios[known], np.round(last[known] / APART).astype(np.int64)))
    _, first = np.unique(cells, axis=0, return_index=True)
    states = np.stack((rolls[known, -1], rates[known, -1]), axis=1)[np.sort(first)]
    return states - share_of(family, value), ratios[known][np.sort(first)]


def _starts(family: Family) -> tuple[Floats, Floats]:
    """Rolls [rad] and rates [rad/s] of the grid."""
    most = family.case.limits.capsize
    curve = resting_curve(family.case)
    heel = np.linspace(max(-most, curve.levers.heel_min), min(most, curve.levers.heel_max), 181)
    potential = np.asarray(curve.potential(heel))
    depth = float(potential.max() - potential.min())
    fastest = math.sqrt(2.0 * depth / family.case.coefficients.inertia)
    share = (np.arange(SIDE) + 0.5) / SIDE * 2.0 - 1.0
    roll, rate = np.meshgrid(most * share, fastest * share)
    return roll.ravel(), rate.ravel()
