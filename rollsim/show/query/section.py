"""The midship section in the picture: its outline and water line, and G, B, M, Z in earth axes.

Ship axes: y to starboard, z up from the keel. Earth axes, seen from astern: to the right, and up
from where the water stands at the ship. The section turns about the point of the centreline at
the draught. A result of a hull holds her own section and where the water stands at it; of another
ship the section is schematic, and rises or sinks so that its immersed area stays what it is
upright. The water lies on the effective wave slope. Points are arrays (2, n) [m], angles are in
radians.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from rollsim.show.query import cases
from rollsim.show.query.curves import at_heel, free_surface

if TYPE_CHECKING:
    import xarray as xr

Floats = NDArray[np.float64]

FULLNESS = 0.98
"""Midship section coefficient that the bilge radius gives the outline; common for cargo ships."""
DEPTHS = 1.5
"""Depth in draughts where a result holds no depth: an assumption, said in the picture."""
HALVINGS = 50


@dataclass(frozen=True)
class Section:
    """What turns: the outline, and over `heel` the level of the water and the places of B and M."""

    outline: Floats
    draught: float
    depth_assumed: bool
    schematic: bool
    heel: Floats
    level: Floats
    """Distance (h,) of the heeled water line from the keel point, along its normal."""
    buoyancy: Floats
    metacentre: Floats
    free_surface: float
    """Virtual rise of G by free surfaces."""


@dataclass(frozen=True)
class Scene:
    """Every moment of a run in earth axes; points (2, n), missing where nothing is known."""

    roll: Floats
    slope: Floats
    rise: Floats
    """Height of the point of turning above the water."""
    gravity: Floats
    virtual: Floats
    """G raised by free surfaces: the lever is measured from here."""
    buoyancy: Floats
    metacentre: Floats
    foot: Floats
    """Z: the foot of the lever on the line of buoyancy."""
    lever: Floats


def outline(beam: float, draught: float, depth: float) -> Floats:
    """A schematic midship section (2, n) in ship axes: flat bottom, round bilges, flat deck."""
    radius = np.sqrt((1.0 - FULLNESS) * beam * draught / (2.0 - np.pi / 2.0))
    radius = min(float(radius), draught, beam / 2.0)
    arc = np.linspace(0.0, np.pi / 2.0, 13)
    y = np.append(beam / 2.0 - radius + radius * np.sin(arc), beam / 2.0)
    z = np.append(radius - radius * np.cos(arc), depth)
    return np.stack([np.concatenate([y, -y[::-1]]), np.concatenate([z, z[::-1]])])


def immersed_area(shape: Floats, heel: Floats, level: Floats) -> Floats:
    """Area [m²] of a closed outline below the line p·n(heel) = level, for each heel.

    By Green's theorem: the closing edge lies on the line itself and adds nothing.
    """
    c, s = np.cos(heel)[:, None], np.sin(heel)[:, None]
    across = shape[0] * c + shape[1] * s
    below = np.minimum(height := shape[1] * c - shape[0] * s - level[:, None], 0.0)
    step = np.roll(height, -1, 1) - height
    flat = np.abs(step) < 1e-12
    squares = np.roll(below, -1, 1) ** 2 - below**2
    mean = np.where(flat, below, squares / (2.0 * np.where(flat, 1.0, step)))
    area = (mean * (np.roll(across, -1, 1) - across)).sum(axis=1)
    return np.asarray(np.abs(area))


def water_levels(shape: Floats, draught: float, heel: Floats) -> Floats:
    """The level of the water line at each heel that keeps the area immersed upright."""
    upright = immersed_area(shape, np.zeros(1), np.array([draught]))
    reach = float(np.hypot(*shape).max())
    low, high = np.full_like(heel, -reach), np.full_like(heel, reach)
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        deep = immersed_area(shape, heel, middle) > upright
        low, high = np.where(deep, low, middle), np.where(deep, middle, high)
    return 0.5 * (low + high)


def section(ds: xr.Dataset, case: int) -> Section:
    """The section of a case, from the numbers that the result holds."""
    beam, draught = (cases.number(ds, name, case=case) for name in ("beam", "draught"))
    depth = cases.number(ds, "depth", case=case)
    heel = np.radians(np.asarray(ds["heel"].values, dtype=float))
    own = _own(ds, case)
    schematic = own is None
    assumed = schematic and not np.isfinite(depth)
    if own is None:
        shape = outline(beam, draught, DEPTHS * draught if assumed else depth)
        own = shape, water_levels(shape, draught, heel)
    return Section(
        own[0],
        draught,
        assumed,
        schematic,
        heel,
        own[1],
        _path(ds, "buoyancy", case),
        _path(ds, "metacentre", case),
        free_surface(ds, case),
    )


def _own(ds: xr.Dataset, case: int) -> tuple[Floats, Floats] | None:
    """Her own outline (2, n) and the water at it over the heels, where the result holds them."""
    if "section_y" not in ds.variables or "water_level" not in ds.variables:
        return None
    shape = np.stack([cases.values(ds, f"section_{axis}", case=case) for axis in "yz"])
    shape = np.asarray(shape[:, np.isfinite(shape).all(axis=0)], dtype=float)
    level = np.asarray(cases.values(ds, "water_level", case=case), dtype=float)
    if shape.shape[1] < 4 or not np.isfinite(level).all():
        return None
    return shape[:, :-1], level  # the last point is the first again


def _path(ds: xr.Dataset, what: str, case: int) -> Floats:
    path = [cases.values(ds, f"{what}_{axis}", case=case) for axis in "yz"]
    return np.asarray(path, dtype=float)


def to_earth(points: Floats, roll: Floats | float, rise: Floats | float, draught: float) -> Floats:
    """Points (2, n) of the ship in earth axes: starboard goes down with positive roll."""
    y, z = points[0], points[1] - draught
    c, s = np.cos(roll), np.sin(roll)
    return np.stack([y * c + z * s, z * c - y * s + rise])


def along_water(slope: Floats | float) -> Floats:
    """The direction of the water line, towards starboard; `upward` is normal to it."""
    return np.stack([np.cos(slope), -np.sin(slope)])


def upward(slope: Floats | float) -> Floats:
    """The direction in which buoyancy acts: normal to the effective wave slope."""
    return np.stack([np.sin(slope), np.cos(slope)])


def scene(
    ship: Section,
    roll: Floats,
    slope: Floats,
    gravity: Floats,
    lever: Floats,
    lift: Floats | float = 0.0,
) -> Scene:
    """The moments of a run: `roll`, `slope` (n,), G (2, n) in ship axes, righting `lever` (n,).

    `lift` [m] is how much further free surfaces raise G than at t = 0.
    """
    heel = roll - slope
    level = at_heel(heel, ship.heel, ship.level)
    rise = (ship.draught * np.cos(heel) - level) / np.cos(slope)
    raised = gravity + np.stack([0.0 * gravity[0], ship.free_surface + lift + 0.0 * gravity[0]])
    b, m = (
        np.stack([at_heel(heel, ship.heel, axis) for axis in path])
        for path in (ship.buoyancy, ship.metacentre)
    )
    centre, virtual, b, m = (to_earth(p, roll, rise, ship.draught) for p in (gravity, raised, b, m))
    foot = virtual + lever * along_water(slope)
    return Scene(roll, slope, rise, centre, virtual, b, m, foot, lever)
