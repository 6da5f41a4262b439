"""Each term of the righting lever is of one piece, and their sum has its mirror image."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from ship_samples import HEEL, KINDS, KM, KN, Floats, over_range

from rollsim.ship.equilibria import equilibria
from rollsim.ship.levers import Gravity, Levers, from_kn_table, polynomial
from rollsim.ship.rests import Loadings, rests, static_heels
from rollsim.ship.righting import HEELING_LAWS, Curve, Heeling, Offset, RightingCurve, Rise, Term
from rollsim.ship.statics import loll_angles, static_heel, vanishing_angles

laws = st.sampled_from(sorted(HEELING_LAWS))
heelings = st.builds(Heeling, wind=st.floats(-0.4, 0.4), law=laws, lever=st.floats(-0.2, 0.2))
gravities = st.builds(Gravity, st.floats(4.5, 6.2), st.floats(-0.2, 0.2), st.floats(0.0, 0.2))
terms = st.one_of(
    st.sampled_from([Curve(levers) for levers in KINDS.values()]),
    st.builds(Rise, st.floats(-8.0, 8.0)),
    st.builds(Offset, st.floats(-1.0, 1.0)),
    heelings,
)
SYMMETRIC = {name: KINDS[name] for name in ("table", "table with KM", "wall-sided")}


def reach(term: Term) -> tuple[float, float]:
    if isinstance(term, Curve):
        return term.levers.heel_min + 1e-3, term.levers.heel_max - 1e-3
    return -1.5, 1.5


@settings(deadline=None)
@given(term=terms, share=st.floats(0.0, 1.0))
def test_a_term_s_slope_is_the_derivative_of_its_value(term: Term, share: float) -> None:
    low, high = reach(term)
    heel, step = np.array([low + share * (high - low)]), 1e-5
    difference = (term.value(heel + step) - term.value(heel - step)) / (2.0 * step)
    # A spline's third derivative may be great, so that of the difference is too.
    assert term.slope(heel) == pytest.approx(difference, abs=2e-6)


@settings(deadline=None)
@given(term=terms, share=st.floats(0.0, 1.0))
def test_a_term_s_value_is_the_derivative_of_its_integral(term: Term, share: float) -> None:
    low, high = reach(term)
    heel, step = np.array([low + share * (high - low)]), 1e-5
    difference = (term.integral(heel + step) - term.integral(heel - step)) / (2.0 * step)
    assert term.value(heel) == pytest.approx(difference, abs=1e-8)
    assert term.integral(np.zeros(1)) == pytest.approx([0.0], abs=1e-14)


@settings(deadline=None)
@given(
    name=st.sampled_from(sorted(KINDS)), gravity=gravities, heeling=heelings, share=st.floats(0, 1)
)
def test_the_curve_is_the_sum_of_its_terms(
    name: str, gravity: Gravity, heeling: Heeling, share: float
) -> None:
    curve = RightingCurve(KINDS[name], gravity, heeling)
    heel = np.array([curve.levers.heel_min * (1.0 - share) + curve.levers.heel_max * share])
    for whole, part in (("value", "value"), ("slope", "slope"), ("potential", "integral")):
        total = sum(getattr(term, part)(heel) for term in curve.terms)
        assert getattr(curve, whole)(heel) == pytest.approx(total, abs=1e-13)
    grid, value, slope = curve.on_grid()
    assert value == pytest.approx(curve.value(grid), abs=1e-14)
    assert slope == pytest.approx(curve.slope(grid), abs=1e-13)


def mirrored(gravity: Gravity, heeling: Heeling) -> tuple[Gravity, Heeling]:
    return (
        Gravity(gravity.kg, -gravity.off_centre, gravity.free_surface),
        Heeling(-heeling.wind, heeling.law, -heeling.lever),
    )


@settings(deadline=None)
@given(name=st.sampled_from(sorted(SYMMETRIC)), gravity=gravities, heeling=heelings)
def test_port_is_the_mirror_of_starboard(name: str, gravity: Gravity, heeling: Heeling) -> None:
    """Lever, potential, every equilibrium, vanishing angle and loll, for a symmetric hull."""
    levers = SYMMETRIC[name]
    one = RightingCurve(levers, gravity, heeling)
    other = RightingCurve(levers, *mirrored(gravity, heeling))
    heel = over_range(levers, 101)
    assert other.value(-heel) == pytest.approx(-one.value(heel), abs=1e-13)
    assert other.slope(-heel) == pytest.approx(one.slope(heel), abs=1e-12)
    assert other.potential(-heel) == pytest.approx(one.potential(heel), abs=1e-13)
    here, there = equilibria(one), equilibria(other)[::-1]
    assert [e.kind for e in here] == [e.kind for e in there]
    assert [e.heel for e in here] == pytest.approx([-e.heel for e in there], abs=1e-8)
    starboard, port = vanishing_angles(levers, gravity)
    back = vanishing_angles(levers, mirrored(gravity, heeling)[0])
    assert back == pytest.approx((-port, -starboard), abs=1e-8, nan_ok=True)
    starboard, port = loll_angles(levers, gravity)
    assert port == pytest.approx(-starboard, abs=1e-8, nan_ok=True)


def heels_from(curve: RightingCurve, places: Floats) -> Floats:
    """The static heel from every place [rad]."""
    loading = Loadings.single(curve)
    return static_heels(loading, rests(loading), np.zeros(places.size, dtype=np.intp), places)


@settings(deadline=None)
@given(
    name=st.sampled_from(sorted(KINDS)),
    gravity=gravities,
    heeling=heelings,
    starts=st.lists(st.floats(-0.6, 0.6), min_size=1, max_size=8),
)
def test_many_static_heels_are_each_s_own(
    name: str, gravity: Gravity, heeling: Heeling, starts: list[float]
) -> None:
    curve = RightingCurve(KINDS[name], gravity, heeling)
    rests = [e.heel for e in equilibria(curve) if abs(e.heel) < 0.6]
    places = np.array([*starts, *rests])
    each = [static_heel(curve, float(start)) for start in places]
    assert heels_from(curve, places) == pytest.approx(np.array(each), abs=1e-12, nan_ok=True)


def test_starts_that_the_levers_do_not_reach_have_no_static_heel() -> None:
    """Nothing is known of the way down from there; the others of the list keep theirs."""
    curve = RightingCurve(from_kn_table(HEEL, KN, KM), Gravity(5.3, 0.01))
    found = heels_from(curve, np.array([0.1, 1.6, -2.0, math.radians(90.0)]))
    assert np.isnan(found).tolist() == [False, True, True, True]
    assert found[0] == pytest.approx(static_heel(curve, 0.1), abs=1e-12)


# Loll at GM = 0: GZ = c3 φ³ + c5 φ⁵.
@pytest.mark.parametrize(
    ("coefficients", "loll"),
    [
        ([0.0, 0.0, -0.2, 0.0, 0.8], 0.5),
        ([0.0, 0.0, 0.2, 0.0, 0.8], math.nan),
        ([0.0, 0.0, -0.2, 0.0, 0.1], math.nan),
        ([-1e-9, 0.0, -0.2, 0.0, 0.8], 0.5),
    ],
)
def test_without_gm_the_lever_beside_upright_decides_on_loll(
    coefficients: list[float], loll: float
) -> None:
    levers: Levers = polynomial(coefficients, 5.0, 1.0)
    found: Floats = np.array(loll_angles(levers, Gravity(5.0)))
    assert found == pytest.approx(np.array([loll, -loll]), abs=1e-7, nan_ok=True)


def test_no_loll_where_the_lever_is_stable_upright_and_rests_again_further_out() -> None:
    """GZ = φ (0.1 − φ²)(0.5 − φ²)·: upright holds her, though she would rest at 40° as well."""
    square = np.poly([0.1, 0.5])
    levers = polynomial([square[2], 0.0, square[1], 0.0, square[0]], 5.0, 1.0)
    stable = [e.heel for e in equilibria(RightingCurve(levers, Gravity(5.0))) if e.kind == "stable"]
    assert stable == pytest.approx([-math.sqrt(0.5), 0.0, math.sqrt(0.5)], abs=1e-9)
    assert np.isnan(loll_angles(levers, Gravity(5.0))).all()
