"""The curve of form levers is the interpolant of the contract, and nothing beyond its range."""

from __future__ import annotations

import math
import pickle

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad
from ship_samples import (
    HEEL,
    KINDS,
    KM,
    KN,
    LOPSIDED_HEEL,
    LOPSIDED_KN,
    Floats,
    over_range,
    tables,
)

from rollsim.errors import LeverRangeError
from rollsim.ship.levers import (
    Gravity,
    Levers,
    from_gz_table,
    from_kn_table,
    metacentric_height,
    polynomial,
    wall_sided,
)

every_kind = pytest.mark.parametrize("levers", KINDS.values(), ids=KINDS.keys())
heights = st.one_of(st.none(), st.floats(3.0, 8.0))


def jumps(levers: Levers, derivative: int) -> Floats:
    """Jumps of a derivative of the spline at its inner knots, over the derivative's size."""
    from scipy.interpolate import PPoly

    pieces = PPoly(levers.coefficients, levers.knots)
    for _ in range(derivative):
        pieces = pieces.derivative()
    width = np.diff(levers.knots)[:-1]
    left = np.array([np.polyval(c, w) for c, w in zip(pieces.c.T, width, strict=False)])
    right = pieces.c[-1, 1:]
    return np.asarray((left - right) / (1.0 + np.abs(pieces.c).max(axis=0)[1:]))


# The table's interpolant


@settings(deadline=None)
@given(table=tables(), km=heights)
def test_the_curve_goes_through_the_table_and_its_mirror(
    table: tuple[Floats, Floats], km: float | None
) -> None:
    heel, kn = table
    levers = from_kn_table(heel, kn, km)
    assert levers.kn(heel) == pytest.approx(kn, abs=1e-12)
    assert levers.kn(-heel) == pytest.approx(-kn, abs=1e-12)


@settings(deadline=None)
@given(table=tables(), km=heights)
def test_value_slope_and_curvature_are_continuous_at_every_knot(
    table: tuple[Floats, Floats], km: float | None
) -> None:
    levers = from_kn_table(*table, km)
    for derivative in range(3):
        assert np.max(np.abs(jumps(levers, derivative))) < 1e-9


@settings(deadline=None)
@given(table=tables(), km=st.floats(3.0, 8.0))
def test_the_slope_at_zero_is_the_metacentre_given(table: tuple[Floats, Floats], km: float) -> None:
    levers = from_kn_table(*table, km)
    assert levers.slope(0.0) == pytest.approx(km, rel=1e-12)
    assert metacentric_height(levers, Gravity(km)) == 0.0


def test_one_knot_more_on_either_side_carries_the_slope() -> None:
    plain, fixed = from_kn_table(HEEL, KN), from_kn_table(HEEL, KN, KM)
    extra = np.setdiff1d(fixed.knots, plain.knots)
    assert extra == pytest.approx([-0.5 * HEEL[1], 0.5 * HEEL[1]], rel=1e-15)
    assert plain.knots == pytest.approx(np.concatenate((-HEEL[:0:-1], HEEL)), rel=1e-15)


def test_the_slope_asked_for_is_felt_in_the_first_interval_most() -> None:
    plain, fixed = from_kn_table(HEEL, KN), from_kn_table(HEEL, KN, KM + 0.02)
    change = np.abs(fixed.kn(over_range(plain)) - plain.kn(over_range(plain)))
    far = np.abs(over_range(plain)) > HEEL[3]
    assert np.max(change[far]) < 0.05 * np.max(change)


@settings(deadline=None)
@given(table=tables(), km=heights)
def test_an_odd_table_of_both_sides_is_the_mirrored_one(
    table: tuple[Floats, Floats], km: float | None
) -> None:
    heel, kn = table
    whole = from_kn_table(
        np.concatenate((-heel[:0:-1], heel)), np.concatenate((-kn[:0:-1], kn)), km
    )
    half = from_kn_table(heel, kn, km)
    assert np.array_equal(whole.knots, half.knots)
    assert np.array_equal(whole.coefficients, half.coefficients)


@settings(deadline=None)
@given(table=tables(), km=heights)
def test_a_table_from_zero_is_the_same_to_port(
    table: tuple[Floats, Floats], km: float | None
) -> None:
    levers = from_kn_table(*table, km)
    heel = np.linspace(0.0, levers.heel_max, 301)
    assert levers.kn(-heel) == pytest.approx(-levers.kn(heel), abs=1e-12)
    assert levers.slope(-heel) == pytest.approx(levers.slope(heel), abs=1e-10)
    assert levers.integral(-heel) == pytest.approx(levers.integral(heel), abs=1e-12)


@pytest.mark.parametrize("km", [None, 5.2, 5.5])
def test_a_lopsided_table_is_taken_as_it_is(km: float | None) -> None:
    levers = from_kn_table(LOPSIDED_HEEL, LOPSIDED_KN, km)
    assert (levers.heel_min, levers.heel_max) == (LOPSIDED_HEEL[0], LOPSIDED_HEEL[-1])
    assert levers.kn(LOPSIDED_HEEL) == pytest.approx(LOPSIDED_KN, abs=1e-13)
    assert max(np.max(np.abs(jumps(levers, derivative))) for derivative in range(3)) < 1e-11
    if km is not None:
        assert levers.slope(0.0) == pytest.approx(km, rel=1e-14)
        upright = int(np.searchsorted(levers.knots, 0.0))
        assert jumps(levers, 3)[upright - 1] == pytest.approx(0.0, abs=1e-11)


@pytest.mark.parametrize("gm", [None, -0.04, 0.6])
def test_a_table_of_gz_is_the_table_of_kn_for_its_height_of_g(gm: float | None) -> None:
    kg = 5.3
    from_gz = from_gz_table(HEEL, KN - kg * np.sin(HEEL), kg, gm)
    from_kn = from_kn_table(HEEL, KN, None if gm is None else gm + kg)
    heel = over_range(from_kn)
    assert from_gz.kn(heel) == pytest.approx(from_kn.kn(heel), abs=1e-13)
    assert from_gz.slope(heel) == pytest.approx(from_kn.slope(heel), abs=1e-12)
    if gm is not None:
        assert metacentric_height(from_gz, Gravity(kg)) == pytest.approx(gm, abs=1e-14)


# The kinds in closed form


def test_wall_sided_levers_are_the_formula_on_both_sides() -> None:
    """KN = (KM + ½ BM tan²φ) sin φ, the wall-sided formula (Derrett)."""
    levers = wall_sided(5.0, 3.0, math.radians(40.0))
    for phi in (-0.69, -0.2, 0.0, 0.1, 0.5):
        expected = (5.0 + 1.5 * math.tan(phi) ** 2) * math.sin(phi)
        assert float(levers.kn(phi)) == pytest.approx(expected, rel=1e-15)


def test_a_polynomial_holds_as_written_on_both_sides() -> None:
    levers = polynomial([0.5, 0.1, -0.4], 5.0, 1.0)
    for phi in (-1.0, -0.3, 0.0, 0.7, 1.0):
        gz = 0.5 * phi + 0.1 * phi**2 - 0.4 * phi**3
        assert float(levers.kn(phi)) - 5.0 * math.sin(phi) == pytest.approx(gz, abs=1e-15)


# Slope and integral


@every_kind
def test_the_slope_is_the_derivative_of_kn(levers: Levers) -> None:
    step = 1e-5
    heel = np.linspace(levers.heel_min + 0.01, levers.heel_max - 0.01, 97)
    difference = (levers.kn(heel + step) - levers.kn(heel - step)) / (2.0 * step)
    assert levers.slope(heel) == pytest.approx(difference, abs=2e-8)


@every_kind
def test_the_integral_is_that_of_kn_from_upright(levers: Levers) -> None:
    for heel in (levers.heel_min, 0.6 * levers.heel_min, 0.0, 0.3, levers.heel_max):
        inside = [k for k in levers.knots if min(heel, 0.0) < k < max(heel, 0.0)]
        expected = quad(lambda x: float(levers.kn(x)), 0.0, heel, points=inside or None, limit=200)
        assert float(levers.integral(heel)) == pytest.approx(expected[0], abs=1e-12)


@every_kind
def test_shapes_are_kept(levers: Levers) -> None:
    for asked in (0.1, [0.1, -0.2], [[0.0, 0.1], [0.2, 0.3]]):
        for function in (levers.kn, levers.slope, levers.integral):
            assert function(asked).shape == np.shape(asked)


@every_kind
def test_levers_travel_between_processes(levers: Levers) -> None:
    levers.kn(0.1), levers.integral(0.1)
    there = pickle.loads(pickle.dumps(levers))
    heel = over_range(levers)
    assert np.array_equal(there.kn(heel), levers.kn(heel))
    assert np.array_equal(there.integral(heel), levers.integral(heel))


# Nothing is extrapolated


@every_kind
@pytest.mark.parametrize("function", ["kn", "slope", "integral"])
def test_beyond_the_range_nothing_is_known(levers: Levers, function: str) -> None:
    ask = getattr(levers, function)
    for heel in (levers.heel_max + 1e-9, levers.heel_min - 1e-9, math.inf, -math.inf, math.nan):
        with pytest.raises(LeverRangeError, match="levers are known from"):
            ask(heel)
        with pytest.raises(LeverRangeError, match="levers are known from"):
            ask([0.0, heel, 0.1])


def test_the_error_names_the_range_and_the_angle_in_degrees() -> None:
    levers = from_kn_table(LOPSIDED_HEEL, LOPSIDED_KN)
    with pytest.raises(LeverRangeError, match=r"from -70° to 90° of heel only; requested at 95°"):
        levers.kn(math.radians(95.0))


@every_kind
def test_rounding_at_the_ends_is_no_fault(levers: Levers) -> None:
    past = np.array([levers.heel_min - 1e-13, levers.heel_max + 1e-13])
    assert np.array_equal(levers.kn(past), levers.kn([levers.heel_min, levers.heel_max]))


# Metacentric height


def test_metacentric_height_takes_the_free_surface_off() -> None:
    levers = from_kn_table(HEEL, KN, KM)
    assert metacentric_height(levers, Gravity(5.0, 0.1, 0.15)) == pytest.approx(0.509, abs=1e-14)
    assert Gravity(5.0, 0.1, 0.15).virtual_kg == 5.15


@pytest.mark.parametrize(("kg", "free_surface"), [(5.659, 0.0), (5.3, 0.359), (0.1, 5.559)])
def test_zero_metacentric_height_is_exactly_zero(kg: float, free_surface: float) -> None:
    levers = from_kn_table(HEEL, KN, KM)
    assert metacentric_height(levers, Gravity(kg, 0.0, free_surface)) == 0.0


@pytest.mark.parametrize("gm", [1e-9, -1e-9])
def test_a_small_metacentric_height_is_no_noise(gm: float) -> None:
    levers = from_kn_table(HEEL, KN, KM)
    assert metacentric_height(levers, Gravity(KM - gm)) == pytest.approx(gm, rel=1e-5)
