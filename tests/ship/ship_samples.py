"""Levers that the tests of the ship room share: an invented coaster, tables, polynomials."""

from __future__ import annotations

import math

import numpy as np
from hypothesis import strategies as st
from numpy.typing import NDArray

from rollsim.ship.levers import Levers, from_kn_table, polynomial, wall_sided

Floats = NDArray[np.float64]

HEEL: Floats = np.radians([0, 5, 10, 15, 20, 25, 30, 35, 40, 45, 50, 55, 60, 70, 80, 90])
KN: Floats = np.zeros(16)
KN[:8] = [0.0, 0.493, 0.983, 1.474, 1.969, 2.468, 2.923, 3.319]
KN[8:] = [3.658, 3.938, 4.160, 4.327, 4.444, 4.542, 4.476, 4.264]
KM = 5.659

# A hull with a deckhouse on one side only: no symmetry, and some heel with the weight amidships.
LOPSIDED_HEEL: Floats = np.radians([-70, -50, -30, -15, -5, 0, 10, 20, 35, 60, 90])
LOPSIDED_KN: Floats = np.array([-4.1, -3.9, -2.8, -1.42, -0.45, 0.03, 0.97, 1.95, 3.2, 4.4, 4.2])

KINDS: dict[str, Levers] = {
    "table": from_kn_table(HEEL, KN),
    "table with KM": from_kn_table(HEEL, KN, KM),
    "table of both sides": from_kn_table(LOPSIDED_HEEL, LOPSIDED_KN, 5.5),
    "wall-sided": wall_sided(5.0, 3.0, math.radians(40.0)),
    "polynomial": polynomial([0.5, 0.1, -0.4, 0.02], 5.0, math.radians(70.0)),
}


def over_range(levers: Levers, count: int = 1001) -> Floats:
    """Heels over the whole range of `levers`, none of them a round number inside."""
    return np.linspace(levers.heel_min, levers.heel_max, count)


@st.composite
def tables(draw: st.DrawFn) -> tuple[Floats, Floats]:
    """A one-sided KN table from 0: heels of whole degrees, levers as a hull might have them."""
    steps = draw(st.lists(st.integers(2, 15), min_size=3, max_size=10))
    heel = np.radians(np.concatenate(([0], np.cumsum(steps)))[np.cumsum([0, *steps]) <= 120])
    bumps = draw(st.lists(st.floats(-0.3, 0.3), min_size=heel.size - 1, max_size=heel.size - 1))
    return heel, 5.0 * np.sin(heel) + np.concatenate(([0.0], bumps))
