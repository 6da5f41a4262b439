"""Severe wind and rolling, the weather criterion: 2008 IS Code (MSC.267(85)), part A, 2.3.

A steady beam wind holds her at φ₀; waves roll her to windward by φ₁ from there; a gust of 1.5 times
the lever strikes: area b to leeward, to flooding, 50° or the second intercept, must be no less than
area a to windward. Pressure 504 Pa, g 9.81 m/s², sea water 1.025 t/m³, as the text has them.

    φ₁ = 109 k X₁ X₂ √(r s) [°],  r = 0.73 + 0.6 OG/d,  T = 2 C B/√GM,
    C = 0.373 + 0.023 B/d − 0.043 L/100
OG is of G itself, GM is corrected for free surfaces. The tables are those of the French Division
211, annex 211-1.A.3, the national text of the rule (X₁ at 3.4 and 3.5: 46 CFR 28.575); between
their rows values are linear. The ranges of φ₁ (A 2.3.5) are from memory.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

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

TEXT = "2008 IS Code (MSC.267(85)), part A, 2.3"
STEADY, ROLL, AREAS = (f"2008 IS Code A {part}" for part in ("2.3.1.2", "2.3.4", "2.3.1.4"))

PRESSURE = 504.0
"""Steady wind pressure [Pa] (A 2.3.2)."""
RULE_GRAVITY = 9.81
"""The rule's own acceleration of gravity [m/s²]."""
GUST = 1.5
"""Gust lever over steady lever (A 2.3.2)."""
MOST_STEADY, DECK_SHARE = math.radians(16.0), 0.8
"""Greatest steady heel [rad], and the share of the heel of deck-edge immersion (A 2.3.1.2)."""
LAST_HEEL = math.radians(50.0)
"""Heel [rad] beyond which area b does not count (A 2.3.1)."""

Table = Sequence[tuple[float, float]]
X1: Table = (
    (2.4, 1.0), (2.5, 0.98), (2.6, 0.96), (2.7, 0.95), (2.8, 0.93), (2.9, 0.91),
    (3.0, 0.90), (3.1, 0.88), (3.2, 0.86), (3.3, 0.84), (3.4, 0.82), (3.5, 0.80),
)  # fmt: skip
"""Over B/d."""
X2: Table = ((0.45, 0.75), (0.50, 0.82), (0.55, 0.89), (0.60, 0.95), (0.65, 0.97), (0.70, 1.0))
"""Over the block coefficient."""
K: Table = (
    (0.0, 1.0), (1.0, 0.98), (1.5, 0.95), (2.0, 0.88),
    (2.5, 0.79), (3.0, 0.74), (3.5, 0.72), (4.0, 0.70),
)  # fmt: skip
"""Over 100 Ak/(L B) of bilge keels."""
SHARP_BILGE = 0.7
"""k of sharp bilges."""
STEEPNESS: Table = (
    (6.0, 0.100), (7.0, 0.098), (8.0, 0.093), (12.0, 0.065),
    (14.0, 0.053), (16.0, 0.044), (18.0, 0.038), (20.0, 0.035),
)  # fmt: skip
"""s over the roll period T [s]."""
LONGEST = 20.0
"""Roll period [s] from which the table of A 2.3.4 holds no more."""


class Roll(NamedTuple):
    """The roll to windward φ₁ [rad], NaN outside the rule's ranges, and what it is made of."""

    angle: float
    note: str
    factors: dict[str, float]


def look_up(table: Table, value: float) -> float:
    """A table's value: linear between its rows, its first and last beyond them."""
    places, values = zip(*table, strict=True)
    return float(np.interp(value, places, values))


def roll_period(ship: ShipAtRest) -> float:
    """T = 2 C B/√GM [s] (A 2.3.4), for GM > 0."""
    c = 0.373 + 0.023 * ship.beam / ship.draught - 0.043 * ship.form.length / 100.0
    return 2.0 * c * ship.beam / math.sqrt(ship.gm)


def roll_to_windward(ship: ShipAtRest, steepness: Table, longest: float) -> Roll:
    """φ₁ by the tables, within B/d < 3.5, −0.3 ≤ KG/d − 1 ≤ 0.5 and T < `longest`."""
    form, breadth = ship.form, ship.beam / ship.draught
    height = ship.kg / ship.draught - 1.0
    keels = 100.0 * form.bilge_keels / (form.length * ship.beam)
    factors = {
        "k": SHARP_BILGE if form.sharp else look_up(K, keels),
        "X1": look_up(X1, breadth),
        "X2": look_up(X2, ship.block_coefficient),
        "r": 0.73 + 0.6 * height,
        "T": roll_period(ship),
    }
    factors["s"] = look_up(steepness, factors["T"])
    outside = []
    if not breadth < 3.5:
        outside.append(f"B/d is {breadth:.4g}, not below 3.5")
    if not -0.3 <= height <= 0.5:
        outside.append(f"KG/d − 1 is {height:.3g}, outside −0.3 to 0.5")
    if not factors["T"] < longest:
        more = " (weather-long-periods goes on)" if longest == LONGEST else ""
        outside.append(f"the period T is {factors['T']:.4g} s, not below {longest:g} s{more}")
    if outside:
        return Roll(math.nan, f"φ1 holds only within its ranges: {', '.join(outside)}", factors)
    angle = 109.0 * factors["k"] * factors["X1"] * factors["X2"]
    angle *= math.sqrt(factors["r"] * factors["s"])
    made_of = ", ".join(f"{name} {value:.4g}" for name, value in factors.items())
    return Roll(math.radians(angle), f"109 k X1 X2 √(r s): {made_of} s", factors)


def judge(ship: ShipAtRest, steepness: Table = STEEPNESS, longest: float = LONGEST) -> Judgement:
    """The five lines of A 2.3; `steepness` is the table of s over T."""
    if ship.gm <= 0.0:
        return _unanswered(not_upright(ship.side))
    if ship.windage is None:
        return _unanswered("there is no [ship.windage]: give area_m2 and lever_m")
    pressed = PRESSURE * ship.windage.area * ship.windage.lever
    steady = pressed / (1000.0 * RULE_GRAVITY * ship.displacement)
    gust = GUST * steady
    marks = {"steady_lever": steady, "gust_lever": gust}
    resting = ship.side.meeting(steady)
    roll = roll_to_windward(ship, steepness, longest)
    if math.isnan(roll.angle):
        rolled = unanswered(ROLL, "roll_to_windward", "degree", None, roll.note)
    else:
        marks["roll"] = roll.angle
        rolled = shown(ROLL, "roll_to_windward", "degree", math.degrees(roll.angle), roll.note)
    if resting is None:
        note = f"no heel holds her in the steady wind: its lever is {steady:.4g} m"
        first = failed(STEADY, "steady_heel", "degree", _most_steady(ship)[0], note)
        return Judgement((first, rolled, *_lost(note)), marks)
    marks["steady_heel"] = resting[0]
    first = _steady_heel(ship, resting[0])
    if math.isnan(roll.angle):
        return Judgement((first, rolled, *_areas_unanswered(roll.note)), marks)
    areas, more = areas_about_gust(ship, resting[0] - roll.angle, gust)
    return Judgement((first, rolled, *areas), marks | more)


def _most_steady(ship: ShipAtRest) -> tuple[float, str]:
    """The greatest steady heel [degree], and a note on what it rests on."""
    edge = ship.form.deck_edge
    if edge is None:
        return math.degrees(MOST_STEADY), "16° alone: no deck_edge_deg and no hull"
    note = f"the lesser of 16° and 80 % of the deck edge's {degrees(edge)}"
    return math.degrees(min(MOST_STEADY, DECK_SHARE * edge)), note


def _steady_heel(ship: ShipAtRest, heel: float) -> Requirement:
    required, note = _most_steady(ship)
    return at_most(STEADY, "steady_heel", "degree", required, math.degrees(heel), note)


def areas_about_gust(
    ship: ShipAtRest, start: float, gust: float
) -> tuple[tuple[Requirement, ...], dict[str, float]]:
    """Areas a and b about the gust lever, from the heel `start` to windward."""
    side = ship.side
    marks = {"start": start}
    if start < side.start:
        note = f"the levers end at {degrees(side.start)} to windward, she rolls to {degrees(start)}"
        return _areas_unanswered(note), marks
    meeting = side.meeting(gust)
    if meeting is None:
        return _lost(f"no heel holds her in the gust: its lever is {gust:.4g} m"), marks
    first, second = meeting
    last = max(first, min(ship.flooding, LAST_HEEL, second, side.end))
    a = gust * (first - start) - side.area(start, first)
    b = side.area(first, last) - gust * (last - first)
    marks |= {"meeting": first, "end": last, "area_a": a, "area_b": b}
    return _compared(ship, side, a, b, (last, second)), marks


def _compared(
    ship: ShipAtRest, side: Side, a: float, b: float, ends: tuple[float, float]
) -> tuple[Requirement, ...]:
    """The lines of the areas [m rad]; `ends` are where b ends and the second intercept [rad]."""
    last, second = ends
    why = {
        ship.flooding: "flooding",
        LAST_HEEL: "the rule's last heel",
        second: "the second intercept",
    }
    note = f"b to {degrees(last)}, {why.get(last, 'the end of the levers')}"
    if ship.flooding < last:
        note = f"she floods at {degrees(ship.flooding)}, before the gust is met: no area b"
    lines: tuple[Requirement, ...] = (
        at_least(AREAS, "area_b", "m rad", a, b, note),
        at_least(AREAS, "area_ratio", "1", 1.0, b / a)
        if a > 0.0
        else unanswered(AREAS, "area_ratio", "1", 1.0, "there is no area a: compare the areas"),
    )
    if side.end <= last and last not in why:
        # GZ stays above the lever to its second intercept: what is beyond the levers adds to b.
        lines = tuple(only_as_lower_bound(line, "b can only be more") for line in lines)
    return shown(AREAS, "area_a", "m rad", a, "must not exceed area b"), *lines


def _areas_unanswered(note: str) -> tuple[Requirement, ...]:
    return (
        unanswered(AREAS, "area_a", "m rad", None, note),
        unanswered(AREAS, "area_b", "m rad", None, note),
        unanswered(AREAS, "area_ratio", "1", 1.0, note),
    )


def _lost(note: str) -> tuple[Requirement, ...]:
    """The areas of a ship that the wind turns over."""
    return *_areas_unanswered(note)[:2], failed(AREAS, "area_ratio", "1", 1.0, note)


def _unanswered(note: str) -> Judgement:
    return Judgement(
        (
            unanswered(STEADY, "steady_heel", "degree", math.degrees(MOST_STEADY), note),
            unanswered(ROLL, "roll_to_windward", "degree", None, note),
            *_areas_unanswered(note),
        )
    )
