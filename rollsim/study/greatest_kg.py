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
from rollsim.engines.base import Case
from rollsim.errors import Fault, InputError
from rollsim.scenario.schema import HullLevers, Scenario, levers_of
from rollsim.scenario.schema.levers import CrossCurveLevers, LeverKind, levers_at
from rollsim.ship.hull.form import UnfloatableError
from rollsim.study.criteria import apart, name_of, place_of, ship_at_rest
from rollsim.study.plan import Plan

Row = dict[str, Any]

ALONG = 15
"""Displacements at which a curve is looked at where cross-curves carry the displacement."""
OF_HULL = 7
"""The same for a hull, over the displacements of her cases."""
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


def allowed(
    plan: Plan, cases: Sequence[int], rules: Sequence[str], displacements: Sequence[float] = ()
) -> Iterator[Allowed]:
    """The greatest KG of every case; cases that differ in KG or weather alone are looked at once.

    Where cross-curves or a hull know other displacements, curves come after the cases: over
    `displacements` [t], else over the range of the cross-curves, or that of the hull's cases.
    """
    leads = _leads(plan, cases)
    if displacements and not leads:
        hint = 'give levers of kind "cross-curves" or "hull", which know other displacements'
        fault = Fault("--displacement", "the levers are for one displacement alone", hint)
        raise InputError(plan.study.file, [fault])
    known: dict[tuple[Any, ...], tuple[GreatestKg, ...]] = {}
    for i in cases:
        case = plan.cases[i]
        ship = ship_at_rest(case, plan.study.cases[i].scenario)
        key = apart(ship)
        if key not in known:
            known[key] = tuple(greatest_kgs(ship, rules))
        yield Allowed(case.index, case.condition, name_of(case), ship, known[key])
    for i in leads:
        yield from _along(plan, i, rules, displacements or _range(plan, cases, i))


def _leads(plan: Plan, cases: Sequence[int]) -> list[int]:
    """The first case of each ship whose levers are known at other displacements."""
    first: dict[tuple[Any, ...], int] = {}
    for i in cases:
        ship = plan.study.cases[i].scenario.ship
        if isinstance(ship.levers, CrossCurveLevers | HullLevers):
            first.setdefault((ship.levers, repr(ship.form), repr(ship.windage)), i)
    return list(first.values())


def _range(plan: Plan, cases: Sequence[int], lead: int) -> list[float]:
    """The displacements of a curve [t]: all of cross-curves, those between a hull's cases."""
    levers = plan.study.cases[lead].scenario.ship.levers
    if isinstance(levers, CrossCurveLevers):
        least, most, steps = levers.displacement_t[0], levers.displacement_t[-1], ALONG
    else:
        ships = [plan.study.cases[i].scenario.ship for i in cases]
        own = [ship.displacement_t for ship in ships if ship.levers == levers]
        least, most, steps = min(own), max(own), OF_HULL
    return [float(each) for each in np.linspace(least, most, steps)] if least < most else []


def _along(
    plan: Plan, lead: int, rules: Sequence[str], displacements: Sequence[float]
) -> Iterator[Allowed]:
    """The greatest KG of a case's ship over displacements that her curves or her hull know."""
    own, scenario = plan.cases[lead], plan.study.cases[lead].scenario
    at_rest = ship_at_rest(own, scenario)
    for displacement in displacements:
        try:
            ship = _at(at_rest, own, scenario, displacement)
        except (UnfloatableError, ValueError) as error:
            raise _out_of_reach(plan, scenario.ship.levers, displacement) from error
        limits = tuple(greatest_kgs(ship, rules))
        yield Allowed(lead, own.condition, name_of(own), ship, limits, on_curve=True)


def _at(at_rest: ShipAtRest, own: Case, scenario: Scenario, displacement: float) -> ShipAtRest:
    """A ship at another displacement [t]; a hull with G over B upright, on an even keel.

    Her liquid stays as it is in the case, as her free surfaces do.
    """
    table: Any = scenario.ship.levers
    follows = table.particulars(displacement)
    levers = replace(levers_of(levers_at(table, displacement)), liquid=own.levers.liquid)
    ship = replace(
        at_rest,
        curve=replace(at_rest.curve, levers=levers),
        draught=follows.get("draught_m", own.draught),
        displacement=displacement,
    )
    if not isinstance(table, HullLevers):
        return ship
    form = scenario.ship.form
    if form is None or form.deck_edge_deg is None:
        ship = replace(ship, form=replace(ship.form, deck_edge=table.deck_edge(displacement)))
    if scenario.limits.flooding_deg is None:
        ship = replace(ship, floods=table.flooding(displacement))
    return ship


def _out_of_reach(plan: Plan, levers: LeverKind, displacement: float) -> InputError:
    """A displacement that the curves or the hull do not reach."""
    if isinstance(levers, CrossCurveLevers):
        least, most = levers.displacement_t[0], levers.displacement_t[-1]
        hint = f"the curves know {least:g} t to {most:g} t; nothing is extrapolated"
    else:
        hint = "rollsim hull shows between which displacements she floats"
    problem = f"{displacement:g} t is out of reach of the levers"
    return InputError(plan.study.file, [Fault("--displacement", problem, hint)])


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
