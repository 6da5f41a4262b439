"""The general criteria: 2008 IS Code (MSC.267(85)), part A, 2.2.

Areas under GZ of 0.055 m rad to 30°, 0.090 to 40° or flooding, 0.030 between 30° and 40° or
flooding; GZ of 0.20 m at 30° or more; the greatest GZ at 25° or more; GM of 0.15 m. The area to
30° knows no flooding, as the text has it.
"""

from __future__ import annotations

import math

from rollsim.criteria.at_rest import ShipAtRest, Side
from rollsim.criteria.requirement import (
    Judgement,
    Requirement,
    at_least,
    degrees,
    joined,
    only_as_lower_bound,
    unanswered,
    without_passes,
)

TEXT = "2008 IS Code (MSC.267(85)), part A, 2.2"
AREAS, LEVER, PEAK, HEIGHT = (f"2008 IS Code A 2.2.{part}" for part in (1, 2, 3, 4))

THIRTY, FORTY = math.radians(30.0), math.radians(40.0)
AREA = "m rad"
LYING = math.radians(0.1)
"""A heel [rad] that is worth a word."""
SLACK = 1e-12
"""Rounding of heels at the end of the levers [rad]."""


def judge(ship: ShipAtRest) -> Judgement:
    """The six lines of A 2.2."""
    side = ship.side
    to = min(FORTY, ship.flooding)
    lines = (
        _area(side, "area_to_30", 0.055, 0.0, THIRTY, _early(ship.flooding)),
        _area(side, "area_to_40", 0.090, 0.0, to, _flooded(ship.flooding)),
        _area(side, "area_30_to_40", 0.030, THIRTY, to, _flooded(ship.flooding)),
        _lever_from_30(side),
        _heel_of_greatest(side),
    )
    height = at_least(HEIGHT, "gm", "m", 0.15, ship.gm)
    marks = {"thirty": THIRTY, "to": to}
    if ship.gm > 0.0:
        return Judgement((*lines, height), marks)
    note = not_upright(side)
    return Judgement((*without_passes(lines, note), *without_passes((height,), note)), marks)


def not_upright(side: Side) -> str:
    """Why a ship without GM gets no pass, with the heel at which she lies."""
    stable = [rest.heel for rest in side.rests(0.0) if rest.kind == "stable"]
    if not stable:
        return "GM is not above 0 and nothing rights her: no line is taken for a pass"
    heel = min(stable, key=lambda heel: (heel < 0.0, abs(heel)))
    lies = f": she lies at {degrees(heel)} to {side.name}" if heel > LYING else ""
    return f"GM is not above 0{lies}; no line is taken for a pass"


def _area(
    side: Side, quantity: str, required: float, start: float, end: float, note: str
) -> Requirement:
    """An area under GZ; not beyond the end of the levers."""
    if end > side.end + SLACK:
        beyond = f"the levers end at {degrees(side.end)}, before {degrees(end)}"
        return unanswered(AREAS, quantity, AREA, required, joined(beyond, note))
    area = side.area(start, min(end, side.end)) if end > start else 0.0
    return at_least(AREAS, quantity, AREA, required, area, note)


def _early(flooding: float) -> str:
    return f"she floods at {degrees(flooding)}, before 30°" if flooding < THIRTY else ""


def _flooded(flooding: float) -> str:
    return f"to flooding at {degrees(flooding)}" if flooding < FORTY else ""


def _lever_from_30(side: Side) -> Requirement:
    """The greatest GZ at 30° or more, before GZ is lost."""
    if side.end < THIRTY - SLACK:
        note = f"the levers end at {degrees(side.end)}, before 30°"
        return unanswered(LEVER, "gz_from_30", "m", 0.20, note)
    last = min(max(THIRTY, side.vanishing), side.end)
    heel, lever = side.greatest(min(THIRTY, last), last)
    line = at_least(LEVER, "gz_from_30", "m", 0.20, lever)
    if heel < side.end - SLACK or side.vanishing < side.end:
        return line
    return only_as_lower_bound(line, _still_growing(side))


def _heel_of_greatest(side: Side) -> Requirement:
    """The heel of the greatest GZ before GZ is lost."""
    heel, _ = side.greatest(0.0, side.vanishing)
    line = at_least(PEAK, "heel_of_greatest_gz", "degree", 25.0, math.degrees(heel))
    if heel < side.end - SLACK:
        return line
    return only_as_lower_bound(line, _still_growing(side))


def _still_growing(side: Side) -> str:
    return f"GZ still grows at {degrees(side.end)}, where the levers end"
