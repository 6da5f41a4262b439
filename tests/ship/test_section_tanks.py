"""Tanks by sections: boxes to the last digits, closed forms of wedge and cylinder, any polygon."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from rollsim.ship.hull.form import Station, from_outline
from rollsim.ship.liquid import LiquidLever
from rollsim.ship.tanks.box import BoxTank
from rollsim.ship.tanks.sections import SectionTank

Floats = NDArray[np.float64]
Points = Sequence[tuple[float, float]]

SHIP = 4_250_000.0
BOX = BoxTank(30.0, 42.0, -2.5, 6.5, 0.2, 1.4, density=1025.0, permeability=0.97)
CORNERS = [(-2.5, 0.2), (6.5, 0.2), (6.5, 1.4), (-2.5, 1.4)]


def prism(outline: Points, divisions: int = 1, length: float = 10.0) -> SectionTank:
    stations = from_outline(30.0, outline), from_outline(30.0 + length, outline)
    return SectionTank(stations, 1000.0, divisions=divisions)


def boxed(divisions: int) -> SectionTank:
    stations = tuple(from_outline(along, CORNERS) for along in (30.0, 33.5, 42.0))
    return SectionTank(stations, 1025.0, 0.97, divisions)


@pytest.mark.parametrize("divisions", [1, 2, 3])
@pytest.mark.parametrize("filling", [0.0, 0.005, 0.4, 0.5, 0.97, 1.0])
def test_a_box_by_sections_is_the_box(divisions: int, filling: float) -> None:
    box = BoxTank(*(30.0, 42.0, -2.5, 6.5, 0.2, 1.4), 1025.0, 0.97, divisions)
    tank = boxed(divisions)
    assert tank.capacity == pytest.approx(box.capacity, rel=1e-12)
    assert tank.centroid(filling) == pytest.approx(box.centroid(filling), abs=1e-9)
    moments = [each.free_surface_moment(filling) for each in (tank, box)]
    assert moments[0] == pytest.approx(moments[1], rel=1e-12)
    periods = [each.slosh_period(filling) for each in (tank, box)]
    assert periods[0] == pytest.approx(periods[1], rel=1e-9, nan_ok=True)
    if filling > 0.0:
        assert tank.own_square(filling) == pytest.approx(box.own_square(filling), rel=1e-9)
    height = tank.surface_height(filling)
    assert height == pytest.approx(box.surface_height(filling), abs=1e-12)
    assert tank.volume_to(height) == pytest.approx(filling * box.volume, abs=1e-9)
    assert tank.surface_area(0.7) == pytest.approx(box.surface_area(0.7), rel=1e-12)
    heel = np.linspace(-3.1, 3.1, 63)
    for one, other in zip(*(LiquidLever.of([each], [filling], SHIP).numbers(heel)
                            for each in (tank, box)), strict=True):  # fmt: skip
        assert one == pytest.approx(other, abs=1e-9)


def test_the_surface_of_a_wedge_with_its_apex_down() -> None:
    # Of breadth b and height h, filled to d: surface b d/h, centroid 2/3 d, share (d/h)²
    b, h, length = 6.0, 4.0, 10.0
    tank = prism([(0.0, 1.0), (b / 2.0, 1.0 + h), (-b / 2.0, 1.0 + h)], length=length)
    for part in (0.01, 0.25, 0.81):
        depth = math.sqrt(part) * h
        assert tank.surface_height(part) == pytest.approx(1.0 + depth, abs=1e-12)
        assert tank.centroid(part).height == pytest.approx(1.0 + 2.0 / 3.0 * depth, abs=1e-12)
        moment = 1000.0 * length * (b * depth / h) ** 3 / 12.0
        assert tank.free_surface_moment(part) == pytest.approx(moment, rel=1e-12)


def test_a_level_in_a_heeled_wedge_cuts_off_a_triangle() -> None:
    # The liquid is a triangle of half angle a at the apex between lines at a ± φ from the vertical;
    # its area fixes the depth: A = d² (tan(a + φ) + tan(a − φ)) / 2.
    half, phi = math.radians(50.0), math.radians(15.0)
    wide = 4.0 * math.tan(half)
    tank = prism([(0.0, 0.0), (wide, 4.0), (-wide, 4.0)])
    part = 0.2
    area = part * 4.0 * wide
    left, right = math.tan(half - phi), math.tan(half + phi)
    depth = math.sqrt(2.0 * area / (left + right))
    # To starboard down, the starboard side lies flatter: its corner is farther off.
    across, up = depth * (right - left) / 3.0, 2.0 / 3.0 * depth
    upright = 2.0 / 3.0 * math.sqrt(part) * 4.0
    lever = LiquidLever.of([tank], [part], SHIP)
    taken = lever.rise * math.sin(phi) - float(lever.value(np.array(phi)))
    share = part * tank.capacity / SHIP
    assert taken == pytest.approx(share * (across - upright * math.sin(phi)), abs=1e-14)
    sunk = float(lever.integral(np.array(phi))) - lever.rise * (1.0 - math.cos(phi))
    assert sunk == pytest.approx(share * (up - upright * math.cos(phi)), abs=1e-14)


@pytest.mark.parametrize("filling", [0.03, 0.3, 0.5, 0.9])
def test_liquid_in_a_cylinder_is_a_mass_hung_at_its_middle(filling: float) -> None:
    # Turned about its middle the form stays, so the centroid stays below it: lever m c sin φ / Δ.
    corners, middle = 720, 3.0
    turn = 2.0 * math.pi * np.arange(corners) / corners
    tank = prism([(2.0 * math.sin(t), middle - 2.0 * math.cos(t)) for t in turn])
    lever = LiquidLever.of([tank], [filling], SHIP)
    hung = filling * tank.capacity / SHIP * (middle - tank.centroid(filling).height)
    heel = np.linspace(-3.0, 3.0, 25)
    assert lever.rise == pytest.approx(hung, rel=1e-4)
    assert lever.rise * np.sin(heel) - lever.value(heel) == pytest.approx(
        hung * np.sin(heel), abs=1e-4 * hung
    )
    exact = 2.0 * turn[1] / corners  # at whole sides the polygon is the same again
    assert exact > 0.0
    sides = turn[[1, 90, 200]]
    assert lever.rise * np.sin(sides) - lever.value(sides) == pytest.approx(
        hung * np.sin(sides), abs=1e-13
    )


@st.composite
def polygons(draw: st.DrawFn) -> list[tuple[float, float]]:
    """Star-shaped outlines anywhere."""
    n = draw(st.integers(3, 9))
    reach = draw(st.lists(st.floats(0.3, 4.0), min_size=n, max_size=n))
    at = draw(st.tuples(st.floats(-5.0, 5.0), st.floats(4.0, 8.0)))
    turn = draw(st.floats(0.0, 6.0))
    angles = [turn + 2.0 * math.pi * i / n for i in range(n)]
    return [(at[0] + r * math.cos(a), at[1] + r * math.sin(a))
            for r, a in zip(reach, angles, strict=True)]  # fmt: skip


@settings(max_examples=60, deadline=None, derandomize=True)
@given(polygons(), polygons(), st.floats(0.02, 0.98), st.integers(1, 3))
def test_the_moment_is_the_slope_of_the_lever_and_all_numbers_agree(
    aft: Points, fore: Points, filling: float, divisions: int
) -> None:
    stations = tuple(from_outline(x, p) for x, p in ((0.0, aft), (7.0, fore)))
    tank = SectionTank(stations, 1000.0, divisions=divisions)
    lever = LiquidLever.of([tank], [filling], 1e6)
    assert sum(tank.contents(filling).mass) == pytest.approx(filling * tank.capacity, rel=1e-9)
    assert lever.rise == pytest.approx(tank.free_surface_moment(filling) / 1e6)
    zero = np.zeros(1)
    scale = tank.capacity / 1e6
    for each in (lever.value, lever.slope, lever.integral):
        assert each(zero) == pytest.approx(0.0, abs=1e-9 * scale)
    heel, step = np.linspace(-2.9, 2.9, 41), 1e-5
    up, down = heel + step, heel - step
    rates = [(each(up) - each(down)) / (2.0 * step)
             for each in (lever.integral, lever.value, lever.slope)]  # fmt: skip
    wanted = lever.value(heel), lever.slope(heel), lever.curvature(heel)
    assert rates[0] == pytest.approx(wanted[0], abs=1e-6 * scale)
    # A corner may lie within a step: there the slope has a corner and the curvature jumps.
    for got, expected in zip(rates[1:], wanted[1:], strict=True):
        off = np.abs(got - expected) / (scale + np.abs(expected))
        assert np.count_nonzero(off > 1e-3) <= 3


@settings(max_examples=60, deadline=None, derandomize=True)
@given(polygons(), st.floats(1e-6, 1.0), st.integers(2, 5))
def test_bulkheads_part_a_tank_and_change_nothing_upright(
    outline: Points, filling: float, divisions: int
) -> None:
    whole, parted = prism(outline), prism(outline, divisions)
    assert parted.capacity == pytest.approx(whole.capacity, rel=1e-9)
    held = parted.contents(filling)
    assert np.sum(held.mass) == pytest.approx(filling * whole.capacity, rel=1e-9, abs=1e-6)
    assert np.all((held.filling >= 0.0) & (held.filling <= 1.0 + 1e-12))
    undivided = whole.free_surface_moment(filling)
    assert parted.free_surface_moment(filling) <= undivided * (1.0 + 1e-9) + 1e-6


def test_a_cell_may_be_full_while_its_neighbour_is_slack() -> None:
    # An L of two squares at one level of the bottom, the port one half as high.
    outline = [(-2.0, 0.0), (2.0, 0.0), (2.0, 2.0), (0.0, 2.0), (0.0, 1.0), (-2.0, 1.0)]
    tank = prism(outline, 2)
    held = tank.contents(5.0 / 6.0)
    assert held.filling == pytest.approx([1.0, 0.75])
    assert held.moment == pytest.approx([0.0, 1000.0 * 10.0 * 2.0**3 / 12.0])
    lever = LiquidLever.of([tank], [5.0 / 6.0], SHIP)
    box = BoxTank(30.0, 40.0, 0.0, 2.0, 0.0, 2.0, density=1000.0)
    heel = np.linspace(-1.5, 1.5, 31)
    assert lever.value(heel) == pytest.approx(
        LiquidLever.of([box], [0.75], SHIP).value(heel), abs=1e-12
    )


def test_volumes_and_centroids_along_are_joined_linearly() -> None:
    small = [(-1.0, 0.0), (1.0, 0.0), (1.0, 1.0), (-1.0, 1.0)]
    big = [(-2.0, 0.0), (2.0, 0.0), (2.0, 2.0), (-2.0, 2.0)]
    tank = SectionTank((from_outline(0.0, small), from_outline(3.0, big)), 1000.0)
    assert tank.volume == pytest.approx(3.0 * (2.0 + 8.0) / 2.0)
    assert tank.centroid(1.0).along == pytest.approx(3.0 * 8.0 / 10.0)
    assert tank.centroid(1.0).height == pytest.approx((2.0 * 0.5 + 8.0 * 1.0) / 10.0)


def test_a_step_between_two_sections_at_one_place() -> None:
    small = [(-1.0, 0.0), (1.0, 0.0), (1.0, 1.0), (-1.0, 1.0)]
    big = [(-2.0, 0.0), (2.0, 0.0), (2.0, 2.0), (-2.0, 2.0)]
    stations = [Station(x, np.array(p)) for x, p in
                ((0.0, small), (2.0, small), (2.0, big), (5.0, big))]  # fmt: skip
    tank = SectionTank(tuple(stations), 1000.0)
    assert tank.volume == pytest.approx(2.0 * 2.0 + 3.0 * 8.0)
    heights = [tank.surface_height(part) for part in np.linspace(0.0, 1.0, 21)]
    assert all(a < b for a, b in pairwise(heights))


@pytest.mark.parametrize("filling", [0.0, 1.0])
def test_nothing_moves_in_a_tank_that_is_not_slack(filling: float) -> None:
    tank = prism([(0.0, 0.0), (3.0, 2.0), (-1.0, 4.0)], 2)
    lever = LiquidLever.of([tank], [filling], SHIP)
    assert lever.value(np.linspace(-3.0, 3.0, 13)) == pytest.approx(0.0, abs=1e-15)
    assert math.isnan(tank.slosh_period(filling))
    assert tank.free_surface_moment(filling) == 0.0
