"""The published static criteria on the cases of a study, and the greatest KG that they allow."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass, fields, replace
from typing import Any

from rollsim.criteria.at_rest import Form, ShipAtRest, Windage
from rollsim.criteria.names import AREAS, ATTRIBUTE, MARKS, NAMES
from rollsim.criteria.registry import RULES
from rollsim.criteria.requirement import Judgement
from rollsim.engines.base import Case
from rollsim.scenario.expand.grid import BASE
from rollsim.scenario.schema import HullLevers, Scenario, Ship
from rollsim.ship.righting import Heeling
from rollsim.study.plan import Plan

Row = dict[str, Any]

MOST_TOLD = 200
"""Cases of which a result tells the criteria."""


@dataclass(frozen=True, eq=False)
class Judged:
    """A case, its name in full, and what each rule says of her."""

    case: int
    condition: str
    name: str
    ship: ShipAtRest
    by_rule: dict[str, Judgement]


def ship_at_rest(case: Case, scenario: Scenario) -> ShipAtRest:
    """A case as the criteria see her: t = 0, before events, without wind."""
    ship, form = scenario.ship, scenario.ship.form
    return ShipAtRest(
        curve=replace(case.curve, heeling=Heeling()),
        beam=case.beam,
        draught=case.draught,
        displacement=ship.displacement_t,
        form=Form(
            length=(form and form.waterline_length_m) or ship.length_m,
            block_coefficient=form.block_coefficient if form else None,
            sharp=form is not None and form.bilge == "sharp",
            bilge_keels=form.bilge_keel_area_m2 if form else 0.0,
            deck_edge=_deck_edge(ship),
        ),
        floods=_floods(case),
        windage=_windage(ship),
        wind_speed=scenario.wind.speed_mps if scenario.wind else None,
    )


def _deck_edge(ship: Ship) -> float | None:
    """The heel at which the deck edge goes under [rad]: as given, else by her hull."""
    if ship.form is not None and ship.form.deck_edge_deg is not None:
        return math.radians(ship.form.deck_edge_deg)
    if isinstance(ship.levers, HullLevers):
        return ship.levers.deck_edge(ship.displacement_t, ship.along)
    return None


def _windage(ship: Any) -> Windage | None:
    """Her lateral area, with what stands in her loading."""
    whole = ship.whole_windage
    return None if whole is None else Windage(*whole)


def _floods(case: Case) -> tuple[float, float]:
    """The heels of flooding to starboard and to port [rad]."""
    starboard = case.limits.flooding
    return starboard, starboard / case.limits.port


def name_of(case: Case) -> str:
    """A case by its number, its condition and its place in the sweep."""
    places = place_of(case.coordinates)
    named = [case.condition] if case.condition != BASE or not places else []
    return f"{case.index}: {', '.join([*named, *([places] if places else [])])}"


def place_of(coordinates: Mapping[str, float | str]) -> str:
    """A place in the sweep in words; empty without a sweep."""
    return ", ".join(
        f"{axis.replace('_', ' ')} {value if isinstance(value, str) else f'{value:.6g}'}"
        for axis, value in coordinates.items()
    )


def judged(plan: Plan, rules: Sequence[str], cases: Sequence[int]) -> Iterator[Judged]:
    """Some cases of the plan under each of the rules; cases alike at rest are judged once."""
    known: dict[tuple[Any, ...], dict[str, Judgement]] = {}
    for i in cases:
        case = plan.cases[i]
        ship = ship_at_rest(case, plan.study.cases[i].scenario)
        key = (ship.kg, *apart(ship))
        if key not in known:
            known[key] = {rule: RULES[rule].judge(ship) for rule in rules}
        yield Judged(case.index, case.condition, name_of(case), ship, known[key])


def apart(ship: ShipAtRest) -> tuple[Any, ...]:
    """What tells two ships apart, but for the height of G."""
    curve = ship.curve
    same = replace(curve, gravity=replace(curve.gravity, kg=0.0))
    own = (getattr(same, field.name) for field in fields(same) if field.name != "levers")
    parts = (ship.beam, ship.draught, ship.displacement, ship.form, ship.floods)
    return id(curve.levers), *map(repr, own), *parts, ship.windage, ship.wind_speed


def distinct(plan: Plan) -> list[int]:
    """The first of all cases of a condition that are alike at rest, up to MOST_TOLD."""
    first: dict[tuple[Any, ...], int] = {}
    for case, spec in zip(plan.cases, plan.study.cases, strict=True):
        ship = ship_at_rest(case, spec.scenario)
        first.setdefault((case.condition, ship.kg, *apart(ship)), case.index)
        if len(first) == MOST_TOLD:
            break
    return list(first.values())


def attribute(plan: Plan) -> dict[str, str]:
    """The criteria as a result carries them, where the scenario has a [ship.form]; else nothing."""
    if all(spec.scenario.ship.form is None for spec in plan.study.cases):
        return {}
    every = list(judged(plan, NAMES, distinct(plan)))
    lines = [row for each in every for row in rows(each)]
    marks = [row for each in every for row in _marks(each)]
    return {ATTRIBUTE: json.dumps(lines, ensure_ascii=False), MARKS: json.dumps(marks)}


def _marks(each: Judged) -> Iterator[Row]:
    """What a picture of areas a and b marks of a case, heels in radians, levers in metres."""
    floods = [heel if math.isfinite(heel) else None for heel in each.ship.floods]
    for rule in AREAS:
        if "area_a" in each.by_rule[rule].marks:
            marks = each.by_rule[rule].marks
            known = {"case": each.case, "condition": each.condition, "gm": each.ship.gm}
            yield known | {"rule": rule, "floods": floods, "marks": marks}


def rows(each: Judged) -> list[Row]:
    """The lines of a case as plain values, in the order of the rules."""
    head = {"case": each.case, "condition": each.condition}
    return [
        head | {"rule": rule} | asdict(requirement)
        for rule, judgement in each.by_rule.items()
        for requirement in judgement.requirements
    ]
