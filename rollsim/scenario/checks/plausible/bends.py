"""Whether the levers' curve bends where its table does not, with all rounding allowed for.

The curve and the table's second differences are linear in the rows and in the slope at 0, so that
half a place of each moves them by a sum that can be had; what lies within it is no bend.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from rollsim.scenario.schema.levers import GzLevers, KnLevers, levers_of
from rollsim.ship.levers import Levers, from_kn_table

Floats = NDArray[np.float64]

COMBS = 8
"""A row's part in the curvature falls to a quarter from row to row, and so does not reach the
next but seven: rows so far apart are tried together."""


@dataclass(frozen=True)
class Bend:
    """Where a curve bends: heel [degree], and the nearest row but upright, counted from 0."""

    heel_deg: float
    row: int


def table_resolution(values: tuple[float, ...]) -> float:
    """The last decimal place [m] to which a table is written."""
    decimals = max(len(f"{value!r}".partition(".")[2].rstrip("0")) for value in values)
    return math.pow(10.0, -min(decimals, 12))


def slope_resolution(slope: float) -> float:
    """The last decimal place [m] of KM or GM; a round value such as 6.0 is meant to a decimetre."""
    return min(0.1, table_resolution((slope,)))


@lru_cache(maxsize=64)
def extra_bend(levers: KnLevers | GzLevers) -> Bend | None:
    """The first bend of the curve that no row shows, None where every bend is the table's."""
    heel = np.radians(levers.heel_deg)
    values, slope = _values(levers)
    resolution = table_resolution(values)
    knots = _knots(levers.heel_deg, slope is not None)
    curvature = _curvature(levers_of(levers), knots)
    by_rows, by_slope = _responses(levers.heel_deg, slope is not None)
    noise = 0.5 * resolution * by_rows
    if slope is not None:
        noise = noise + 0.5 * slope_resolution(slope) * by_slope
    differences, noise_of_rows = _second_differences(levers, resolution)
    for first, last in _runs(np.where(np.abs(curvature) > noise, np.sign(curvature), 0.0)):
        after = int(np.searchsorted(heel, knots[last]))
        near = slice(max(0, int(np.searchsorted(heel, knots[first], "right")) - 1), after + 1)
        # A row that may lie either way within its rounding speaks against no bend.
        if np.any(np.sign(curvature[first]) * differences[near] > -noise_of_rows[near]):
            continue
        most = first + int(np.argmax(np.abs(curvature[first : last + 1])))
        distance = np.where(heel == 0.0, np.inf, np.abs(heel - knots[most]))
        return Bend(math.degrees(knots[most]), int(np.argmin(distance)))
    return None


def gm_uncertainty(levers: KnLevers | GzLevers) -> tuple[float, float]:
    """The last place of a table [m], and by how much rounding to it can move the slope at 0 [m]."""
    resolution = table_resolution(_values(levers)[0])
    return resolution, 0.5 * resolution * _slope_sensitivity(levers.heel_deg)


def _values(levers: KnLevers | GzLevers) -> tuple[tuple[float, ...], float | None]:
    """The rows [m] of a table and its slope at 0 [m], both as they are written."""
    if isinstance(levers, KnLevers):
        return levers.kn_m, levers.km_m
    return levers.gz_m, levers.gm_m


def _combs(size: int) -> Floats:
    """Tables of 0 with a metre in every eighth row, each row once: shape (combs, size)."""
    return np.array([np.arange(size) % COMBS == comb for comb in range(COMBS)], dtype=np.float64)


@lru_cache(maxsize=64)
def _slope_sensitivity(heel_deg: tuple[float, ...]) -> float:
    """What a metre in every row, each the worse way, makes of the slope at 0 [m]."""
    heel = np.radians(heel_deg)
    slopes = [from_kn_table(heel, comb).slope(0.0) for comb in _combs(heel.size)]
    return float(np.sum(np.abs(slopes)))


def _knots(heel_deg: tuple[float, ...], with_slope: bool) -> Floats:
    """The heels [rad] between which the curvature runs straight; of a mirrored table one side.

    A slope at 0 that is given brings a knot half-way into the first interval of either side.
    """
    heel = np.radians(heel_deg)
    zero = int(np.searchsorted(heel, 0.0))
    halves = [0.5 * heel[zero + 1]] + ([0.5 * heel[zero - 1]] if zero else [])
    return np.sort(np.concatenate((heel, halves))) if with_slope else heel


def _curvature(levers: Levers, knots: Floats) -> Floats:
    """d²KN/dφ² [m/rad²] at the knots, from the slope, which is a parabola between them."""
    steps = np.diff(knots)
    middle = levers.slope(knots[:-1] + 0.5 * steps)
    slope = levers.slope(knots)
    rising = (4.0 * middle - 3.0 * slope[:-1] - slope[1:]) / steps
    end = (3.0 * slope[-1] - 4.0 * middle[-1] + slope[-2]) / steps[-1]
    return np.append(rising, end)


@lru_cache(maxsize=64)
def _responses(heel_deg: tuple[float, ...], with_slope: bool) -> tuple[Floats, Floats]:
    """What a metre in every row, each the worse way, and in the slope at 0 makes of the curvature.

    Both [1/rad²] at the knots.
    """
    heel, knots = np.radians(heel_deg), _knots(heel_deg, with_slope)
    flat = 0.0 if with_slope else None
    by_rows = np.zeros(knots.size)
    for comb in _combs(heel.size):
        by_rows += np.abs(_curvature(from_kn_table(heel, comb, flat), knots))
    if not with_slope:
        return by_rows, np.zeros(knots.size)
    return by_rows, np.abs(_curvature(from_kn_table(heel, np.zeros(heel.size), 1.0), knots))


def _second_differences(levers: KnLevers | GzLevers, resolution: float) -> tuple[Floats, Floats]:
    """Second differences of KN at the rows [m/rad²], and what rounding can make of them.

    At the ends, and upright of a mirrored table, they are not known: 0.
    """
    x = np.radians(levers.heel_deg)
    kn = np.array(_values(levers)[0])
    if isinstance(levers, GzLevers):
        kn = kn + levers.kg_m * np.sin(x)
    step = np.diff(x)
    before, after = step[:-1], step[1:]
    scale = 2.0 / (before + after)
    inner = scale * (np.diff(kn)[1:] / after - np.diff(kn)[:-1] / before)
    noise = resolution * scale * (1.0 / before + 1.0 / after)
    return np.pad(inner, 1), np.pad(noise, 1)


def _runs(signs: Floats) -> list[tuple[int, int]]:
    """First and last position of every run of one sign, what is 0 passed over."""
    runs: list[tuple[int, int]] = []
    for position in np.flatnonzero(signs):
        if runs and signs[runs[-1][0]] == signs[position]:
            runs[-1] = (runs[-1][0], int(position))
        else:
            runs.append((int(position), int(position)))
    return runs
