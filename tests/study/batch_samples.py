"""Studies for the tests of the batch: a ship of few numbers, run without a file."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from rollsim.names import HISTORY, RUN, SEARCHED, VARIABLES
from rollsim.scenario.load import loads
from rollsim.study.loop import run_plan
from rollsim.study.plan import Plan, make_plan
from rollsim.study.result import Results
from rollsim.study.workers import Where

Arrays = dict[str, NDArray[Any]]

DISPLACEMENT = 1000.0
"""Of the ship below [t]."""
C1, C3, KG = 0.8, -0.6, 5.0
"""GZ = C1 φ + C3 φ³ [m] with G at KG [m]."""

SHIP = {
    "ship": (
        'name = "Trial"\nlength_m = 60.0\nbeam_m = 12.0\ndraught_m = 4.0\n'
        f"displacement_t = {DISPLACEMENT}"
    ),
    "ship.levers": (
        f'kind = "polynomial"\ngz_m_per_rad = [{C1}, 0.0, {C3}]\nkg_m = {KG}\nheel_max_deg = 100.0'
    ),
    "ship.gravity": f"kg_m = {KG}",
    "ship.inertia": "gyradius_m = 4.0",
    "run": 'duration_s = 20.0\nmethod = "DOP853"',
}
KN_LEVERS = (
    'kind = "kn"\n'
    "heel_deg = [0, 10, 20, 30, 40, 50, 60, 75, 90]\n"
    "kn_m = [0.0, 0.983, 1.969, 2.923, 3.658, 4.160, 4.444, 4.520, 4.264]\n"
    "km_m = 5.659\nkb_m = 2.739"
)
STORM = (
    'kind = "irregular"\nspectrum = "bretschneider"\n'
    "significant_height_m = 3.0\npeak_period_s = 8.0"
)
WIND = 'speed_mps = 20.0\nfrom = "port"'
WINDAGE = "area_m2 = 300.0\nlever_m = 5.0"
CONDITIONS = '[[conditions]]\nname = "light"\n[[conditions]]\nname = "deep"\n'


def scenario(tables: Mapping[str, str] | None = None, more: str = "") -> str:
    """A scenario file: the ship above with `tables` put in or over its own, and `more` behind."""
    found = SHIP | dict(tables or {})
    return "format = 1\n" + "".join(f"[{key}]\n{text}\n" for key, text in found.items()) + more


def plan_of(tables: Mapping[str, str] | None = None, more: str = "") -> Plan:
    """The plan of such a scenario."""
    return make_plan(loads(scenario(tables, more)))


def results_of(plan: Plan, workers: int | None = 1) -> Arrays:
    """Every variable of the result of `plan`."""
    results = Results(plan)
    for chunk, runs in run_plan(plan, Where(workers)):
        results.take(chunk, runs)
    assert results.done >= plan.runs
    return {name: np.asarray(values) for name, values in results.variables().items()}


def measured(tables: Mapping[str, str] | None = None, more: str = "") -> Arrays:
    """Every variable of the result of such a scenario."""
    return results_of(plan_of(tables, more))


def one(found: Arrays, name: str) -> float:
    """The only value of a variable of a result."""
    return float(found[name].item())


def of_runs() -> list[str]:
    """The names of all variables that a run has of its own, without what searches give."""
    runs = {name for name, variable in VARIABLES.items() if variable.dims in (HISTORY, RUN)}
    return [name for name in VARIABLES if name in runs.difference(SEARCHED)]


def assert_same(a: Arrays, b: Arrays) -> None:
    """Every variable of two results agrees bit for bit, missing values too."""
    assert a.keys() == b.keys()
    for name in a:
        np.testing.assert_array_equal(a[name], b[name], err_msg=name, strict=True)
