"""The lowest well and its barrier, on potentials made by hand."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from numpy.typing import ArrayLike, NDArray

from rollsim.ship.wells import NO_WELL, Ends, lowest_well

Floats = NDArray[np.float64]
CAPSIZE = 1.0


class Well(NamedTuple):
    """Potential of the lowest well and height of its lesser barrier."""

    low: float
    height: float


def well_of(
    heel: ArrayLike, potential: ArrayLike, stable: ArrayLike, ends: tuple[float, float]
) -> Well:
    """The lowest well between the potentials at the two capsize angles."""
    arrays = np.asarray(heel, float), np.asarray(potential, float), np.asarray(stable, bool)
    return Well(*lowest_well(*arrays, Ends(CAPSIZE, *ends))[:2])


def of_potential(*coefficients: float, capsize: float = CAPSIZE) -> Well:
    """The well of V = Σ c_i φ^i, its stationary points found here by their own means."""
    v = np.polynomial.Polynomial(coefficients)
    roots = v.deriv().roots()
    heel = np.sort(roots[np.abs(roots.imag) < 1e-9].real)
    heel = heel[np.abs(heel) < capsize]
    ends = (float(v(-capsize)), float(v(capsize)))
    return well_of(heel, v(heel), v.deriv(2)(heel) > 0.0, ends)


def by_scan(*coefficients: float) -> Well:
    """The same by the contract's words alone, on a dense grid."""
    heel = np.linspace(-CAPSIZE, CAPSIZE, 200001)
    v = np.polynomial.Polynomial(coefficients)(heel)
    wells = np.flatnonzero((v[1:-1] < v[:-2]) & (v[1:-1] < v[2:])) + 1
    if wells.size == 0:
        return Well(math.nan, math.nan)
    low = wells[np.argmin(v[wells])]
    return Well(v[low], min(np.max(v[: low + 1]), np.max(v[low:])) - v[low])


def unlike(*coefficients: float) -> bool:
    """Whether no two stationary values of the potential are nearly the same."""
    v = np.polynomial.Polynomial(coefficients)
    roots = v.deriv().roots()
    values = np.sort(v(roots[np.abs(roots.imag) < 1e-6].real))
    return bool(np.min(np.diff(values), initial=1.0) > 1e-3)


# The well and its barrier


def test_a_single_well_between_two_summits() -> None:
    """V = ½ φ² - φ⁴/4·2: summits of 1/8 at ±1/√2, inside the capsize angle."""
    assert of_potential(0.0, 0.0, 0.5, 0.0, -0.5) == pytest.approx((0.0, 0.125), abs=1e-12)


def test_a_well_without_summits_is_as_high_as_its_ends() -> None:
    assert of_potential(0.3, 0.0, 0.5) == pytest.approx((0.3, 0.5), abs=1e-12)


def test_the_lesser_side_is_the_barrier() -> None:
    """A wind to starboard lowers that side: V = ½ φ² - h φ between ±1 has its well at h."""
    assert of_potential(0.0, -0.2, 0.5) == pytest.approx((-0.02, 0.5 * 0.8**2), abs=1e-12)
    assert of_potential(0.0, 0.2, 0.5) == pytest.approx((-0.02, 0.5 * 0.8**2), abs=1e-12)


def test_the_saddle_between_two_wells_is_no_barrier() -> None:
    """V = φ⁴ - ½ φ²: wells of -1/16 at ±½, a saddle of 0 between, 1/2 at the ends."""
    well = of_potential(0.0, 0.0, -0.5, 0.0, 1.0)
    assert well == pytest.approx((-1.0 / 16.0, 0.5 + 1.0 / 16.0), abs=1e-12)


def test_two_wells_within_summits() -> None:
    """With the summits beyond the wells the lesser of them is the barrier, not the saddle."""
    heels, v = [-0.8, -0.4, 0.0, 0.4, 0.8], [0.3, -0.1, 0.0, -0.15, 0.25]
    stable = [False, True, False, True, False]
    assert well_of(heels, v, stable, (0.1, 0.1)) == pytest.approx((-0.15, 0.4), abs=1e-15)
    assert well_of(heels, v, stable, (0.1, 0.6)) == pytest.approx((-0.15, 0.45), abs=1e-15)
    assert well_of(heels, v, stable, (0.6, 0.1)) == pytest.approx((-0.15, 0.4), abs=1e-15)


def test_a_saddle_higher_than_the_summit_of_the_other_side_is_on_the_way_there() -> None:
    """From the starboard well the way to port leads over the saddle, the highest point of it."""
    heels, v = [-0.8, -0.4, 0.0, 0.4, 0.8], [0.05, 0.0, 0.2, -0.15, 0.3]
    well = well_of(heels, v, [False, True, False, True, False], (-0.3, 0.1))
    assert well == pytest.approx((-0.15, 0.35), abs=1e-15)


def test_a_lone_well_off_upright() -> None:
    """G far to port: the only rest is at -0.5, and port is the near side."""
    well = of_potential(0.0, 0.5, 0.5)
    assert well == pytest.approx((-0.125, 0.125), abs=1e-12)


def test_the_lowest_of_unlike_wells_counts_wherever_it_is() -> None:
    heels, v = [-0.7, -0.2, 0.5], [-0.4, 0.1, -0.3]
    stable = [True, False, True]
    assert well_of(heels, v, stable, (0.2, 0.9)) == pytest.approx((-0.4, 0.6), abs=1e-15)
    assert well_of(heels, [-0.3, 0.1, -0.4], stable, (0.9, 0.2)) == pytest.approx(
        (-0.4, 0.6), abs=1e-15
    )


def test_a_shelf_below_the_well_is_no_well() -> None:
    """Where she only pauses on her way over nothing holds her, however low it lies."""
    heels, v = [-0.5, 0.0, 0.5], [0.0, 0.1, -0.3]
    well = well_of(heels, v, [True, False, False], (0.2, -0.4))
    assert well == pytest.approx((0.0, 0.1), abs=1e-15)


def test_like_wells_have_one_barrier() -> None:
    heels, stable = [-0.5, 0.0, 0.5], [True, False, True]
    assert well_of(heels, [-0.1, 0.0, -0.1], stable, (0.3, 0.3)) == (-0.1, 0.4)


@pytest.mark.parametrize(
    "coefficients", [(0.0, 0.0, -0.5), (0.0, 1.0), (0.0, 0.0, -0.1, 0.0, -0.4)]
)
def test_where_nothing_is_stable_there_is_no_well(coefficients: tuple[float, ...]) -> None:
    assert of_potential(*coefficients) == pytest.approx(NO_WELL[:2], nan_ok=True)
    assert all(math.isnan(value) for value in NO_WELL)


@settings(deadline=None)
@given(coefficients=st.lists(st.integers(-9, 9), min_size=3, max_size=7))
def test_the_well_is_what_the_contract_says(coefficients: list[int]) -> None:
    """Like wells and wells near an end are left out: there a grid and rounding decide."""
    well, scan = of_potential(*coefficients), by_scan(*coefficients)
    assume(math.isfinite(well.low) == math.isfinite(scan.low))
    assume(unlike(*coefficients) and not well.height < 1e-6)
    assert well == pytest.approx(scan, abs=1e-6, nan_ok=True)


def test_the_barriers_stand_where_the_potential_is_greatest_on_either_side() -> None:
    heels, v = np.array([-0.8, 0.0, 0.6]), np.array([0.3, 0.0, 0.2])
    stable = np.array([False, True, False])
    assert lowest_well(heels, v, stable, Ends(1.0, 0.1, 0.5))[2:] == (-0.8, 1.0)
