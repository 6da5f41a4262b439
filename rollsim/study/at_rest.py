"""Cases at rest: their numbers and curves for the result, made for all of them together."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from rollsim.constants import GRAVITY
from rollsim.engines.base import Case
from rollsim.motion.timeline import loading_at
from rollsim.ship.levers import Levers, metacentric_height
from rollsim.ship.metacentre import buoyancy, metacentre
from rollsim.ship.statics import RightingCurve
from rollsim.study.equilibrium import about_static_heel, angles, period
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
    found: Arrays = {
        name: values[which] for name, values in {**_given(alone), **angles(alone)}.items()
    }
    found |= {name: Shared(rows, which) for name, rows in curves(alone, plan.heel).items()}
    paths = {id(case.segments): case.segments for case in alone}
    path = {key: loading_at(plan.times, segments) for key, segments in paths.items()}
    for name, column in (("z", 1), ("y", 2)):
        rows = np.array([path[id(case.segments)][:, column] for case in alone])
        found[f"centre_of_gravity_{name}"] = Shared(rows, which)
    found |= about_static_heel(alone, which, plan.starts[list(cases), 0])
    found["condition"] = np.array([plan.cases[i].condition for i in cases])
    found["weather_digest"] = np.array([plan.weather[i] for i in cases])
    scenarios = [plan.study.cases[i].scenario for i in cases]
    found["displacement"] = np.array([scenario.ship.displacement_t for scenario in scenarios])
    return found | {"t": plan.times, "heel": plan.heel}


def _given(cases: Sequence[Case]) -> Arrays:
    """What the scenario gives, and what follows from it at once: m, s and degrees."""
    limits = np.array([case.limits for case in cases], dtype=np.float64)
    degrees = np.degrees(np.where(np.isfinite(limits), limits, math.nan))
    inertia = np.array([case.coefficients.inertia for case in cases])
    gm = np.array([metacentric_height(case.levers, case.gravity) for case in cases])
    relative = [case.coefficients.relative for case in cases]
    return {
        "gm": gm,
        "roll_period_upright": period(
            inertia, np.array([float(c.curve.slope(0.0)) for c in cases])
        ),
        "beam": np.array([case.beam for case in cases]),
        "draught": np.array([case.draught for case in cases]),
        "depth": np.array([case.depth for case in cases]),
        "gyradius": np.sqrt(inertia * GRAVITY),
        "excitation": np.where(relative, "relative", "absolute"),
        "roll_limit": degrees[:, 0],
        "flooding_limit": degrees[:, 1],
        "capsize_limit": degrees[:, 2],
    }


def curves(cases: Sequence[Case], heel: Floats) -> dict[str, Floats]:
    """The curves of cases at the heels [degree], (cases, heels): levers, paths of M and B in m.

    NaN where the levers are not known, and for B where the height of B is not.
    """
    phi = np.radians(heel)
    names = ("righting_lever", "steady_heeling_lever", *PATHS)
    found = {name: np.full((len(cases), heel.size), math.nan) for name in names}
    paths: dict[tuple[int, float | None], Floats] = {}
    for i, case in enumerate(cases):
        inside = (phi >= case.levers.heel_min - 1e-12) & (phi <= case.levers.heel_max + 1e-12)
        known = phi[inside]
        found["righting_lever"][i, inside] = RightingCurve(case.levers, case.gravity).value(known)
        found["steady_heeling_lever"][i, inside] = case.curve.heeling_lever(known)
        key = id(case.levers), case.kb
        if key not in paths:
            paths[key] = _paths(case.levers, case.kb, known)
        for name, values in zip(PATHS, paths[key], strict=True):
            found[name][i, inside] = values
    return found


PATHS = ("metacentre_y", "metacentre_z", "buoyancy_y", "buoyancy_z")


def _paths(levers: Levers, kb: float | None, phi: Floats) -> Floats:
    """M and B at the heels [rad], (4, n)."""
    none = np.full(phi.size, math.nan)
    b = (none, none) if kb is None else buoyancy(levers, phi, kb)
    return np.array([*metacentre(levers, phi), *b])
