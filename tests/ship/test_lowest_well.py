"""The lowest well of a potential: its depth, and the height and the heels of its barriers."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from rollsim.ship.wells import NO_WELL, Ends, Well, lowest_well

CAPSIZE = 1.0


def of_potential(*coefficients: float, capsize: float = CAPSIZE) -> Well:
    """The well of V = Σ c_i φ^i, its stationary points found here by their own means."""
    v = np.polynomial.Polynomial(coefficients)
    roots = v.deriv().roots()
    heel = np.sort(roots[np.abs(roots.imag) < 1e-9].real)
    heel = heel[np.abs(heel) < capsize]
    ends = Ends(capsize, float(v(-capsize)), float(v(capsize)))
    return lowest_well(heel, v(heel), v.deriv(2)(heel) > 0.0, ends)


def by_scan(*coefficients: float) -> Well:
    """The same by the contract's words alone, on a dense grid."""
    heel = np.linspace(-CAPSIZE, CAPSIZE, 200001)
    v = np.polynomial.Polynomial(coefficients)(heel)
    wells = np.flatnonzero((v[1:-1] < v[:-2]) & (v[1:-1] < v[2:])) + 1
    if wells.size == 0:
        return NO_WELL
    low = wells[np.argmin(v[wells])]
    # Of points as high as each other the one nearer to the well stands first from there.
    port, starboard = low - np.argmax(v[low::-1]), low + np.argmax(v[low:])
    return Well(v[low], min(v[port], v[starboard]) - v[low], heel[port], heel[starboard])


def unlike(*coefficients: float) -> bool:
    """Whether no two stationary values of the potential are nearly the same."""
    v = np.polynomial.Polynomial(coefficients)
    roots = v.deriv().roots()
    values = np.sort(v(roots[np.abs(roots.imag) < 1e-6].real))
    return bool(np.min(np.diff(values), initial=1.0) > 1e-3)


def of_rests(
    heels: list[float], v: list[float], stable: list[bool], ends: tuple[float, float]
) -> Well:
    """The well of listed equilibria between capsize angles of 1 rad."""
    return lowest_well(np.array(heels), np.array(v), np.array(stable), Ends(CAPSIZE, *ends))


# The well and its barrier


def test_a_single_well_between_two_summits() -> None:
    """V = ½ φ² - ½ φ⁴: summits of 1/8 at ±1/√2, inside the capsize angle."""
    summit = math.sqrt(0.5)
    well = of_potential(0.0, 0.0, 0.5, 0.0, -0.5)
    assert well == pytest.approx((0.0, 0.125, -summit, summit), abs=1e-12)


def test_a_well_without_summits_is_as_high_as_its_ends() -> None:
    assert of_potential(0.3, 0.0, 0.5) == pytest.approx((0.3, 0.5, -1.0, 1.0), abs=1e-12)


def test_the_lesser_side_is_the_barrier() -> None:
    """A wind to starboard lowers that side: V = ½ φ² - h φ between ±1 has its well at h."""
    expected = pytest.approx((-0.02, 0.5 * 0.8**2, -1.0, 1.0), abs=1e-12)
    assert of_potential(0.0, -0.2, 0.5) == expected
    assert of_potential(0.0, 0.2, 0.5) == expected


def test_the_saddle_between_two_wells_is_no_barrier() -> None:
    """V = φ⁴ - ½ φ²: wells of -1/16 at ±½, a saddle of 0 between, 1/2 at the ends."""
    well = of_potential(0.0, 0.0, -0.5, 0.0, 1.0)
    assert well == pytest.approx((-1.0 / 16.0, 0.5 + 1.0 / 16.0, -1.0, 1.0), abs=1e-12)


def test_two_wells_within_summits() -> None:
    """With the summits beyond the wells the lesser of them is the barrier, not the saddle."""
    heels, v = [-0.8, -0.4, 0.0, 0.4, 0.8], [0.3, -0.1, 0.0, -0.15, 0.25]
    stable = [False, True, False, True, False]
    for ends, expected in (
        ((0.1, 0.1), (-0.15, 0.4, -0.8, 0.8)),
        ((0.1, 0.6), (-0.15, 0.45, -0.8, 1.0)),
        ((0.6, 0.1), (-0.15, 0.4, -1.0, 0.8)),
    ):
        assert of_rests(heels, v, stable, ends) == pytest.approx(expected, abs=1e-15)


def test_a_saddle_higher_than_the_summit_of_the_other_side_is_on_the_way_there() -> None:
    """From the starboard well the way to port leads over the saddle, the highest point of it."""
    heels, v = [-0.8, -0.4, 0.0, 0.4, 0.8], [0.05, 0.0, 0.2, -0.15, 0.3]
    well = of_rests(heels, v, [False, True, False, True, False], (-0.3, 0.1))
    assert well == pytest.approx((-0.15, 0.35, 0.0, 0.8), abs=1e-15)


def test_a_lone_well_off_upright() -> None:
    """G far to port: the only rest is at -0.5, and port is the near side."""
    well = of_potential(0.0, 0.5, 0.5)
    assert well == pytest.approx((-0.125, 0.125, -1.0, 1.0), abs=1e-12)


def test_the_lowest_of_unlike_wells_counts_wherever_it_is() -> None:
    heels, v = [-0.7, -0.2, 0.5], [-0.4, 0.1, -0.3]
    stable = [True, False, True]
    expected = pytest.approx((-0.4, 0.6, -1.0, 1.0), abs=1e-15)
    assert of_rests(heels, v, stable, (0.2, 0.9)) == expected
    assert of_rests(heels, [-0.3, 0.1, -0.4], stable, (0.9, 0.2)) == expected


def test_a_shelf_below_the_well_is_no_well() -> None:
    """Where she only pauses on her way over nothing holds her, however low it lies."""
    heels, v = [-0.5, 0.0, 0.5], [0.0, 0.1, -0.3]
    well = of_rests(heels, v, [True, False, False], (0.2, -0.4))
    assert well == pytest.approx((0.0, 0.1, -1.0, 0.0), abs=1e-15)


def test_like_wells_have_one_barrier() -> None:
    """Over both of them: neither the saddle between them nor the other one's bottom."""
    well = of_rests([-0.5, 0.0, 0.5], [-0.1, 0.0, -0.1], [True, False, True], (0.3, 0.3))
    assert well == pytest.approx((-0.1, 0.4, -1.0, 1.0), abs=1e-15)


def test_of_barriers_as_high_as_each_other_the_nearer_counts() -> None:
    """From there on nothing higher is in her way: she is as good as over."""
    heels, v = [-0.8, 0.0, 0.4, 0.6, 0.8], [0.3, -0.1, 0.3, 0.1, 0.3]
    well = of_rests(heels, v, [False, True, False, True, False], (0.3, 0.3))
    assert well == pytest.approx((-0.1, 0.4, -0.8, 0.4), abs=1e-15)


def test_a_lopsided_well_has_its_barriers_at_unlike_heels() -> None:
    """V′ = (φ + 0.9)(φ - 0.1)(0.6 - φ): crests at -0.9 and 0.6, the well between at 0.1."""
    lever = -np.poly([-0.9, 0.1, 0.6])
    v = np.polynomial.Polynomial(lever[::-1]).integ()
    well = of_potential(*v.coef)
    low = float(v(0.1))
    height = min(float(v(-0.9)), float(v(0.6))) - low
    assert well == pytest.approx((low, height, -0.9, 0.6), abs=1e-12)


@pytest.mark.parametrize(
    "coefficients", [(0.0, 0.0, -0.5), (0.0, 1.0), (0.0, 0.0, -0.1, 0.0, -0.4)]
)
def test_where_nothing_is_stable_there_is_no_well(coefficients: tuple[float, ...]) -> None:
    assert of_potential(*coefficients) == pytest.approx(NO_WELL, nan_ok=True)
    assert all(math.isnan(value) for value in NO_WELL)


@settings(deadline=None)
@given(coefficients=st.lists(st.integers(-9, 9), min_size=3, max_size=7))
def test_the_well_is_what_the_contract_says(coefficients: list[int]) -> None:
    """Like wells and wells near an end are left out: there a grid and rounding decide."""
    well, scan = of_potential(*coefficients), by_scan(*coefficients)
    assume(math.isfinite(well.low) == math.isfinite(scan.low))
    assume(unlike(*coefficients) and not well.height < 1e-6)
    v = np.polynomial.Polynomial(coefficients)
    for one, other in ((well[:2], scan[:2]), (v(np.array(well[2:])), v(np.array(scan[2:])))):
        assert np.array(one) == pytest.approx(np.array(other), abs=1e-6, nan_ok=True)
