"""Hulls to compare a ship with in the live model: a box, a round barrel, a wall-sided hull."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from rollsim.scenario.schema import KnLevers, PolynomialLevers, Ship, WallSidedLevers, levers_of
from rollsim.ship.levers import Levers

Floats = NDArray[np.float64]

HEELS = tuple(float(heel) for heel in np.arange(0.0, 90.1, 2.5))
"""Heels of the box's table [degree]."""
WALL_MAX = 60.0
"""Heel to which the wall-sided formula is carried [degree]: beyond it no ship has such sides."""
HALVINGS = 60


@dataclass(frozen=True, eq=False)
class Hull:
    """A hull by the [ship.levers] table that gives it, with its curve and upright KB [m].

    `kind`: "own", "box", "barrel" or "wall-sided", which is what a drawing goes by.
    """

    kind: str
    table: dict[str, Any]
    levers: Levers
    kb: float | None


def others(ship: Ship) -> list[Hull]:
    """Three hulls of her beam and draught to compare her own with."""
    return [box(ship), barrel(ship), wall_sided(ship)]


def box(ship: Ship) -> Hull:
    """A box of her beam, draught and depth, exactly by its immersed section."""
    beam, draught = ship.beam_m, ship.draught_m
    depth = 1.5 * draught if ship.depth_m is None else ship.depth_m
    kb, bm = 0.5 * draught, beam**2 / (12.0 * draught)
    kn = [0.0] + [box_kn(beam, draught, depth, math.radians(heel)) for heel in HEELS[1:]]
    table = KnLevers(
        kind="kn",
        heel_deg=HEELS,
        kn_m=tuple(round(lever, 5) for lever in kn),
        km_m=round(kb + bm, 5),
        kb_m=round(kb, 5),
    )
    return _hull("box", table)


def barrel(ship: Ship) -> Hull:
    """A round barrel of her beam: KN = R sin φ, so that she is neutral with G at its centre."""
    radius = 0.5 * ship.beam_m
    sunk = min(ship.draught_m, ship.beam_m)
    table = PolynomialLevers(
        kind="polynomial",
        gz_m_per_rad=(0.0,),
        kg_m=radius,
        heel_max_deg=90.0,
        kb_m=round(_sunk_centroid(radius, sunk), 5),
    )
    return _hull("barrel", table)


def wall_sided(ship: Ship) -> Hull:
    """A hull of vertical sides as broad and deep as the box, by the formula alone."""
    kb, bm = 0.5 * ship.draught_m, ship.beam_m**2 / (12.0 * ship.draught_m)
    table = WallSidedLevers(
        kind="wall-sided", km_m=round(kb + bm, 5), bm_m=round(bm, 5), heel_max_deg=WALL_MAX
    )
    return _hull("wall-sided", table)


def _hull(kind: str, table: KnLevers | PolynomialLevers | WallSidedLevers) -> Hull:
    plain = table.model_dump(mode="json", exclude_none=True)
    return Hull(kind, plain, levers_of(table), table.height_of_buoyancy)


def _sunk_centroid(radius: float, draught: float) -> float:
    """Height above the keel [m] of the centroid of a circle's part below the water."""
    half = math.acos(1.0 - draught / radius)
    area = half - math.sin(half) * math.cos(half)
    return radius * (1.0 - 2.0 * math.sin(half) ** 3 / (3.0 * area))


def box_kn(beam: float, draught: float, depth: float, heel: float) -> float:
    """KN [m] of a box at `heel` [rad]: the immersed part of its section, area kept."""
    corners = np.array([[-0.5, 0.0], [0.5, 0.0], [0.5, 1.0], [-0.5, 1.0]]) * [beam, depth]
    across = corners @ [math.cos(heel), math.sin(heel)]
    height = corners @ [-math.sin(heel), math.cos(heel)]
    low, high = float(height.min()), float(height.max())
    for _ in range(HALVINGS):
        level = 0.5 * (low + high)
        area, moment = _below(across, height, level)
        low, high = (low, level) if area > beam * draught else (level, high)
    return moment / area


def _below(across: Floats, height: Floats, level: float) -> tuple[float, float]:
    """Area [m²] of a polygon below a level, and its moment across [m³]."""
    points: list[tuple[float, float]] = []
    for i in range(across.size):
        (x, z), (x1, z1) = (across[i - 1], height[i - 1] - level), (across[i], height[i] - level)
        if z * z1 < 0.0:
            points.append((x + (x1 - x) * z / (z - z1), 0.0))
        if z1 <= 0.0:
            points.append((float(x1), float(z1)))
    if len(points) < 3:
        return 0.0, 0.0
    x, z = np.array(points).T
    cross = x * np.roll(z, -1) - np.roll(x, -1) * z
    return float(0.5 * cross.sum()), float((cross * (x + np.roll(x, -1))).sum() / 6.0)
