"""The greatest KG by the criteria over the displacements of a study, and the one by its storms."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from rollsim.criteria.at_rest import ShipAtRest
from rollsim.criteria.greatest_kg import GreatestKg, governing, greatest_kgs
from rollsim.errors import Fault, InputError
from rollsim.scenario.schema import levers_of
from rollsim.study.criteria import apart, name_of, place_of, ship_at_rest
from rollsim.study.plan import Plan

Row = dict[str, Any]

ALONG = 15
"""Displacements at which a curve is looked at where the levers carry the displacement."""
KEY = "ship.gravity.kg_m"
"""The key over which a critical value is a greatest KG."""


@dataclass(frozen=True, eq=False)
class Allowed:
    """What the lines of the rules allow a ship, of a case or at a displacement on its curve."""

    case: int
    condition: str
    name: str
    ship: ShipAtRest
    limits: tuple[GreatestKg, ...]
    on_curve: bool = False

    @property
    def governing(self) -> GreatestKg | None:
        """The line that allows the least."""
        return governing(self.limits)


def allowed(plan: Plan, cases: Sequence[int], rules: Sequence[str]) -> Iterator[Allowed]:
    """The greatest KG of every case; cases that differ in KG or weather alone are looked at once.

    Where the levers carry the displacement, curves over their range come after the cases.
    """
    known: dict[tuple[Any, ...], tuple[GreatestKg, ...]] = {}
    for i in cases:
        case = plan.cases[i]
        ship = ship_at_rest(case, plan.study.cases[i].scenario)
        key = apart(ship)
        if key not in known:
            known[key] = tuple(greatest_kgs(ship, rules))
        yield Allowed(case.index, case.condition, name_of(case), ship, known[key])
    for i in _leads(plan, cases):
        yield from _along(plan, i, rules)


def _leads(plan: Plan, cases: Sequence[int]) -> list[int]:
    """The first case of each ship whose levers carry the displacement."""
    first: dict[tuple[Any, ...], int] = {}
    for i in cases:
        ship = plan.study.cases[i].scenario.ship
        if getattr(ship.levers, "displacement_t", None):
            first.setdefault((id(ship.levers), repr(ship.form), repr(ship.windage)), i)
    return list(first.values())


def _along(plan: Plan, case: int, rules: Sequence[str]) -> Iterator[Allowed]:
    """The greatest KG of a case's ship over the displacements that her curves know."""
    own, scenario = plan.cases[case], plan.study.cases[case].scenario
    levers: Any = scenario.ship.levers
    least, most = min(levers.displacement_t), max(levers.displacement_t)
    for displacement in np.linspace(least, most, ALONG).tolist():
        follows = {"draught_m": own.draught} | levers.particulars(displacement)
        at: Any = scenario.ship.model_copy(update=follows | {"displacement_t": displacement})
        # The liquid stays as it is in the case, as her free surfaces do.
        levers_there = replace(levers_of(at.own_levers), liquid=own.levers.liquid)
        other = replace(own, levers=levers_there, draught=at.draught_m)
        ship = replace(ship_at_rest(other, scenario), displacement=displacement)
        limits = tuple(greatest_kgs(ship, rules))
        yield Allowed(case, own.condition, name_of(own), ship, limits, on_curve=True)


def rows(each: Allowed) -> list[Row]:
    """The lines of a ship as plain values."""
    least = each.governing
    return [
        {
            "case": each.case,
            "condition": each.condition,
            "displacement_t": each.ship.displacement,
            "kg_m": each.ship.kg,
            "rule": limit.rule,
            "quantity": limit.quantity,
            "greatest_kg_m": None if math.isnan(limit.kg) else limit.kg,
            "governing": limit is least,
            "note": limit.note,
        }
        for limit in each.limits
    ]


@dataclass(frozen=True)
class Storms:
    """The greatest KG [m] that storms allow a case at its displacement [t], with its limits."""

    condition: str
    place: str
    displacement: float
    kg: float
    lower: float
    upper: float


def from_critical(path: Path) -> tuple[list[Storms], str]:
    """The greatest KG of every case of a result of `rollsim critical`, and the event in words."""
    from rollsim.scenario.load import loads
    from rollsim.store.maps import open_map

    ds = open_map(path, "critical")
    study = loads(str(ds.attrs["scenario_text"]), str(path))
    search = study.base.critical
    if search is None or search.key != KEY:
        problem = f"was searched over {search.key if search else 'no key'}, not {KEY}"
        hint = f'[critical] key = "{KEY}" gives a greatest KG'
        raise InputError(str(path), [Fault("critical.key", problem, hint)])
    numbers = ("critical_value", "critical_value_lower", "critical_value_upper")
    columns = [np.asarray(ds[name].values, dtype=np.float64) for name in numbers]
    points = [
        Storms(
            spec.condition,
            place_of(spec.coordinates),
            spec.scenario.ship.displacement_t,
            *map(float, values),
        )
        for spec, values in zip(study.cases, zip(*columns, strict=True), strict=False)
    ]
    limits = study.base.limits.roll_deg, study.base.limits.flooding_deg
    event = search.of or ("capsize" if limits == (None, None) else "failure")
    share = 0.05 if search.probability is None else search.probability
    return points, f"{event} in one run, probability {share:g} where the weather is random"
