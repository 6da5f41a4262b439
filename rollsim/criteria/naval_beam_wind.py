"""Naval practice in a beam wind with rolling, after Sarchin and Goldberg (1962), from memory.

The text was not at hand: formula, limits and roll-back are remembered, not read. The wind's lever
is 0.0195 V² A l cos²φ/(1000 Δ) [m], V in knots, A [m²], l [m], Δ [t]. Where it meets GZ the lever
may be 0.6 of the greatest GZ at most; rolled back 25° to windward from there, area A2 beyond must
be 1.4 times area A1 before, A2 to flooding, the second intercept or 70°.
"""

from __future__ import annotations

import math

from rollsim.criteria.at_rest import ShipAtRest, Side
from rollsim.criteria.general import not_upright
from rollsim.criteria.requirement import (
    Judgement,
    Requirement,
    at_least,
    at_most,
    degrees,
    failed,
    only_as_lower_bound,
    shown,
    unanswered,
)
from rollsim.ship.righting import HEELING_LAWS

TEXT = "Sarchin and Goldberg 1962, beam wind and rolling (from memory)"
CLAUSE = "naval 1962 (from memory)"
KNOT = 1852.0 / 3600.0
"""A knot [m/s]."""
PRESSURE = 0.0195
"""Nominal wind pressure [kgf/m² per kn²], from memory."""
ROLL_BACK, LAST_HEEL = math.radians(25.0), math.radians(70.0)
LAW = "cos2"
NOMINAL = "the paper has 100 kn (51 m/s) for a ship that must weather tropical cyclones"


def judge(ship: ShipAtRest) -> Judgement:
    """The three lines of the beam-wind criterion, in the scenario's mean wind."""
    if ship.gm <= 0.0:
        return Judgement(_unanswered(not_upright(ship.side)))
    if ship.windage is None:
        return Judgement(_unanswered("there is no [ship.windage]: give area_m2 and lever_m"))
    if not ship.wind_speed:
        note = f"there is no wind: give [wind] speed_mps; {NOMINAL}"
        return Judgement(_unanswered(note))
    pressed = PRESSURE * (ship.wind_speed / KNOT) ** 2 * ship.windage.area * ship.windage.lever
    lever = pressed / (1000.0 * ship.displacement)
    marks = {"lever": lever}
    meeting = ship.side.meeting(lever, LAW)
    if meeting is None:
        note = f"no heel holds her in the wind: its lever upright is {lever:.4g} m"
        return Judgement(_lost(note), marks)
    return _judged(ship, lever, meeting, marks)


def _judged(
    ship: ShipAtRest, lever: float, meeting: tuple[float, float], marks: dict[str, float]
) -> Judgement:
    side, (first, second) = ship.side, meeting
    start = first - ROLL_BACK
    last = max(first, min(ship.flooding, second, LAST_HEEL, side.end))
    marks |= {"meeting": first, "start": start, "end": last}
    _, greatest = side.greatest(0.0, side.vanishing)
    speed = f"in {ship.wind_speed:.4g} m/s ({(ship.wind_speed or 0.0) / KNOT:.3g} kn)"
    lines = [
        shown(CLAUSE, "heel_at_intersection", "degree", math.degrees(first), speed),
        at_most(CLAUSE, "lever_ratio", "1", 0.6, float(side.value(first)) / greatest),
    ]
    if start < side.start:
        note = f"the levers end at {degrees(side.start)} to windward, she rolls to {degrees(start)}"
        lines.append(unanswered(CLAUSE, "area_ratio", "1", 1.4, note))
        return Judgement(tuple(lines), marks)
    before = _wind_area(lever, start, first) - side.area(start, first)
    beyond = side.area(first, last) - _wind_area(lever, first, last)
    marks |= {"area_1": before, "area_2": beyond}
    lines.append(_ratio(side, beyond / before, last, min(ship.flooding, second, LAST_HEEL)))
    return Judgement(tuple(lines), marks)


def _ratio(side: Side, ratio: float, last: float, wanted: float) -> Requirement:
    """A2/A1; a lower bound where the levers end before A2 does."""
    line = at_least(CLAUSE, "area_ratio", "1", 1.4, ratio, f"A2 to {degrees(last)}")
    if wanted <= side.end:
        return line
    return only_as_lower_bound(line, "the levers end there: A2 can only be more")


def _wind_area(lever: float, start: float, end: float) -> float:
    """Area under the wind's lever between two heels [m rad]."""
    integral = HEELING_LAWS[LAW].integral
    low, high = (float(integral(heel)) for heel in (start, end))  # type: ignore[arg-type]
    return lever * (high - low)


def _unanswered(note: str) -> tuple[Requirement, ...]:
    return (
        unanswered(CLAUSE, "heel_at_intersection", "degree", None, note),
        unanswered(CLAUSE, "lever_ratio", "1", 0.6, note),
        unanswered(CLAUSE, "area_ratio", "1", 1.4, note),
    )


def _lost(note: str) -> tuple[Requirement, ...]:
    """The lines of a ship that the wind turns over."""
    return (
        unanswered(CLAUSE, "heel_at_intersection", "degree", None, note),
        failed(CLAUSE, "lever_ratio", "1", 0.6, note),
        failed(CLAUSE, "area_ratio", "1", 1.4, note),
    )
