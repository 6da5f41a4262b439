"""Ships in closed form for the tests of the criteria."""

from __future__ import annotations

import math
from dataclasses import replace

from rollsim.criteria.at_rest import Form, ShipAtRest, Windage
from rollsim.criteria.requirement import Judgement, Requirement
from rollsim.ship.levers import Gravity, Levers, polynomial, wall_sided
from rollsim.ship.righting import RightingCurve

WINDAGE = Windage(620.0, 6.4)


def ship(
    levers: Levers,
    gravity: Gravity,
    *,
    beam: float = 14.0,
    draught: float = 5.2,
    displacement: float = 4250.0,
    flooding: float = math.inf,
) -> ShipAtRest:
    """A ship with some windage and no wind; flooding in degrees."""
    return ShipAtRest(
        RightingCurve(levers, gravity),
        beam=beam,
        draught=draught,
        displacement=displacement,
        form=Form(84.0),
        floods=(math.radians(flooding),) * 2,
        windage=WINDAGE,
    )


def sine(gm: float, reach: float = 90.0) -> ShipAtRest:
    """A ship with GZ = GM sin φ, G at 5 m."""
    levers = Levers(-math.radians(reach), math.radians(reach), sine=gm + 5.0)
    return ship(levers, Gravity(5.0))


def wall(gm: float, bm: float = 3.0, reach: float = 60.0, kg: float = 5.3) -> ShipAtRest:
    """A wall-sided ship."""
    return ship(wall_sided(kg + gm, bm, math.radians(reach)), Gravity(kg))


def curved(kg: float = 5.0, reach: float = 70.0) -> ShipAtRest:
    """A ship with GZ = 0.9 φ + 0.3 φ³ − 0.75 φ⁵ [m, rad] for G at 5 m."""
    levers = polynomial([0.9, 0.0, 0.3, 0.0, -0.75], 5.0, math.radians(reach))
    return ship(levers, Gravity(kg))


def keeled(own: ShipAtRest, area: float = 24.0, **form: float | bool) -> ShipAtRest:
    """The same ship with bilge keels of an area [m²] and other entries of her form."""
    return replace(own, form=replace(own.form, bilge_keels=area, **form))  # type: ignore[arg-type]


def line(judgement: Judgement, quantity: str) -> Requirement:
    """The line of a quantity."""
    return next(r for r in judgement.requirements if r.quantity == quantity)


def found(judgement: Judgement, quantity: str) -> float:
    """What was found for a quantity."""
    value = line(judgement, quantity).found
    assert value is not None
    return value
