"""Liquid in box tanks: exact at any filling and heel, against polygons cut at the surface."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.optimize import brentq

from rollsim.constants import GRAVITY
from rollsim.ship.lever_table import LIQUID_ERROR, tabulated
from rollsim.ship.levers import Gravity, Levers, metacentric_height, wall_sided
from rollsim.ship.liquid import LiquidLever
from rollsim.ship.righting import RightingCurve
from rollsim.ship.tanks.box import BoxTank, Settled, settled

Floats = NDArray[np.float64]

TANK = BoxTank(30.0, 42.0, -6.5, 6.5, 0.0, 1.2, density=1025.0)
SHIP = 4_250_000.0
HULL = wall_sided(5.66, 2.9, math.radians(60.0))


def cut(b: float, h: float, heel: float, level: float) -> Floats:
    """The part of a box about its middle below a level surface, as a polygon."""
    corners = np.array([(-b, -h), (b, -h), (b, h), (-b, h)]) / 2.0
    above = corners @ [-math.sin(heel), math.cos(heel)] - level
    points: list[Floats] = []
    for p, q, d, e in zip(corners, np.roll(corners, -1, 0), above, np.roll(above, -1), strict=True):
        points += [p] if d <= 0.0 else []
        points += [p + (q - p) * d / (d - e)] if d * e < 0.0 else []
    return np.array(points).reshape(-1, 2)


def centroid(polygon: Floats) -> tuple[float, Floats]:
    """Area and centroid of a polygon."""
    if len(polygon) < 3:
        return 0.0, np.zeros(2)
    after = np.roll(polygon, -1, 0)
    cross = polygon[:, 0] * after[:, 1] - after[:, 0] * polygon[:, 1]
    area = float(cross.sum()) / 2.0
    return area, (polygon + after).T @ cross / (6.0 * area)


@settings(max_examples=200, deadline=None, derandomize=True)
@given(
    st.floats(0.5, 15.0), st.floats(0.3, 9.0), st.floats(0.005, 0.995), st.floats(-math.pi, math.pi)
)
def test_the_liquid_of_a_box_is_that_of_a_polygon(
    b: float, h: float, filling: float, heel: float
) -> None:
    def over(level: float) -> float:
        return centroid(cut(b, h, heel, level))[0] - filling * b * h

    reach = math.hypot(b, h)
    expected = centroid(cut(b, h, heel, brentq(over, -reach, reach, xtol=1e-14)))[1]
    at = settled(b, h, filling, heel)
    assert [float(at.y), float(at.z)] == pytest.approx(expected, abs=1e-9)


def test_the_wedge_formula_holds_until_a_corner_dries() -> None:
    # b² / 12 h · sin φ (1 + ½ tan² φ), b 8 and h 2.5 m (derived, dynamics page of the reference)
    degrees = [5.0, 15.0, 25.0, 30.0]
    heel = np.radians(degrees)
    at = settled(8.0, 5.0, 0.5, heel)
    shift = at.y * np.cos(heel) + (at.z + 1.25) * np.sin(heel)
    assert shift == pytest.approx([0.186644, 0.571968, 0.999607, 1.244444], abs=6e-7)
    assert settled(8.0, 5.0, 0.5, math.radians(40.0)).y < 64.0 / 30.0 * math.tan(math.radians(40.0))


def test_on_her_beam_ends_and_upside_down() -> None:
    at = settled(6.0, 2.0, 0.25, [0.5 * math.pi, math.pi, -0.5 * math.pi])
    assert at.y == pytest.approx([2.25, 0.0, -2.25], abs=1e-12)
    assert at.z == pytest.approx([0.0, 0.75, 0.0], abs=1e-12)


@pytest.mark.parametrize(("filling", "z"), [(0.0, -1.0), (1.0, 0.0)])
def test_nothing_moves_in_a_full_or_an_empty_tank(filling: float, z: float) -> None:
    at = settled(6.0, 2.0, filling, np.linspace(-3.0, 3.0, 13))
    still = Settled(np.zeros(13), np.full(13, z), np.zeros(13), np.zeros(13))
    for values, expected in zip(at, still, strict=True):
        np.testing.assert_array_equal(values, expected)


def lever(*fillings: float, tank: BoxTank = TANK) -> LiquidLever:
    return LiquidLever.of([tank] * len(fillings), fillings, SHIP)


@pytest.mark.parametrize("divisions", [1, 2, 3, 4])
def test_divisions_lessen_the_free_surface_by_their_square(divisions: int) -> None:
    parted = replace(TANK, divisions=divisions)
    whole = TANK.free_surface_moment(0.4)
    assert whole == pytest.approx(1025.0 * 12.0 * 13.0**3 / 12.0)
    assert parted.free_surface_moment(0.4) == pytest.approx(whole / divisions**2)
    assert lever(0.4, tank=parted).rise == pytest.approx(whole / divisions**2 / SHIP)
    assert parted.capacity == TANK.capacity


@pytest.mark.parametrize("filling", [0.0, 1.0])
def test_a_tank_that_is_not_slack_has_no_free_surface(filling: float) -> None:
    assert TANK.free_surface_moment(filling) == 0.0
    assert lever(filling).rise == 0.0
    assert lever(filling).value(np.array([-0.5, 0.0, 0.5])) == pytest.approx(0.0, abs=1e-17)
    assert math.isnan(TANK.slosh_period(filling))


def test_slope_curvature_and_integral_are_those_of_the_value() -> None:
    liquid = LiquidLever.of([TANK, BoxTank(0, 9, 0, 3, 2, 6, density=1000.0)], [0.4, 0.7], SHIP)
    heel = np.linspace(-3.0, 3.0, 1001)
    heel = heel[np.min(np.abs(heel[:, None] - liquid.kinks), axis=1) > 1e-4]
    step = 1e-6

    def rate(values: Floats, before: Floats) -> Floats:
        return (values - before) / (2.0 * step)

    up, down = heel + step, heel - step
    assert rate(liquid.value(up), liquid.value(down)) == pytest.approx(liquid.slope(heel), abs=1e-8)
    assert rate(liquid.slope(up), liquid.slope(down)) == pytest.approx(
        liquid.curvature(heel), abs=1e-7
    )
    assert rate(liquid.integral(up), liquid.integral(down)) == pytest.approx(
        liquid.value(heel), abs=1e-8
    )
    none = np.zeros(1)
    for each in (liquid.value, liquid.slope, liquid.integral):
        assert each(none) == pytest.approx(0.0, abs=1e-15)


def with_liquid(*fillings: float) -> Levers:
    return replace(HULL, liquid=lever(*fillings))


def test_gm_keeps_the_moment_and_the_lever_takes_the_true_shift() -> None:
    levers = with_liquid(0.4)
    assert levers.liquid is not None
    g = Gravity(5.3, 0.0, levers.liquid.rise)
    assert metacentric_height(levers, g) == metacentric_height(HULL, g)
    heel = np.radians([10.0, 20.0, 40.0])
    at = settled(13.0, 1.2, 0.4, heel)
    moved = at.y * np.cos(heel) + (at.z + 0.36) * np.sin(heel)
    true = HULL.kn(heel) - 5.3 * np.sin(heel) - 0.4 * TANK.capacity / SHIP * moved
    assert RightingCurve(levers, g).value(heel) == pytest.approx(true, abs=1e-12)


def test_at_small_angles_liquid_and_moment_are_one_lever() -> None:
    levers = with_liquid(0.6)
    assert levers.liquid is not None
    rise = levers.liquid.rise
    moving = RightingCurve(levers, Gravity(5.3, 0.0, rise))
    fixed = RightingCurve(HULL, Gravity(5.3, 0.0, rise))
    heel = np.array([1e-4, 1e-3])
    assert moving.value(heel) == pytest.approx(fixed.value(heel), rel=1e-5)


def test_a_thin_layer_runs_to_the_side_and_then_moves_no_further() -> None:
    liquid = lever(0.02)
    heel = np.radians([5.0, 10.0, 20.0])
    taken = liquid.rise * np.sin(heel) - liquid.value(heel)
    most = 0.02 * TANK.capacity / SHIP * 6.5
    assert np.all((taken > 0.5 * most) & (taken < most))
    assert np.all(taken < 0.5 * liquid.rise * np.sin(heel))


def test_the_table_holds_the_lever_with_its_liquid() -> None:
    levers = with_liquid(0.4, 0.9)
    table = tabulated(levers)
    heel = table.heel[:-1] + 0.5 * table.step
    rows, step = table.kn[0], table.step
    value = 0.5 * (rows[:-1, 0] + rows[1:, 0]) + 5.0 / 32.0 * step * (rows[:-1, 1] - rows[1:, 1])
    value += step**2 / 64.0 * (rows[:-1, 2] + rows[1:, 2])
    assert np.max(np.abs(value - levers.kn(heel))) <= LIQUID_ERROR
    assert levers.hull.liquid is None


def test_the_slosh_period_is_that_of_shallow_water_for_a_thin_layer() -> None:
    depth = 0.01 * TANK.height
    shallow = 2.0 * TANK.breadth / math.sqrt(GRAVITY * depth)
    assert TANK.slosh_period(0.01) == pytest.approx(shallow, rel=1e-5)
    # b 8, h 2.5 m: 3.687 s (derived, dynamics page of the reference)
    assert BoxTank(0, 1, -4, 4, 0, 5, density=1000.0).slosh_period(0.5) == pytest.approx(
        3.687, abs=1e-3
    )
