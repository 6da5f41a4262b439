"""What a study says of itself before it runs: bounds that bite, sea cut off, doubtful tables."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from rollsim.batch.build import Case
from rollsim.batch.plan import Plan
from rollsim.errors import printable
from rollsim.scenario import schema, schema_ship
from rollsim.scenario.levers_of import gm_of
from rollsim.ship.levers import bends, slope_sensitivity
from rollsim.ship.statics import vanishing_angles
from rollsim.weather.waves import variance_left_out

LEFT_OUT_WORTH_SAYING = 0.01
"""Share of the sea's variance beyond the shortest wave from which it is said."""


def warnings(plan: Plan) -> tuple[str, ...]:
    """All warnings of a plan, those of the file first, each once, safe to be printed."""
    found = [*plan.study.warnings, *_table_warnings(plan)]
    for case in plan.cases:
        found.extend(_case_warnings(case))
    return tuple(dict.fromkeys(found))


def sea_cut(plan: Plan) -> str:
    """How much of the sea's variance lies beyond the shortest wave; empty where nothing does."""
    shares = [variance_left_out(case.sea) for case in plan.cases]
    if max(shares) == 0.0:
        return ""
    low, high = (f"{100.0 * share:.2g} %" for share in (min(shares), max(shares)))
    span = low if low == high else f"{low} to {high}"
    return f"{span} of the wave variance lies in waves shorter than shortest_wave_m, left out"


def _case_warnings(case: Case) -> Iterator[str]:
    name, capsize = printable(case.condition), math.degrees(case.limits.capsize)
    for angle in np.degrees(vanishing_angles(case.levers, case.gravity)):
        if capsize < abs(angle) - 1e-9:
            yield (
                f"{name}: capsize_deg {capsize:.4g} lies inside the vanishing angle "
                f"{angle:.4g}°: runs end although the ship could still come back"
            )
    share = variance_left_out(case.sea)
    if share > LEFT_OUT_WORTH_SAYING and case.sea.slope_coefficient is not None:
        yield (
            f"{name}: {100 * share:.2g} % of the wave variance is cut off at "
            "shortest_wave_m; with one number as slope_coefficient the roll depends on that cut"
        )


def _table_warnings(plan: Plan) -> Iterator[str]:
    tables: dict[schema_ship.KnLevers | schema_ship.GzLevers, schema.Scenario] = {}
    for spec in plan.study.cases:
        levers = spec.scenario.ship.levers
        if isinstance(levers, schema_ship.KnLevers | schema_ship.GzLevers):
            tables.setdefault(levers, spec.scenario)
    for levers, scenario in tables.items():
        yield from _table_warning(levers, scenario)


def _table_warning(
    levers: schema_ship.KnLevers | schema_ship.GzLevers, scenario: schema.Scenario
) -> Iterator[str]:
    heel = np.radians(levers.heel_deg)
    if isinstance(levers, schema_ship.KnLevers):
        given, fixed, kn = levers.kn_m, levers.km_m, np.array(levers.kn_m)
    else:
        given, fixed = levers.gz_m, levers.gm_m
        kn = np.array(levers.gz_m) + levers.kg_m * np.sin(heel)
    resolution = table_resolution(given)
    km = fixed
    if fixed is not None and isinstance(levers, schema_ship.GzLevers):
        km = fixed + levers.kg_m
    curve, data = bends(heel, kn, resolution, km)
    if curve > data:
        yield (
            f"ship.levers: the curve bends {curve} times where the table bends {data} times; "
            "look for a typing error among its values"
        )
    if fixed is None:
        moved = 0.5 * resolution * float(np.sum(np.abs(slope_sensitivity(heel))))
        gm = gm_of(levers, scenario.ship.gravity)
        yield (
            f"ship.levers: rounding of the table to {resolution:g} m can move GM ({gm:.3f} m) by "
            f"{moved:.3f} m; give km_m or gm_m to fix it"
        )


def table_resolution(values: tuple[float, ...]) -> float:
    """The last decimal place [m] to which a table is written."""
    decimals = max(len(f"{value!r}".partition(".")[2].rstrip("0")) for value in values)
    return math.pow(10.0, -min(decimals, 12))
