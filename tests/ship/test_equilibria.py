"""Every equilibrium is found and known for what it is, at any GM and under any steady lever."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from ship_samples import HEEL, KINDS, KM, KN, Floats, tables

from rollsim.ship.equilibria import equilibria
from rollsim.ship.levers import (
    Gravity,
    Levers,
    from_gz_table,
    from_kn_table,
    metacentric_height,
    polynomial,
    wall_sided,
)
from rollsim.ship.righting import Heeling, RightingCurve
from rollsim.ship.statics import loll_angles

KG = 5.0
laws = st.sampled_from(["constant", "cos", "cos2"])
heelings = st.builds(Heeling, wind=st.floats(-0.5, 0.5), law=laws, lever=st.floats(-0.3, 0.3))
gravities = st.builds(Gravity, st.floats(4.0, 6.5), st.floats(-0.3, 0.3), st.floats(0.0, 0.3))


def of_gz(*coefficients: float, heel_max: float = 1.4) -> RightingCurve:
    """GZ = Σ c_i φ^i, i from 0; the constant is a heeling lever."""
    levers = polynomial(coefficients[1:], KG, heel_max)
    return RightingCurve(levers, Gravity(KG), Heeling(lever=-coefficients[0]))


def found(curve: RightingCurve) -> list[tuple[float, str]]:
    return [(e.heel, e.kind) for e in equilibria(curve)]


def check_against_scan(curve: RightingCurve) -> None:
    """What holds of the equilibria of any curve, by a dense scan that knows nothing of roots."""
    rests = equilibria(curve)
    heels = np.array([e.heel for e in rests])
    kinds = [e.kind for e in rests if e.kind != "neutral"]
    assert np.all(np.diff(heels) > 0.0)
    assert all(kind != after for kind, after in pairwise(kinds))
    assert np.max(np.abs(curve.value(heels)), initial=0.0) < 1e-11
    scan = np.linspace(curve.levers.heel_min, curve.levers.heel_max, 20011)
    value = curve.value(scan)
    scan, value = scan[np.abs(value) > 1e-12], value[np.abs(value) > 1e-12]
    for i in np.flatnonzero(value[:-1] * value[1:] < 0.0):
        here = [e.kind for e in rests if scan[i] < e.heel < scan[i + 1] and e.kind != "neutral"]
        assert here.count("stable") - here.count("unstable") == (1 if value[i] < 0.0 else -1)


# Against a scan, and against roots chosen beforehand


@settings(deadline=None)
@given(table=tables(), gravity=gravities, heeling=heelings)
def test_no_equilibrium_of_a_table_is_missed(
    table: tuple[Floats, Floats], gravity: Gravity, heeling: Heeling
) -> None:
    check_against_scan(RightingCurve(from_kn_table(*table), gravity, heeling))


@settings(deadline=None)
@given(
    coefficients=st.lists(st.floats(-2.0, 2.0), min_size=1, max_size=7),
    off_centre=st.floats(-0.3, 0.3),
    heeling=heelings,
)
def test_no_equilibrium_of_a_polynomial_is_missed(
    coefficients: list[float], off_centre: float, heeling: Heeling
) -> None:
    levers = polynomial(coefficients, KG, 1.5)
    check_against_scan(RightingCurve(levers, Gravity(KG, off_centre), heeling))


@settings(deadline=None)
@given(roots=st.lists(st.floats(-1.3, 1.3), min_size=1, max_size=7), falling=st.booleans())
def test_the_equilibria_are_the_roots_chosen(roots: list[float], falling: bool) -> None:
    roots = sorted(roots)
    assume(np.min(np.diff(roots), initial=1.0) > 0.02)
    sign = -1.0 if falling else 1.0
    coefficients = sign * np.polynomial.polynomial.polyfromroots(roots)
    rests = found(of_gz(*coefficients))
    assert [heel for heel, _ in rests] == pytest.approx(roots, abs=1e-5)
    from_starboard = ["unstable", "stable"] if falling else ["stable", "unstable"]
    assert [kind for _, kind in reversed(rests)] == (from_starboard * 4)[: len(roots)]


@pytest.mark.parametrize("apart", [1e-2, 1e-3, 1e-4, 2e-6])
@pytest.mark.parametrize("middle", [0.30001, -0.7, 0.0])
def test_a_pair_closer_than_any_grid_is_found(middle: float, apart: float) -> None:
    """GZ = (φ - a)² - d²: both roots stand between two points of the grid."""
    rests = found(of_gz(middle**2 - apart**2, -2.0 * middle, 1.0))
    assert [kind for _, kind in rests] == ["unstable", "stable"]
    assert [heel for heel, _ in rests] == pytest.approx([middle - apart, middle + apart], abs=1e-9)


def test_a_touch_is_neutral() -> None:
    rests = found(of_gz(0.3**2, -0.6, 1.0))
    assert [kind for _, kind in rests] == ["neutral"]
    assert rests[0][0] == pytest.approx(0.3, abs=1e-6)


def test_a_lever_that_never_turns_has_no_equilibrium() -> None:
    assert equilibria(of_gz(0.2, 0.0, 1.0)) == ()


# Through GM = 0


@pytest.mark.parametrize(
    ("gm", "cubic", "kinds"),
    [
        (0.3, 0.5, ["stable"]),
        (0.3, -0.5, ["unstable", "stable", "unstable"]),
        (0.0, 0.5, ["stable"]),
        (0.0, -0.5, ["unstable"]),
        (-0.3, 0.5, ["stable", "unstable", "stable"]),
        (-0.3, -0.5, ["unstable"]),
    ],
)
def test_upright_is_what_its_gm_and_its_cubic_make_it(
    gm: float, cubic: float, kinds: list[str]
) -> None:
    rests = found(of_gz(0.0, gm, 0.0, cubic))
    assert [kind for _, kind in rests] == kinds
    assert rests[len(rests) // 2][0] == 0.0


@pytest.mark.parametrize("gm", [-0.1, -1e-3, -1e-4, -1e-5, -1e-6, -3e-7])
def test_loll_grows_out_of_upright_without_a_gap(gm: float) -> None:
    """GZ = GM φ + c φ³ rests at φ² = -GM/c; the least of these is 0.03°, inside one grid step."""
    curve = of_gz(0.0, gm, 0.0, 1.0, heel_max=math.pi / 3.0)
    loll = math.sqrt(-gm)
    assert [kind for _, kind in found(curve)] == ["stable", "unstable", "stable"]
    assert loll_angles(curve.levers, curve.gravity) == pytest.approx((loll, -loll), rel=1e-6)


def test_no_lever_at_all_is_neutral_everywhere() -> None:
    assert found(of_gz(0.0, 0.0, heel_max=1.0)) == [(0.0, "neutral")]


@pytest.mark.parametrize("levers", KINDS.values(), ids=KINDS.keys())
def test_no_metacentric_height_at_all_goes_through_the_same_code(levers: Levers) -> None:
    gravity = Gravity(float(levers.slope(0.0)))
    assert metacentric_height(levers, gravity) == 0.0
    check_against_scan(RightingCurve(levers, gravity))


# G off the centreline, steady levers, ends of the range


@settings(deadline=None)
@given(off_centre=st.floats(0.001, 0.2), kg=st.floats(4.9, 5.9))
def test_g_to_port_is_the_mirror_of_g_to_starboard(off_centre: float, kg: float) -> None:
    levers = from_kn_table(HEEL, KN, KM)
    port = found(RightingCurve(levers, Gravity(kg, -off_centre)))
    starboard = found(RightingCurve(levers, Gravity(kg, off_centre)))
    assert [heel for heel, _ in port] == pytest.approx([-h for h, _ in reversed(starboard)])
    assert [kind for _, kind in port] == [kind for _, kind in reversed(starboard)]


@settings(deadline=None)
@given(off_centre=st.floats(-0.2, 0.2))
def test_g_off_centre_is_a_lever_that_falls_off_by_the_cosine(off_centre: float) -> None:
    levers = from_kn_table(HEEL, KN, KM)
    shifted = found(RightingCurve(levers, Gravity(5.3, off_centre)))
    blown = found(RightingCurve(levers, Gravity(5.3), Heeling(off_centre, "cos")))
    assert [heel for heel, _ in shifted] == pytest.approx([heel for heel, _ in blown], abs=1e-12)


def test_list_by_g_off_centre_has_its_closed_form() -> None:
    """Wall-sided, GM = 0: ½ BM tan³φ = YG, the wall-sided formula (Derrett)."""
    levers = wall_sided(5.0, 3.0, math.radians(40.0))
    rests = found(RightingCurve(levers, Gravity(5.0, 0.0105)))
    heel = math.atan((2.0 * 0.0105 / 3.0) ** (1.0 / 3.0))
    assert [kind for _, kind in rests] == ["stable"]
    assert rests[0][0] == pytest.approx(heel, abs=1e-12)


def test_a_zero_at_the_end_counts_by_its_inner_side() -> None:
    heel = np.radians([0.0, 30.0, 60.0])
    falling = RightingCurve(from_gz_table(heel, [0.0, 0.5, 0.0], KG), Gravity(KG))
    assert [kind for _, kind in found(falling)] == ["unstable", "stable", "unstable"]
    rising = RightingCurve(from_gz_table(heel, [0.0, -0.5, 0.0], KG), Gravity(KG))
    assert [kind for _, kind in found(rising)] == ["stable", "unstable", "stable"]
    for curve in (falling, rising):
        assert found(curve)[-1][0] == pytest.approx(math.radians(60.0), abs=1e-12)
