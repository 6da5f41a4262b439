"""What floats where: closed forms to rounding, and the laws that B, M and KN obey together."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hull_samples import box, coaster_like, lopsided, parabolic, prism, under_water
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from rollsim.ship.hull.curves import DENSITY, Curves, Trim, whole_volume
from rollsim.ship.hull.form import Box, Hull, UnfloatableError

Floats = NDArray[np.float64]
FIXED, FREE = Trim(free=False), Trim()


def kn_of(hull: Hull, volume: float, heel: Floats, trim: Trim = FREE) -> Floats:
    return np.asarray(Curves(hull, np.array([volume * DENSITY]), trim).kn(heel)[0, 0])


def test_a_wall_sided_box_has_the_formulas_lever() -> None:
    heel = np.radians(np.arange(-30.0, 31.0, 1.0))
    kb, bm = 3.0, 20.0**2 / (12.0 * 6.0)
    expected = (kb + bm + 0.5 * bm * np.tan(heel) ** 2) * np.sin(heel)
    for trim in (FIXED, FREE):
        np.testing.assert_allclose(kn_of(box(), 12000.0, heel, trim), expected, atol=1e-12)


def test_a_box_past_its_deck_edge() -> None:
    """Against an exact polygon worked out apart from this program: B 20, D 12, draught 6, KG 7."""
    heel = np.radians([10.0, 20.0, 30.0, 40.0, 50.0, 60.0, 70.0])
    gz = kn_of(box(), 12000.0, heel) - 7.0 * np.sin(heel)
    expected = [0.285116, 0.657889, 1.240741, 1.615384, 1.405001, 0.933975, 0.332799]
    np.testing.assert_allclose(gz, expected, atol=5e-7)


def test_a_box_is_turned_about_its_middle() -> None:
    """At half depth, turned over by 180° − φ, she has the lever of φ as seen from above."""
    heel = np.radians(np.arange(0.0, 91.0, 7.5))
    kn = kn_of(box(), 12000.0, heel)
    over = kn_of(box(), 12000.0, math.pi - heel)
    np.testing.assert_allclose(kn + over, 12.0 * np.sin(heel), atol=1e-11)


def test_a_triangle_in_closed_form() -> None:
    """A wedge floating on its apex: both sides cut in one product of lengths, B at a third."""
    half_angle, area, heel = math.radians(40.0), 20.0, np.radians(np.arange(0.0, 36.0, 2.5))
    high = 12.0
    wide = high * math.tan(half_angle)
    hull = prism([(0.0, 0.0), (wide, high), (-wide, high)])
    product = 2.0 * area / math.sin(2.0 * half_angle)
    starboard = np.sqrt(product * np.cos(half_angle - heel) / np.cos(half_angle + heel))
    port = product / starboard
    expected = starboard * np.sin(half_angle + heel) - port * np.sin(half_angle - heel)
    np.testing.assert_allclose(kn_of(hull, 50.0 * area, heel), expected / 3.0, atol=1e-11)


def test_a_circle_is_exactly_neutral() -> None:
    """Every lever of a circle about its centre is none: KN = R sin φ, here by whole corners."""
    corners, radius = 144, 5.0
    turn = 2.0 * math.pi * np.arange(corners) / corners
    hull = prism(zip(radius * np.cos(turn), radius * (1.0 + np.sin(turn)), strict=True))
    heel = np.radians(np.arange(0.0, 181.0, 2.5))
    for share in (0.1, 0.5, 0.85):
        volume = share * whole_volume(hull)
        np.testing.assert_allclose(kn_of(hull, volume, heel), radius * np.sin(heel), atol=1e-9)


LENGTH, BEAM, DRAUGHT = 100.0, 10.0, 6.25


def test_a_parabolic_hull_converges_to_its_closed_form_with_the_second_order() -> None:
    """Volume 4/9 LBT, waterplane 2/3 LB, KB 5T/8, BM 3B²/(35T) (exact integrals)."""
    volumes, centres, radii = [], [], []
    for count in (11, 21, 41, 81):
        hull = parabolic(count, count)
        whole = whole_volume(hull)
        displaced = whole * (1.0 - 1e-9)
        state = Curves(hull, np.array([displaced * DENSITY]), FIXED).at(0.0)[0, 0, 0]
        volumes.append(whole / (4.0 / 9.0 * LENGTH * BEAM * DRAUGHT) - 1.0)
        centres.append(state[5] / (5.0 / 8.0 * DRAUGHT) - 1.0)
        radii.append((state[4] - state[5]) / (3.0 * BEAM**2 / (35.0 * DRAUGHT)) - 1.0)
    for errors in (volumes, centres, radii):
        orders = np.log2(np.abs(np.array(errors[:-1]) / errors[1:]))
        np.testing.assert_allclose(orders[-2:], 2.0, atol=0.05)
        assert abs(errors[-1]) < 3e-4


HULLS = {
    "ship": coaster_like(),
    "hatches": coaster_like((Box(20.0, 45.0, -4.0, 4.0, 8.0, 9.5),)),
    "lopsided": lopsided(),
}


@settings(max_examples=25, deadline=None)
@given(st.sampled_from(sorted(HULLS)), st.floats(0.15, 0.85), st.floats(-3.1, 3.1), st.booleans())
def test_the_displacement_stays_and_so_does_the_length_of_b(
    name: str, share: float, heel: float, free: bool
) -> None:
    hull = HULLS[name]
    volume = share * whole_volume(hull)
    curves = Curves(hull, np.array([volume * DENSITY]), Trim(free))
    state = curves.at(heel)[0, 0, 0]
    afloat = under_water(hull, heel, state[1], state[2])
    assert afloat.volume == pytest.approx(volume, rel=1e-11)
    if free:
        assert afloat.along / afloat.volume == pytest.approx(curves.places[0], abs=1e-8)
    else:
        assert state[2] == 0.0


@settings(max_examples=15, deadline=None)
@given(st.sampled_from(["ship", "hatches"]), st.floats(0.2, 0.8), st.floats(0.0, 3.1))
def test_kn_of_a_hull_alike_on_both_sides_is_odd(name: str, share: float, heel: float) -> None:
    curves = Curves(HULLS[name], np.array([share * whole_volume(HULLS[name]) * DENSITY]))
    states = curves.at(np.array([heel, -heel]))[0, 0]
    assert states[0, 3] == pytest.approx(-states[1, 3], abs=1e-9)
    assert states[0, 4] == pytest.approx(states[1, 4], abs=1e-7)


@pytest.mark.parametrize("free", [True, False])
@pytest.mark.parametrize("name", sorted(HULLS))
def test_b_and_m_of_the_geometry_are_those_that_follow_from_kn(name: str, free: bool) -> None:
    """B·n = KB − ∫ KN dφ and M·n = KN′, at constant displacement, trim fixed or free."""
    hull = HULLS[name]
    curves = Curves(hull, np.array([0.5 * whole_volume(hull) * DENSITY]), Trim(free))
    nodes, weights = np.polynomial.legendre.leggauss(12)
    ends = np.radians(np.arange(0.0, 121.0, 1.0))
    half = 0.5 * (ends[1] - ends[0])
    inside = (ends[:-1, None] + half * (1.0 + nodes)).ravel()
    kn = curves.kn(inside)[0, 0].reshape(-1, nodes.size)
    integral = np.concatenate(([0.0], np.cumsum(half * kn @ weights)))
    states = curves.at(ends)[0, 0]
    np.testing.assert_allclose(states[:, 5], states[0, 5] - integral, atol=2e-6)
    step = 1e-5
    slope = (curves.kn(ends + step)[0, 0] - curves.kn(ends - step)[0, 0]) / (2.0 * step)
    smooth = np.abs(np.diff(states[:, 4], append=states[-1, 4])) < 1.0
    np.testing.assert_allclose(states[smooth, 4], slope[smooth], atol=2e-3)
    assert np.median(np.abs(states[:, 4] - slope)) < 1e-7


def test_a_trimmed_box_floats_by_moments() -> None:
    """G forward of amidships by x: a box trims until B is there, x = L² tan τ / (12 T)."""
    hull, shift = box(100.0, 20.0, 12.0), 1.5
    curves = Curves(hull, np.array([12000.0 * DENSITY]), Trim(True, 50.0 + shift))
    upright = curves.hydrostatics
    assert upright.trim[0] == pytest.approx(-12.0 * shift * 6.0 / 100.0, rel=1e-12)
    assert upright.draught[0] == pytest.approx(6.0, rel=1e-12)
    assert upright.along_of_buoyancy[0] == pytest.approx(50.0 + shift, rel=1e-12)


def test_nothing_floats_beyond_the_closed_hull_or_without_an_equilibrium() -> None:
    whole = whole_volume(box()) * DENSITY
    with pytest.raises(
        UnfloatableError, match="displaces 30000 t, and the closed hull holds 24600"
    ):
        Curves(box(), np.array([30000.0])).kn(0.0)
    with pytest.raises(UnfloatableError, match="must displace something"):
        Curves(box(), np.array([0.0])).kn(0.0)
    far = Curves(box(), np.array([0.5 * whole]), Trim(True, 99.0))
    with pytest.raises(UnfloatableError, match="no equilibrium within 27° of trim at 0° of heel"):
        far.kn(0.0)


def test_immersion_of_points_on_either_side() -> None:
    points = np.array([(50.0, 10.0, 12.0), (50.0, -10.0, 12.0), (20.0, 0.0, 7.0), (0.0, 3.0, 5.0)])
    curves = Curves(box(), np.array([12000.0 * DENSITY]))
    found = np.degrees(curves.immersion(points, math.pi, math.radians(2.5)))[0]
    edge = math.degrees(math.atan(6.0 / 10.0))
    assert found[0] == pytest.approx(edge, abs=1e-7)
    assert found[1] == pytest.approx(-edge, abs=1e-7)
    assert 90.0 < found[2] < 120.0
    assert found[3] == 0.0
    short = np.degrees(curves.immersion(points[:1], math.radians(25.0), math.radians(2.5)))
    assert np.isnan(short).all()
