"""A case at rest: its numbers and curves for the result, and the static picture of a study."""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from rollsim.constants import GRAVITY
from rollsim.engines.base import Case
from rollsim.names import COORDINATES, VARIABLES
from rollsim.ship.levers import metacentric_height
from rollsim.ship.metacentre import buoyancy, metacentre
from rollsim.ship.righting import RightingCurve
from rollsim.ship.statics import (
    equilibria,
    greatest_lever,
    loll_angles,
    static_heel,
    vanishing_angles,
)
from rollsim.study.plan import Plan

if TYPE_CHECKING:
    import xarray as xr

Floats = NDArray[np.float64]

StaticRow = tuple[str, str, list[float]]
"""Name, unit, one value a case."""


def static_dataset(plan: Plan) -> xr.Dataset:
    """All variables of a result that need no run, labelled as in the file."""
    import xarray as xr

    rows = [{**statics(case), **curves(case, plan.heel)} for case in plan.cases]
    data = {
        name: (VARIABLES[name].dims, np.array([row[name] for row in rows]), _attributes(name))
        for name in rows[0]
    }
    for name, place in (("y", "off_centre"), ("z", "kg")):
        places = np.array([[getattr(case.gravity, place)] for case in plan.cases])
        data[f"centre_of_gravity_{name}"] = (("case", "t"), places, {"units": "m"})
    coordinates = {
        "t": ("t", np.zeros(1), {"units": "s"}),
        "heel": ("heel", plan.heel, {"units": COORDINATES["heel"].units}),
        "condition": ("case", np.array([case.condition for case in plan.cases])),
    }
    for axis in plan.study.axes:
        values = np.array([case.coordinates[axis.name] for case in plan.cases])
        coordinates[axis.name] = ("case", values, {"units": axis.units})
    title = plan.study.base.title or Path(plan.study.file).stem
    return xr.Dataset(data, coordinates, {"title": title})


def _attributes(name: str) -> dict[str, str]:
    return {"units": VARIABLES[name].units, "long_name": VARIABLES[name].long_name}


def static_rows(cases: tuple[Case, ...]) -> list[StaticRow]:
    """The rows of the stability table, without wind but for the static heel."""
    columns = [_column(case) for case in cases]
    return [(name, unit, [column[name, unit] for column in columns]) for name, unit in columns[0]]


def _column(case: Case) -> dict[tuple[str, str], float]:
    rest = statics(case)
    curve = RightingCurve(case.levers, case.gravity)
    heel, lever = greatest_lever(curve)
    vanishing = rest["vanishing_angle"]
    assert isinstance(vanishing, float)
    to_end = case.levers.heel_max if math.isnan(vanishing) else math.radians(vanishing)
    found: dict[tuple[str, str], float] = {
        ("GM", "m"): float(rest["gm"]),
        ("angle of loll, starboard", "°"): float(rest["loll_angle"]),
        ("angle of loll, port", "°"): float(rest["loll_angle_port"]),
        ("static heel under mean wind", "°"): float(rest["static_heel"]),
        ("vanishing angle, starboard", "°"): vanishing,
        ("vanishing angle, port", "°"): float(rest["vanishing_angle_port"]),
        ("greatest GZ", "m"): lever,
        ("heel of greatest GZ", "°"): math.degrees(heel),
    }
    for low, high in ((0.0, 30.0), (0.0, 40.0), (30.0, 40.0)):
        found[f"area under GZ, {low:.0f}° to {high:.0f}°", "m rad"] = _area(curve, low, high)
    found["area under GZ to the vanishing angle, or the end", "m rad"] = curve.area(0.0, to_end)
    return found


def _area(curve: RightingCurve, low: float, high: float) -> float:
    """Area between two heels [degree], NaN where the levers end before."""
    if math.radians(high) > curve.levers.heel_max + 1e-12:
        return math.nan
    return curve.area(math.radians(low), math.radians(high))


def equilibrium_lines(cases: tuple[Case, ...], labels: list[str]) -> list[str]:
    """One line a case: every heel at which she can rest under mean wind, and its kind."""
    lines = []
    for case, label in zip(cases, labels, strict=True):
        found = [f"{math.degrees(e.heel):+.2f}° {e.kind}" for e in equilibria(case.curve)]
        lines.append(f"{label}: {', '.join(found) or 'none'}")
    return lines


def statics(case: Case) -> dict[str, float | str]:
    """The numbers of a case at rest, at t = 0 before events: m and degrees, NaN where none."""
    starboard, port = loll_angles(case.levers, case.gravity)
    vanishing, vanishing_port = vanishing_angles(case.levers, case.gravity)
    gm = metacentric_height(case.levers, case.gravity)
    loll = gm < 0.0
    return {
        "gm": gm,
        "loll_angle": math.degrees(starboard) if loll else math.nan,
        "loll_angle_port": math.degrees(port) if loll else math.nan,
        "vanishing_angle": math.degrees(vanishing),
        "vanishing_angle_port": math.degrees(vanishing_port),
        "static_heel": math.degrees(static_heel(case.curve, case.start[0])),
        "beam": case.beam,
        "draught": case.draught,
        "depth": case.depth,
        "gyradius": math.sqrt(case.coefficients.inertia * GRAVITY),
        "excitation": "relative" if case.coefficients.relative else "absolute",
        "roll_limit": _degrees(case.limits.roll),
        "flooding_limit": _degrees(case.limits.flooding),
        "capsize_limit": _degrees(case.limits.capsize),
    }


def curves(case: Case, heel: Floats) -> dict[str, Floats]:
    """The curves of a case at the heels [degree]: levers and paths of M and B in metres.

    NaN where the levers are not known, and for B where the height of B is not.
    """
    phi = np.radians(heel)
    inside = (phi >= case.levers.heel_min - 1e-12) & (phi <= case.levers.heel_max + 1e-12)
    known = phi[inside]
    gravity_alone = RightingCurve(case.levers, case.gravity)
    m = metacentre(case.levers, known)
    b = (
        buoyancy(case.levers, known, case.kb)
        if case.kb is not None
        else (np.full(known.size, math.nan),) * 2
    )
    found = {
        "righting_lever": gravity_alone.value(known),
        "steady_heeling_lever": case.curve.heeling_lever(known),
        "metacentre_y": m[0],
        "metacentre_z": m[1],
        "buoyancy_y": b[0],
        "buoyancy_z": b[1],
    }
    result = {}
    for name, values in found.items():
        result[name] = np.full(heel.size, math.nan)
        result[name][inside] = values
    return result


def _degrees(limit: float) -> float:
    return math.degrees(limit) if math.isfinite(limit) else math.nan
