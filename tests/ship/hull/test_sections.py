"""Areas and moments under water are those of the polygons cut one by one."""

from __future__ import annotations

import numpy as np
import pytest
from hull_samples import area_and_moments, cut, lopsided, prism, station, under_water
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from rollsim.ship.hull.form import (
    Box,
    Hull,
    area_of,
    crossing,
    from_half_breadths,
    overlap,
)

Floats = NDArray[np.float64]


numbers = st.floats(0.0, 10.0)


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.tuples(numbers, numbers), min_size=3, max_size=8),
    st.floats(-3.2, 3.2),
    st.floats(-10.0, 12.0),
)
def test_a_section_however_it_winds_is_that_of_the_cut_polygon(
    points: list[tuple[float, float]], heel: float, water: float
) -> None:
    points.sort(key=lambda p: p[1])
    outline = from_half_breadths(0.0, *zip(*points, strict=True)).outline
    hull = Hull("one", (from_half_breadths(0.0, *zip(*points, strict=True)),) * 2)
    hull = Hull("two", (hull.stations[0], from_half_breadths(2.0, *zip(*points, strict=True))))
    state = under_water(hull, heel, water)
    area, along, up = area_and_moments(cut(outline, heel, water))
    ours = [state.volume, state.across, state.up]
    np.testing.assert_allclose(ours, [2 * area, 2 * along, 2 * up], rtol=1e-9, atol=1e-9)


def test_derivatives_are_those_of_the_waterplane() -> None:
    hull, step = lopsided(), 1e-5
    for heel, height, slope in ((0.3, 3.0, 0.01), (1.2, 1.0, -0.03), (2.6, -2.0, 0.0)):
        state = under_water(hull, heel, height, slope)
        more, less = (under_water(hull, heel, height + d, slope) for d in (step, -step))
        bow, stern = (under_water(hull, heel, height, slope + d) for d in (step, -step))
        by_height = [(a - b) / (2 * step) for a, b in zip(more, less, strict=True)]
        by_slope = [(a - b) / (2 * step) for a, b in zip(bow, stern, strict=True)]
        assert by_height[0] == pytest.approx(state.plane, rel=1e-6)
        assert by_height[1] == pytest.approx(state.plane_x, rel=1e-6)
        assert by_height[2] == pytest.approx(state.plane_w, rel=1e-6)
        assert by_slope[0] == pytest.approx(state.plane_x, rel=1e-6)
        assert by_slope[1] == pytest.approx(state.plane_xx, rel=1e-6)
        assert by_slope[2] == pytest.approx(state.plane_xw, rel=1e-6)


def test_a_bulb_parted_from_the_hull_counts_with_it() -> None:
    waist = station(0.0, [0, 1, 1, 0, 0, 2, 2], [0, 0, 2, 2, 3, 3, 5])
    assert area_of(waist.outline) == pytest.approx(4.0 + 8.0)
    hull = Hull("bulb", (waist, station(10.0, [0, 1, 1, 0, 0, 2, 2], [0, 0, 2, 2, 3, 3, 5])))
    assert under_water(hull, 0.0, 2.5).volume == pytest.approx(40.0)
    assert under_water(hull, 0.0, 4.0).volume == pytest.approx(80.0)


def test_a_station_of_no_breadth_ends_the_hull_in_a_wedge() -> None:
    hull = Hull("wedge", (station(0.0, [3, 3], [0, 4]), station(9.0, [0, 0], [0, 4])))
    assert under_water(hull, 0.0, 4.0).volume == pytest.approx(0.5 * 24.0 * 9.0)


def test_two_stations_at_one_place_are_a_step() -> None:
    low, high = ([3, 3], [0, 4]), ([3, 3], [0, 6])
    hull = Hull(
        "step",
        (station(0, *low), station(10, *low), station(10, *high), station(25, *high)),
    )
    assert under_water(hull, 0.0, 6.0).volume == pytest.approx(240.0 + 540.0)


def test_a_box_adds_its_volume_where_it_stands() -> None:
    bare = prism([(-5.0, 0.0), (5.0, 0.0), (5.0, 8.0), (-5.0, 8.0)])
    hull = Hull("hatch", bare.stations, (Box(10.0, 30.0, -2.0, 4.0, 8.0, 9.0),))
    state = under_water(hull, 0.0, 20.0)
    assert state.volume == pytest.approx(4000.0 + 120.0)
    assert state.along == pytest.approx(4000.0 * 25.0 + 120.0 * 20.0)
    assert state.across == pytest.approx(120.0)
    assert state.up == pytest.approx(4000.0 * 4.0 + 120.0 * 8.5)
    assert not hull.symmetric
    assert bare.symmetric


def test_the_shared_area_of_a_box_and_a_section() -> None:
    outline = np.array([(-5.0, 0.0), (5.0, 0.0), (5.0, 8.0), (-5.0, 8.0)])
    assert overlap(outline, Box(0, 1, -2.0, 4.0, 8.0, 9.0)) == pytest.approx(0.0)
    assert overlap(outline, Box(0, 1, -2.0, 4.0, 7.5, 9.0)) == pytest.approx(3.0)
    assert overlap(outline, Box(0, 1, 4.0, 7.0, 1.0, 2.0)) == pytest.approx(1.0)
    triangle = np.array([(0.0, 0.0), (4.0, 4.0), (-4.0, 4.0)])
    assert overlap(triangle, Box(0, 1, -4.0, 0.0, 0.0, 2.0)) == pytest.approx(2.0)


@pytest.mark.parametrize(
    ("outline", "sides"),
    [
        ([(0, 0), (4, 0), (4, 4), (0, 4)], None),
        ([(0, 0), (4, 4), (4, 0), (0, 4)], (0, 2)),
        ([(0, 0), (2, 0), (0, 2), (2, 2), (0, 4)], None),
        ([(0, 0), (3, 0), (3, 3), (1, -1), (0, 3)], (0, 2)),
    ],
)
def test_sides_that_cross(
    outline: list[tuple[float, float]], sides: tuple[int, int] | None
) -> None:
    assert crossing(np.array(outline, dtype=float)) == sides
