"""Static heel, vanishing angle, loll, greatest lever, areas: each by the contract's own words."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.integrate import quad
from ship_samples import HEEL, KINDS, KM, KN, LOPSIDED_HEEL, LOPSIDED_KN, Floats, over_range

from rollsim.errors import LeverRangeError
from rollsim.ship.equilibria import equilibria
from rollsim.ship.levers import Gravity, Levers, from_gz_table, from_kn_table, polynomial
from rollsim.ship.righting import HEELING_LAWS, Heeling, RightingCurve
from rollsim.ship.statics import greatest_lever, loll_angles, static_heel, vanishing_angles

KG = 5.0
COASTER = from_kn_table(HEEL, KN, KM)
WELL, EDGE = 0.3, 0.9
# GZ = φ (φ² - WELL²) (EDGE² - φ²): wells at ±WELL, over at ±EDGE.
DOUBLE_WELL = polynomial([-(WELL**2) * EDGE**2, 0.0, WELL**2 + EDGE**2, 0.0, -1.0], KG, 1.2)


def double_well(lever: float = 0.0) -> RightingCurve:
    return RightingCurve(DOUBLE_WELL, Gravity(KG), Heeling(lever=lever))


# Levers and areas


@pytest.mark.parametrize(
    ("law", "expected"), [("constant", 0.2), ("cos", 0.2 * 0.8775825619), ("cos2", 0.1540302306)]
)
def test_a_wind_lever_falls_off_by_its_law(law: str, expected: float) -> None:
    curve = RightingCurve(COASTER, Gravity(5.3), Heeling(0.2, law, 0.05))
    assert float(curve.heeling_lever(0.5)) == pytest.approx(expected + 0.05, abs=1e-10)
    assert float(curve.heeling_lever(-0.5)) == pytest.approx(expected + 0.05, abs=1e-10)


@pytest.mark.parametrize("law", HEELING_LAWS)
@pytest.mark.parametrize("levers", KINDS.values(), ids=KINDS.keys())
def test_the_residual_lever_is_the_plain_sum(levers: Levers, law: str) -> None:
    curve = RightingCurve(levers, Gravity(5.1, 0.07, 0.12), Heeling(0.2, law, -0.03))
    power = {"constant": 0, "cos": 1, "cos2": 2}[law]
    for phi in over_range(levers, 11):
        weight = 5.22 * math.sin(phi) + 0.07 * math.cos(phi)
        expected = float(levers.kn(phi)) - weight - 0.2 * math.cos(phi) ** power + 0.03
        assert float(curve.value(phi)) == pytest.approx(expected, abs=1e-14)


@pytest.mark.parametrize("law", HEELING_LAWS)
@pytest.mark.parametrize("levers", KINDS.values(), ids=KINDS.keys())
def test_area_is_the_integral_of_the_residual_lever(levers: Levers, law: str) -> None:
    curve = RightingCurve(levers, Gravity(5.1, 0.07, 0.12), Heeling(0.2, law, -0.03))
    start, end = 0.8 * levers.heel_min, 0.9 * levers.heel_max
    inside = [k for k in levers.knots if start < k < end] or None
    expected = quad(lambda x: float(curve.value(x)), start, end, points=inside, limit=200)[0]
    assert curve.area(start, end) == pytest.approx(expected, abs=1e-12)
    assert curve.area(end, start) == pytest.approx(-expected, abs=1e-12)
    assert float(curve.potential(0.0)) == 0.0


# Static heel


@pytest.mark.parametrize(
    ("start", "rest"),
    [
        (0.0, WELL),
        (1e-7, WELL),
        (-1e-7, -WELL),
        (0.5, WELL),
        (-0.89, -WELL),
        (WELL, WELL),
        (-WELL, -WELL),
        (WELL - 1e-8, WELL),
        (EDGE - 1e-6, WELL),
        (-EDGE, -WELL),
        (EDGE, math.nan),
        (EDGE + 1e-6, math.nan),
        (-1.0, math.nan),
    ],
)
def test_static_heel_is_downhill_and_to_starboard_from_a_crest(start: float, rest: float) -> None:
    assert static_heel(double_well(), start) == pytest.approx(rest, abs=1e-12, nan_ok=True)


@settings(deadline=None)
@given(
    start=st.floats(-1.1, 1.1),
    lever=st.floats(-0.05, 0.05),
    off_centre=st.floats(-0.05, 0.05),
    levers=st.sampled_from([DOUBLE_WELL, *KINDS.values()]),
)
def test_the_way_to_the_static_heel_goes_down_all_along(
    start: float, lever: float, off_centre: float, levers: Levers
) -> None:
    assume(levers.heel_min < start < levers.heel_max)
    curve = RightingCurve(levers, Gravity(5.2, off_centre), Heeling(0.05, "cos", lever))
    rest = static_heel(curve, start)
    assume(math.isfinite(rest))
    assert next(e for e in equilibria(curve) if e.heel == rest).kind == "stable"
    assert np.all(np.diff(curve.potential(np.linspace(start, rest, 2001))) <= 1e-15)


def test_a_wind_chooses_the_well() -> None:
    assert static_heel(double_well(lever=1e-6), 0.0) == pytest.approx(WELL, abs=1e-4)
    assert static_heel(double_well(lever=-1e-6), 0.0) == pytest.approx(-WELL, abs=1e-4)
    barrier = -float(np.min(double_well().value(np.linspace(0.0, WELL, 1001))))
    strong = static_heel(double_well(lever=-1.001 * barrier), WELL)
    assert strong < -WELL


def test_too_much_lever_leaves_nowhere_to_rest() -> None:
    assert math.isnan(static_heel(double_well(lever=1.0), 0.0))
    assert math.isnan(static_heel(double_well(lever=-1.0), 0.0))


def test_an_upright_ship_with_no_lever_stays_upright() -> None:
    assert static_heel(RightingCurve(COASTER, Gravity(5.3)), 0.0) == 0.0
    stiff = RightingCurve(polynomial([0.0, 0.0, 0.8], KG, 1.0), Gravity(KG))
    assert static_heel(stiff, 0.0) == 0.0


def test_a_start_beyond_the_levers_is_refused() -> None:
    with pytest.raises(LeverRangeError, match="levers are known from"):
        static_heel(double_well(), 1.3)


# Vanishing angle


def vanishing_deg(levers: Levers, gravity: Gravity) -> list[float]:
    return [float(angle) for angle in np.degrees(vanishing_angles(levers, gravity))]


def gz_table(*rows: tuple[float, float]) -> Levers:
    heel, gz = np.array(rows).T
    return from_gz_table(np.radians(heel), gz, KG)


def test_the_vanishing_angle_of_a_polynomial() -> None:
    assert vanishing_angles(DOUBLE_WELL, Gravity(KG)) == pytest.approx((EDGE, -EDGE), abs=1e-12)


def test_g_off_centre_brings_the_vanishing_angle_nearer_on_its_side() -> None:
    starboard, port = vanishing_angles(COASTER, Gravity(5.3, 0.05))
    plain, _ = vanishing_angles(COASTER, Gravity(5.3))
    assert starboard < plain < -port
    mirrored = vanishing_angles(COASTER, Gravity(5.3, -0.05))
    assert mirrored == pytest.approx((-port, -starboard), abs=1e-12)


def test_a_lopsided_hull_has_two_vanishing_angles() -> None:
    levers, gravity = from_kn_table(LOPSIDED_HEEL, LOPSIDED_KN), Gravity(4.9)
    starboard, port = vanishing_angles(levers, gravity)
    scan = np.radians(np.arange(-70.0, 90.0, 0.001))
    value = RightingCurve(levers, gravity).value(scan)
    crossings = scan[1:][(value[:-1] > 0.0) & (value[1:] <= 0.0)]
    assert starboard == pytest.approx(crossings[-1], abs=2e-5)
    assert port == pytest.approx(crossings[0], abs=2e-5)
    assert starboard != pytest.approx(-port, abs=0.01)


def test_levers_that_end_before_they_vanish_have_no_vanishing_angle() -> None:
    ends = gz_table((0, 0.0), (20, 0.3), (40, 0.4), (60, 0.2))
    assert vanishing_deg(ends, Gravity(KG)) == pytest.approx([math.nan] * 2, nan_ok=True)


def test_a_table_that_ends_at_zero_vanishes_there() -> None:
    ends = gz_table((0, 0.0), (20, 0.3), (40, 0.4), (60, 0.2), (70, 0.0))
    assert vanishing_deg(ends, Gravity(KG)) == pytest.approx([70.0, -70.0], abs=1e-9)


def test_the_last_turn_counts() -> None:
    """GZ vanishes at about 40°, comes back at 60° and vanishes for good at 80°."""
    twice = gz_table(
        (0, 0.0), (20, 0.3), (40, 0.0), (50, -0.1), (60, 0.0), (70, 0.1), (80, 0.0), (90, -0.2)
    )
    assert vanishing_deg(twice, Gravity(KG)) == pytest.approx([80.0, -80.0], abs=1e-6)


def test_a_ship_that_rests_upside_down_still_has_a_vanishing_angle() -> None:
    """Tabulated to 180°, GZ is 0 there again, and stable: the last turn + to - is before it."""
    heel = np.arange(0.0, 181.0, 10.0)
    gz = np.sin(np.radians(heel)) * (0.2 + 0.5 * np.cos(np.radians(heel)))
    gz[-1] = 0.0
    round_table = from_gz_table(np.radians(heel), gz, KG)
    vanishing = math.degrees(math.acos(-0.4))
    assert vanishing_deg(round_table, Gravity(KG)) == pytest.approx(
        [vanishing, -vanishing], abs=0.05
    )


def test_levers_that_come_back_at_their_end_keep_the_last_turn() -> None:
    comes_back = gz_table((0, 0.0), (20, 0.3), (40, 0.0), (60, -0.1), (80, 0.0), (90, 0.1))
    assert vanishing_deg(comes_back, Gravity(KG)) == pytest.approx([40.0, -40.0], abs=1e-6)


def test_negative_gm_without_a_second_rise_has_no_vanishing_angle() -> None:
    over = polynomial([-0.2, 0.0, -0.1], KG, 1.0)
    assert vanishing_angles(over, Gravity(KG)) == pytest.approx((math.nan,) * 2, nan_ok=True)


# Loll


def test_loll_is_where_the_polynomial_says() -> None:
    """GZ = GM φ + c φ³: loll at √(-GM/c), to both sides."""
    levers = polynomial([-0.05, 0.0, 0.8], KG, 1.0)
    assert loll_angles(levers, Gravity(KG)) == pytest.approx((0.25, -0.25), abs=1e-12)


def test_loll_is_that_of_g_on_the_centreline_with_its_free_surface() -> None:
    levers = polynomial([0.05, 0.0, 0.8], KG, 1.0)
    loll = loll_angles(levers, Gravity(KG, 0.1, 0.1))
    assert loll == pytest.approx(loll_angles(levers, Gravity(KG + 0.1)), abs=1e-14)
    assert loll[0] > 0.2


def test_a_lopsided_hull_lolls_differently_to_either_side() -> None:
    levers = polynomial([-0.05, 0.05, 0.8], KG, 1.0)
    root = math.sqrt(0.05**2 + 4.0 * 0.8 * 0.05)
    expected = ((-0.05 + root) / 1.6, (-0.05 - root) / 1.6)
    assert loll_angles(levers, Gravity(KG)) == pytest.approx(expected, abs=1e-12)


@pytest.mark.parametrize("gm", [0.0, 0.3])
def test_a_ship_stable_upright_does_not_loll(gm: float) -> None:
    levers = polynomial([gm, 0.0, 0.8], KG, 1.0)
    assert loll_angles(levers, Gravity(KG)) == pytest.approx((math.nan,) * 2, nan_ok=True)


# Greatest lever


def test_the_greatest_lever_is_the_summit() -> None:
    """GZ = c1 φ - c3 φ³ is greatest at √(c1/3c3)."""
    curve = RightingCurve(polynomial([0.6, 0.0, -0.7], KG, 0.95), Gravity(KG))
    summit = math.sqrt(0.6 / 2.1)
    heel, lever = greatest_lever(curve)
    assert heel == pytest.approx(summit, abs=1e-7)
    assert lever == pytest.approx(0.4 * summit, abs=1e-14)


def test_the_greatest_lever_is_the_residual_one_and_to_starboard() -> None:
    curve = RightingCurve(polynomial([0.6, -0.5], KG, 0.95), Gravity(KG), Heeling(lever=0.1))
    assert greatest_lever(curve) == pytest.approx((0.6, 0.08), abs=1e-7)


def test_a_lever_that_still_rises_at_the_end_is_greatest_there() -> None:
    curve = RightingCurve(polynomial([0.6], KG, 0.95), Gravity(KG))
    assert greatest_lever(curve) == pytest.approx((0.95, 0.57), abs=1e-14)


def all_numbers(levers: Levers, gravity: Gravity) -> Floats:
    curve = RightingCurve(levers, gravity)
    return np.array([*vanishing_angles(levers, gravity), static_heel(curve, 0.0)])


@settings(deadline=None)
@given(gm=st.floats(-1e-3, 1e-3))
def test_nothing_jumps_as_gm_goes_through_zero(gm: float) -> None:
    """GZ = GM φ + c φ³ - d φ⁵: all numbers are closed forms that hold at every GM."""
    levers = polynomial([gm, 0.0, 0.8, 0.0, -1.0], KG, 1.2)
    square = 0.4 + math.sqrt(0.16 + gm)
    rest = math.sqrt(max(0.0, -gm / square)) if gm < -1e-7 else 0.0
    expected = [math.sqrt(square), -math.sqrt(square), rest]
    assert all_numbers(levers, Gravity(KG)) == pytest.approx(expected, abs=4e-4)
