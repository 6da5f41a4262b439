"""What a study says of itself before it runs: bounds that bite, sea cut off, doubtful tables."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from rollsim.engines.base import Case
from rollsim.errors import printable
from rollsim.scenario import schema
from rollsim.scenario.schema import gm_of
from rollsim.ship.levers import bends, slope_sensitivity
from rollsim.ship.statics import vanishing_angles
from rollsim.study.plan import Plan
from rollsim.weather.sea import variance_left_out

MUCH_LEFT_OUT, LEFT_OUT = 0.1, 0.01
"""Shares of the sea's variance beyond the shortest wave from which it is said: always, and where
one number as slope coefficient makes the roll depend on the cut."""


def warnings(plan: Plan) -> tuple[str, ...]:
    """All warnings of a plan, those of the file first, each once, safe to be printed."""
    found = [*plan.study.warnings, *_table_warnings(plan)]
    for judge in (_capsize_inside, _beyond_capsize, _start_past_limits, _sea_left_out):
        said = [(case, words) for case in plan.cases if (words := judge(case))]
        if said:
            case, words = said[0]
            more = f"; likewise in {len(said) - 1} of the other cases" if said[1:] else ""
            found.append(f"case {case.index}, {printable(case.condition)}: {words}{more}")
    if plan.until and not any(case.random for case in plan.cases):
        found.append("run.until: nothing is random here: every realisation is the same run")
    return tuple(dict.fromkeys(found))


def sea_cut(plan: Plan) -> str:
    """How much of the sea's variance lies beyond the shortest wave; empty where nothing does."""
    shares = [variance_left_out(case.sea) for case in plan.cases]
    if max(shares) == 0.0:
        return ""
    low, high = (f"{100.0 * share:.2g} %" for share in (min(shares), max(shares)))
    span = low if low == high else f"{low} to {high}"
    return f"{span} of the wave variance lies in waves shorter than shortest_wave_m, left out"


def _capsize_inside(case: Case) -> str:
    capsize = math.degrees(case.limits.capsize)
    vanishing = float(np.fmax(*np.abs(np.degrees(vanishing_angles(case.levers, case.gravity)))))
    if not capsize < vanishing - 1e-9:
        return ""
    return (
        f"capsize_deg {capsize:.4g} lies inside the vanishing angle {vanishing:.4g}°: runs end "
        "although the ship could still come back"
    )


def _beyond_capsize(case: Case) -> str:
    limits, capsize = case.limits, case.limits.capsize
    names = {"roll_deg": limits.roll, "flooding_deg": limits.flooding}
    beyond = [name for name, angle in names.items() if capsize < angle < math.inf]
    if not beyond:
        return ""
    words = " and ".join(beyond)
    return f"capsize_deg {math.degrees(capsize):.4g} ends every run before {words} can be passed"


def _start_past_limits(case: Case) -> str:
    start, limits = abs(case.start[0]), case.limits
    names = {"roll_deg": limits.roll, "flooding_deg": limits.flooding}
    past = [f"{name} {math.degrees(angle):.4g}" for name, angle in names.items() if start >= angle]
    if not past:
        return ""
    return f"she starts at {math.degrees(start):.4g}°, past {' and '.join(past)}"


def _sea_left_out(case: Case) -> str:
    share = variance_left_out(case.sea)
    number = case.sea.slope_coefficient is not None
    if share <= (LEFT_OUT if number else MUCH_LEFT_OUT):
        return ""
    words = f"{100 * share:.2g} % of the wave variance is cut off at shortest_wave_m"
    if number:
        words += "; with one number as slope_coefficient the roll depends on that cut"
    return words


def _table_warnings(plan: Plan) -> Iterator[str]:
    tables: dict[schema.KnLevers | schema.GzLevers, schema.Scenario] = {}
    for spec in plan.study.cases:
        levers = spec.scenario.ship.levers
        if isinstance(levers, schema.KnLevers | schema.GzLevers):
            tables.setdefault(levers, spec.scenario)
    for levers, scenario in tables.items():
        yield from _table_warning(levers, scenario)


def _table_warning(
    levers: schema.KnLevers | schema.GzLevers, scenario: schema.Scenario
) -> Iterator[str]:
    heel = np.radians(levers.heel_deg)
    if isinstance(levers, schema.KnLevers):
        given, fixed, kn = levers.kn_m, levers.km_m, np.array(levers.kn_m)
    else:
        given, fixed = levers.gz_m, levers.gm_m
        kn = np.array(levers.gz_m) + levers.kg_m * np.sin(heel)
    resolution = table_resolution(given)
    km = fixed
    if fixed is not None and isinstance(levers, schema.GzLevers):
        km = fixed + levers.kg_m
    curve, data = bends(heel, kn, resolution, km)
    if curve > data:
        yield (
            f"ship.levers: the curve bends {curve} times where the table bends {data} times; "
            "look for a typing error among its values, or give rows nearer together"
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
