"""The schematic section and the places of G, B, M and Z in earth axes."""

from __future__ import annotations

import numpy as np
import pytest
from animation_samples import (
    BEAM,
    DEPTH,
    DRAUGHT,
    Loading,
    buoyancy,
    metacentre,
    righting_lever,
    study,
    turned,
)
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from rollsim.show.query.section import (
    DEPTHS,
    FULLNESS,
    along_water,
    immersed_area,
    outline,
    scene,
    section,
    to_earth,
    upward,
    water_levels,
)
from rollsim.show.query.track import track

ANGLES = np.radians([-50.0, -20.0, -5.0, 0.0, 3.0, 10.0, 25.0, 40.0, 55.0])
FINE = 2e-4
"""The curves are stored every half degree and joined by straight lines [m]."""


def test_outline_is_symmetric_and_fills_beam_and_depth() -> None:
    shape = outline(BEAM, DRAUGHT, DEPTH)
    assert_allclose(shape[0], -shape[0][::-1])
    assert_allclose(shape[1], shape[1][::-1])
    assert_allclose([shape[0].max(), shape[1].min(), shape[1].max()], [0.5 * BEAM, 0.0, DEPTH])


def test_bilges_take_what_the_fullness_says() -> None:
    shape = outline(BEAM, DRAUGHT, DEPTH)
    area = immersed_area(shape, np.zeros(1), np.array([DRAUGHT]))
    assert_allclose(area, FULLNESS * BEAM * DRAUGHT, rtol=1e-3)


def test_immersed_area_of_a_box_is_exact() -> None:
    box = np.array([[3.0, 3.0, -3.0, -3.0], [0.0, 4.0, 4.0, 0.0]])
    heel = np.radians([0.0, 10.0, 90.0, 180.0])
    level = np.array([1.0, 2.0 * np.cos(heel[1]), 0.0, -1.0])
    assert_allclose(immersed_area(box, heel, level), [6.0, 12.0, 12.0, 18.0])


def test_wall_sided_section_turns_about_the_centre_of_its_water_line() -> None:
    heel = np.radians([-20.0, 0.0, 10.0, 20.0])
    levels = water_levels(outline(BEAM, DRAUGHT, DEPTH), DRAUGHT, heel)
    assert_allclose(levels, DRAUGHT * np.cos(heel), atol=1e-9)


@settings(deadline=None)
@given(
    beam=st.floats(3.0, 60.0),
    draught=st.floats(1.0, 20.0),
    freeboard=st.floats(0.1, 15.0),
    heel=st.floats(-np.pi, np.pi),
)
def test_displaced_area_stays(beam: float, draught: float, freeboard: float, heel: float) -> None:
    shape = outline(beam, draught, draught + freeboard)
    angles = np.array([heel])
    level = water_levels(shape, draught, angles)
    upright = immersed_area(shape, np.zeros(1), np.array([draught]))
    assert_allclose(immersed_area(shape, angles, level), upright, rtol=1e-8)


def test_positive_roll_puts_starboard_down_and_to_the_right() -> None:
    starboard = np.array([[0.5 * BEAM], [DRAUGHT]])
    right, up = to_earth(starboard, np.radians(30.0), 0.0, DRAUGHT)[:, 0]
    assert_allclose([right, up], [0.5 * BEAM * np.cos(np.pi / 6), -0.25 * BEAM])


@pytest.mark.parametrize("slope", [-8.0, 0.0, 6.0])
def test_points_are_those_of_the_closed_form(slope: float) -> None:
    ship = section(study([Loading(kg=5.1)]), 0)
    roll, water = ANGLES + np.radians(slope), np.full_like(ANGLES, np.radians(slope))
    gravity = np.array([[0.0], [5.1]]) * np.ones_like(ANGLES)
    moments = scene(ship, roll, water, gravity, righting_lever(ANGLES, 5.1))
    for points, expected in (
        (moments.gravity, gravity),
        (moments.buoyancy, buoyancy(ANGLES)),
        (moments.metacentre, metacentre(ANGLES)),
    ):
        where = turned(expected, roll) + np.stack([np.zeros_like(roll), moments.rise])
        assert_allclose(points, where, atol=4e-3)


def test_free_surfaces_raise_g_along_the_mast() -> None:
    ship = section(study([Loading(kg=5.1, off_centre=0.2, free_surface=0.15)]), 0)
    gravity = np.array([[0.2], [5.1]]) * np.ones_like(ANGLES)
    lever = righting_lever(ANGLES, 5.25, 0.2)
    moments = scene(ship, ANGLES, np.zeros_like(ANGLES), gravity, lever)
    assert_allclose(
        np.diff(np.stack([moments.gravity, moments.virtual]), axis=0)[0], 0.15 * upright()
    )


def upright() -> np.ndarray:
    """The direction of the mast in earth axes."""
    return np.stack([np.sin(ANGLES), np.cos(ANGLES)])


@pytest.mark.parametrize("slope", [-12.0, 0.0, 12.0])
def test_lever_joins_the_line_of_weight_to_that_of_buoyancy(slope: float) -> None:
    ship = section(study([Loading(kg=5.4, free_surface=0.1)]), 0)
    water = np.full_like(ANGLES, np.radians(slope))
    gravity = np.array([[0.0], [5.4]]) * np.ones_like(ANGLES)
    moments = scene(ship, ANGLES + water, water, gravity, righting_lever(ANGLES, 5.5))
    along, up = along_water(water), upward(water)
    assert_allclose(((moments.foot - moments.virtual) * up).sum(axis=0), 0.0, atol=1e-12)
    for point in (moments.buoyancy, moments.metacentre):
        assert_allclose(((point - moments.foot) * along).sum(axis=0), 0.0, atol=5e-4)


def test_water_line_of_the_outline_lies_on_the_water() -> None:
    ship = section(study(), 0)
    heel, slope = ship.heel[::40], np.full(ship.heel[::40].shape, 0.1)
    gravity = np.array([[0.0], [5.0]]) * np.ones_like(heel)
    moments = scene(ship, heel + slope, slope, gravity, np.zeros_like(heel))
    across, normal = np.stack([np.cos(heel), np.sin(heel)]), np.stack([-np.sin(heel), np.cos(heel)])
    for offset in (-3.0, 0.0, 3.0):
        points = ship.level[::40] * normal + offset * across
        seen = to_earth(points, heel + slope, moments.rise, ship.draught)
        assert_allclose((seen * upward(slope)).sum(axis=0), 0.0, atol=1e-9)


def test_nothing_is_known_beyond_the_levers() -> None:
    ds = study([Loading(swing=0.0, about=70.0)])
    moments = track(ds, 0, 0, np.array([10.0])).scene
    assert np.isnan(moments.lever).all()
    assert np.isnan(moments.metacentre).all()


def test_missing_depth_is_assumed_and_said() -> None:
    ds = study()
    ds["depth"] = ds["depth"] * np.nan
    ship = section(ds, 0)
    assert ship.depth_assumed
    assert_allclose(ship.outline[1].max(), DEPTHS * DRAUGHT)
    assert not section(study(), 0).depth_assumed


def test_free_surface_is_what_gm_lacks() -> None:
    assert_allclose(section(study([Loading(free_surface=0.3)]), 0).free_surface, 0.3)
    assert section(study(), 0).free_surface == 0.0
