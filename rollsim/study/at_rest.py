"""Cases at rest: their numbers and curves for the result, made for all of them together."""

from __future__ import annotations

import hashlib
import math
from collections.abc import Sequence
from functools import partial
from typing import Any

import numpy as np
from numpy.typing import NDArray

from rollsim.constants import GRAVITY
from rollsim.engines.base import Case
from rollsim.motion.timeline import loading_at
from rollsim.scenario.schema import Scenario
from rollsim.ship.levers import metacentric_height
from rollsim.ship.metacentre import buoyancy, metacentre
from rollsim.study.equilibrium import about_static_heel, angles, by_hull, period
from rollsim.study.plan import Plan
from rollsim.study.shared import Shared

Floats = NDArray[np.float64]
Indices = NDArray[np.intp]
Arrays = dict[str, Any]
"""Variables by name: arrays, or what reads like them."""


def of_cases(plan: Plan, cases: Sequence[int]) -> Arrays:
    """What cases have besides their runs: numbers at rest, curves, the path of G, condition.

    What physics decide is made once for all cases that differ in their start alone.
    """
    leads, which = np.unique([plan.leads[i] for i in cases], return_inverse=True)
    alone = [plan.cases[lead] for lead in leads]
    variables: Arrays = {
        name: values[which] for name, values in {**_given(alone), **angles(alone)}.items()
    }
    for name in CURVES:
        variables[name] = Shared(partial(_curve, name, alone, plan.heel), which, plan.heel.size)
    for name, column in PATH_OF_G.items():
        variables[name] = Shared(partial(_path, column, alone, plan.times), which, plan.times.size)
    variables |= about_static_heel(alone, which, plan.starts[list(cases), 0])
    variables["condition"] = np.array([plan.cases[i].condition for i in cases])
    digests = np.array([weather_digest(plan.study.cases[lead].scenario) for lead in leads])
    variables["weather_digest"] = digests[which]
    scenarios = [plan.study.cases[i].scenario for i in cases]
    variables["displacement"] = np.array([scenario.ship.displacement_t for scenario in scenarios])
    return variables | {"t": plan.times, "heel": plan.heel}


def weather_digest(scenario: Scenario) -> str:
    """A digest of sea, wind, events and settling: the same for cases that meet the same."""
    parts = [scenario.sea, scenario.wind, *scenario.events]
    text = "|".join("" if part is None else part.model_dump_json() for part in parts)
    text += f"|{scenario.run.settle_s!r}"
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def _given(cases: Sequence[Case]) -> Arrays:
    """What the scenario gives, and what follows from it at once: m, s and degrees."""
    limits = np.array([case.limits for case in cases], dtype=np.float64)
    degrees = np.degrees(np.where(np.isfinite(limits), limits, math.nan))
    inertia = np.array([case.coefficients.inertia for case in cases])
    gm = np.array([metacentric_height(case.levers, case.gravity) for case in cases])
    relative = [case.coefficients.relative for case in cases]
    return {
        "gm": gm,
        "roll_period_upright": period(inertia, gm),
        "beam": np.array([case.beam for case in cases]),
        "draught": np.array([case.draught for case in cases]),
        "depth": np.array([case.depth for case in cases]),
        "gyradius": np.sqrt(inertia * GRAVITY),
        "excitation": np.where(relative, "relative", "absolute"),
        "roll_limit": degrees[:, 0],
        "flooding_limit": degrees[:, 1],
        "capsize_limit": degrees[:, 2],
    }


CURVES = (
    *("righting_lever", "steady_heeling_lever"),
    *("metacentre_y", "metacentre_z", "buoyancy_y", "buoyancy_z"),
)
PATH_OF_G = {"centre_of_gravity_z": 1, "centre_of_gravity_y": 2}
"""The paths of G by their columns in a loading."""


def _curve(name: str, cases: Sequence[Case], heel: Floats, which: Indices) -> Floats:
    """A curve of some cases at the heels [degree], (cases, heels): levers, paths of M and B in m.

    NaN where the levers are not known, and for B where the height of B is not.
    """
    phi, wanted = np.radians(heel), [cases[i] for i in which]
    curve = np.full((which.size, heel.size), math.nan)
    for members, loadings in by_hull(wanted):
        levers = loadings.levers
        inside = (phi >= levers.heel_min - 1e-12) & (phi <= levers.heel_max + 1e-12)
        known = phi[inside]
        each = loadings.at((slice(None), None)).curves
        if name == "righting_lever":
            rows = each.value(known) + each.heeling_lever(known)
        elif name == "steady_heeling_lever":
            rows = np.broadcast_to(each.heeling_lever(known), (members.size, known.size))
        else:
            rows = np.array([_of_form(name, wanted[i], known) for i in members])
        curve[np.ix_(members, np.flatnonzero(inside))] = rows
    return curve


def _of_form(name: str, case: Case, phi: Floats) -> Floats:
    """A coordinate of M or B at the heels [rad]."""
    axis = name.endswith("_z")
    if name.startswith("metacentre"):
        return metacentre(case.levers.hull, phi)[axis]
    if case.kb is None:
        return np.full(phi.size, math.nan)
    return buoyancy(case.levers.hull, phi, case.kb)[axis]


def _path(column: int, cases: Sequence[Case], times: Floats, which: Indices) -> Floats:
    """A coordinate of G of some cases at the times [s], in ship axes, without free surfaces."""
    segments = {id(cases[i].segments): cases[i].segments for i in which}
    paths = {key: loading_at(times, each)[:, column] for key, each in segments.items()}
    return np.array([paths[id(cases[i].segments)] for i in which])
