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
from rollsim.motion.timeline import END, FILLING, FREE_SURFACE, START, loading_at
from rollsim.scenario.schema import Scenario
from rollsim.ship.levers import Levers, metacentric_height
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
    rises = any(_rises(case) for case in alone)
    for name, column in (PATH_OF_G | (RISE if rises else {})).items():
        variables[name] = Shared(partial(_path, column, alone, plan.times), which, plan.times.size)
    variables |= _sections(alone, plan.heel, which)
    variables |= {name: rows[which] for name, rows in _filled(alone, plan.heel).items()}
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
    # Of a limit that differs by side the lesser is told; a side without openings has none.
    limits[:, 1] = np.minimum(limits[:, 1], limits[:, 1] / limits[:, 3])
    degrees = np.degrees(np.where(np.isfinite(limits), limits, math.nan))
    inertia = np.array([case.coefficients.inertia for case in cases])
    gm = np.array([metacentric_height(case.levers, case.gravity) for case in cases])
    relative = [case.coefficients.relative for case in cases]
    return {
        "gm": gm,
        "roll_period_upright": period(inertia, gm),
        "encounter_period": np.array([case.storm.encounter_period for case in cases]),
        "beam": np.array([case.beam for case in cases]),
        "draught": np.array([case.draught for case in cases]),
        "depth": np.array([case.depth for case in cases]),
        "gyradius": np.sqrt(inertia * GRAVITY),
        "excitation": np.where(relative, "relative", "absolute"),
        "roll_limit": degrees[:, 0],
        "flooding_limit": degrees[:, 1],
        "capsize_limit": degrees[:, 2],
    }


def _sections(cases: Sequence[Case], heel: Floats, which: Indices) -> Arrays:
    """Midship sections and the water at them; nothing where no hull tells them.

    Outlines are closed, the shorter ones filled up with NaN.
    """
    longest = max((len(c.midship.outline) for c in cases if c.midship is not None), default=0)
    if not longest:
        return {}
    outlines = np.full((len(cases), longest + 1, 2), math.nan)
    levels = np.full((len(cases), heel.size), math.nan)
    for case, outline, level in zip(cases, outlines, levels, strict=True):
        if case.midship is not None:
            own = case.midship
            closed = np.concatenate((own.outline, own.outline[:1]))
            outline[: len(closed)] = closed
            sides = np.radians(heel)
            if own.heel[0] == 0.0:  # alike on both sides
                sides = np.abs(sides)
            level[:] = np.interp(sides, own.heel, own.level, math.nan, math.nan)
    return {
        "section_y": outlines[which, :, 0],
        "section_z": outlines[which, :, 1],
        "water_level": levels[which],
    }


CURVES = (
    *("righting_lever", "steady_heeling_lever"),
    *("metacentre_y", "metacentre_z", "buoyancy_y", "buoyancy_z"),
)
PATH_OF_G = {"centre_of_gravity_z": 1, "centre_of_gravity_y": 2}
RISE = {"free_surface_rise": 4}
"""The paths of G by their columns in a loading, and its rise where that changes in time."""


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
            kbs = [wanted[i].kb for i in members]
            of_kb = {kb: _of_form(name, levers.hull, kb, known) for kb in set(kbs)}
            rows = np.array([of_kb[kb] for kb in kbs])
        curve[np.ix_(members, np.flatnonzero(inside))] = rows
    return curve


def _of_form(name: str, hull: Levers, kb: float | None, phi: Floats) -> Floats:
    """A coordinate of M or B at the heels [rad], of a hull with B upright at `kb` [m]."""
    axis = name.endswith("_z")
    if name.startswith("metacentre"):
        return metacentre(hull, phi)[axis]
    if kb is None:
        return np.full(phi.size, math.nan)
    return buoyancy(hull, phi, kb)[axis]


MOST_FILLED = 80
"""Levers of tanks that fill that a result holds of a case."""


def _filled(cases: Sequence[Case], heel: Floats) -> Arrays:
    """Times [s], and there what liquid adds to the lever over the heels [degree], where any does.

    NaN behind the last, for cases without, and where the levers are not known.
    """
    if not any(case.filling for case in cases):
        return {}
    nodes = [_nodes(case) for case in cases]
    most, phi = max(len(each) for each in nodes), np.radians(heel)
    times = np.full((len(cases), most), math.nan)
    levers = np.full((len(cases), most, heel.size), math.nan)
    for i, (case, each) in enumerate(zip(cases, nodes, strict=True)):
        if case.filling is None:
            continue
        inside = (phi >= case.levers.heel_min - 1e-12) & (phi <= case.levers.heel_max + 1e-12)
        at = each[:, 1, None]
        times[i, : len(each)] = each[:, 0]
        levers[i, : len(each), inside] = case.filling.between("value", at, phi[inside]).T
    return {"filling_time": times, "filled_lever": levers}


def _nodes(case: Case) -> Floats:
    """Times [s] and coordinates of tanks that fill, (n, 2), thinned but for sudden changes."""
    if case.filling is None:
        return np.zeros((0, 2))
    start, end = case.segments[:, START], case.segments[:, END]
    at, rate = case.segments[:, FILLING], case.segments[:, FILLING + 1]
    ends = np.stack([np.stack([start, at]), np.stack([end, at + rate * (end - start)])])
    nodes = ends.transpose(2, 0, 1).reshape(-1, 2)
    same = np.all(np.abs(np.diff(nodes, axis=0)) < 1e-9, axis=1)
    nodes = nodes[np.append(True, ~same)]
    sudden = np.diff(nodes[:, 0]) < 1e-9
    keep = np.append(False, sudden) | np.append(sudden, False)
    keep[np.linspace(0, len(nodes) - 1, min(len(nodes), MOST_FILLED)).astype(int)] = True
    return np.asarray(nodes[keep])


def _rises(case: Case) -> bool:
    """Whether the rise of G by free surfaces changes in time."""
    rise = case.segments[:, FREE_SURFACE]
    return bool(np.any(rise != rise[0]) or np.any(case.segments[:, FREE_SURFACE + 1]))


def _path(column: int, cases: Sequence[Case], times: Floats, which: Indices) -> Floats:
    """A coordinate of G of some cases at the times [s], in ship axes, without free surfaces."""
    segments = {id(cases[i].segments): cases[i].segments for i in which}
    paths = {key: loading_at(times, each)[:, column] for key, each in segments.items()}
    return np.array([paths[id(cases[i].segments)] for i in which])
