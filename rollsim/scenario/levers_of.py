"""From the lever and gravity tables of a scenario to the levers of the ship room, in radians."""

from __future__ import annotations

from functools import lru_cache
from math import radians

import numpy as np

from rollsim.scenario.schema_ship import Gravity as GravityTable
from rollsim.scenario.schema_ship import (
    GzLevers,
    KnLevers,
    LeverKind,
    PolynomialLevers,
    WallSidedLevers,
)
from rollsim.ship import levers as ship


@lru_cache(maxsize=64)
def levers_of(table: LeverKind) -> ship.Levers:
    """The levers that a [ship.levers] table describes; the tables must have passed their checks."""
    match table:
        case KnLevers():
            return ship.from_kn_table(np.radians(table.heel_deg), table.kn_m, table.km_m)
        case GzLevers():
            heel = np.radians(table.heel_deg)
            return ship.from_gz_table(heel, table.gz_m, table.kg_m, table.gm_m)
        case WallSidedLevers():
            return ship.wall_sided(table.km_m, table.bm_m, radians(table.heel_max_deg))
        case PolynomialLevers():
            return ship.polynomial(table.gz_m_per_rad, table.kg_m, radians(table.heel_max_deg))


def gravity_of(table: GravityTable) -> ship.Gravity:
    """The centre of gravity that a [ship.gravity] table describes."""
    return ship.Gravity(table.kg_m, table.off_centre_m, table.free_surface_m)


def gm_of(levers: LeverKind, gravity: GravityTable) -> float:
    """Metacentric height [m] of a [ship.levers] and a [ship.gravity] table."""
    return ship.metacentric_height(levers_of(levers), gravity_of(gravity))


def known_heel_deg(table: LeverKind) -> float:
    """The heel [degree] up to which levers are known on both sides."""
    if isinstance(table, KnLevers | GzLevers):
        first, last = table.heel_deg[0], table.heel_deg[-1]
        return min(-first, last) if first < 0 else last
    return table.heel_max_deg
