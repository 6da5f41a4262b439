"""Where cases rest at t = 0: loll, vanishing angles and static heel, a hull's cases at once."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from rollsim.engines.base import Case
from rollsim.ship import rests as resting
from rollsim.ship.rests import Loadings

Floats = NDArray[np.float64]
Indices = NDArray[np.intp]


def angles(cases: Sequence[Case]) -> dict[str, Floats]:
    """Angles of loll and of vanishing stability of every case [degree], NaN where none."""
    names = ("loll_angle", "loll_angle_port")
    degrees = {name: np.full(len(cases), math.nan) for name in names}
    for members, loadings in by_hull(cases):
        none = np.zeros_like(loadings.kg)
        centred = Loadings(loadings.levers, loadings.law, loadings.kg, none, none, none)
        different, which = _different(centred)
        for name, values in zip(names, resting.loll_angles(resting.rests(different)), strict=True):
            degrees[name][members] = np.degrees(values[which])
    return degrees | vanishing_angles(cases)


def vanishing_angles(cases: Sequence[Case]) -> dict[str, Floats]:
    """Angles of vanishing stability of every case [degree], NaN where none."""
    names = ("vanishing_angle", "vanishing_angle_port")
    degrees = {name: np.full(len(cases), math.nan) for name in names}
    for members, loadings in by_hull(cases):
        none = np.zeros_like(loadings.kg)
        windless, which = _different(
            Loadings(loadings.levers, "constant", loadings.kg, loadings.off_centre, none, none)
        )
        ends = resting.vanishing_angles(resting.rests(windless))
        for name, values in zip(names, ends, strict=True):
            degrees[name][members] = np.degrees(values[which])
    return degrees


def static_heels(cases: Sequence[Case]) -> Floats:
    """The heel [rad] at which each case rests, downhill from upright; NaN where none."""
    upright = np.zeros(len(cases))
    heel = about_static_heel(cases, np.arange(len(cases)), upright)["static_heel"]
    return np.radians(heel)


def about_static_heel(cases: Sequence[Case], which: Indices, start: Floats) -> dict[str, Floats]:
    """Static heel [degree] and the period of small rolls about it [s], from every start [rad].

    `which` (n,) says of which of the cases each start is.
    """
    heel, slope = np.full(start.size, math.nan), np.full(start.size, math.nan)
    inertia = np.array([case.coefficients.inertia for case in cases])
    for members, loadings in by_hull(cases):
        loadings, row_of = _different(loadings)
        row_of_case = np.full(len(cases), -1)
        row_of_case[members] = row_of
        own = np.flatnonzero(row_of_case[which] >= 0)
        row = row_of_case[which[own]]
        at = resting.static_heels(loadings, resting.rests(loadings), row, start[own])
        heel[own] = at
        known = ~np.isnan(at)
        slope[own[known]] = loadings.at(row[known]).curves.slope(at[known])
    return {"static_heel": np.degrees(heel), "roll_period": period(inertia[which], slope)}


def period(inertia: Floats, slope: Floats) -> Floats:
    """Period [s] of small undamped rolls where the lever's slope is `slope` [m/rad], T² = 4π²I/s.

    NaN where nothing rights her; `inertia` is k²/g [m s²].
    """
    # A slope that is rounding of metres rights nothing.
    rights = slope > 1e-12
    return np.where(
        rights, 2.0 * math.pi * np.sqrt(inertia / np.where(rights, slope, 1.0)), math.nan
    )


def _different(loadings: Loadings) -> tuple[Loadings, Indices]:
    """The loadings that differ, and which of them each one is."""
    columns = (loadings.kg, loadings.off_centre, loadings.wind, loadings.lever)
    _, first, which = np.unique(
        np.column_stack(columns), axis=0, return_index=True, return_inverse=True
    )
    return loadings.at(first), which.reshape(-1)


def by_hull(cases: Sequence[Case]) -> list[tuple[Indices, Loadings]]:
    """The cases that share their levers and law of heel, as positions and loadings at t = 0."""
    groups: dict[tuple[int, str], list[int]] = {}
    for i, case in enumerate(cases):
        groups.setdefault((id(case.levers), case.heeling.law), []).append(i)
    hulls = []
    for members in groups.values():
        own = [cases[i] for i in members]
        columns = np.array(
            [
                (c.gravity.virtual_kg, c.gravity.off_centre, c.heeling.wind, c.heeling.lever)
                for c in own
            ]
        ).T
        loadings = Loadings(own[0].levers, own[0].heeling.law, *columns)
        hulls.append((np.array(members), loadings))
    return hulls
