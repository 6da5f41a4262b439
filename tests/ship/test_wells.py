"""The wells of many loadings at once are those of each by its equilibria."""

from __future__ import annotations

import math
import time

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rollsim.ship import wells
from rollsim.ship.equilibria import equilibria
from rollsim.ship.levers import Levers, from_kn_table, polynomial, wall_sided
from rollsim.ship.rests import Loadings
from rollsim.ship.wells import Well, lowest_wells, one_well

HEEL = np.radians([0, 5, 10, 20, 30, 40, 50, 60, 75, 90])
KN = np.array([0.0, 0.4942, 0.99, 1.9953, 2.9693, 3.7123, 4.2227, 4.52, 4.62, 4.3889])
HULLS = {
    "kn": (from_kn_table(HEEL, KN, 5.66), 5.5),
    "sine": (Levers(-math.pi, math.pi, sine=5.5), 5.0),
    "cubic": (polynomial([0.5, 0.0, -0.8], 5.0, 1.2), 5.0),
    "wall": (wall_sided(5.6, 3.0, 0.7), 5.5),
}


def loadings(hull: str, law: str, *rows: tuple[float, float, float, float]) -> Loadings:
    """Loadings by KG less the hull's usual one, off-centre G, wind lever, constant lever [m]."""
    levers, kg = HULLS[hull]
    shift, off, wind, lever = np.array(rows, dtype=float).T
    return Loadings(levers, law, kg + shift, off, wind, lever)


small = st.floats(-0.3, 0.3)
row = st.tuples(st.floats(-0.4, 0.6), small, small, small)
rounded = st.tuples(*[st.sampled_from([-0.5, -0.1, 0.0, 0.1, 0.5])] * 4)


@given(
    hull=st.sampled_from(sorted(HULLS)),
    law=st.sampled_from(["constant", "cos", "cos2"]),
    rows=st.lists(st.one_of(row, rounded), min_size=1, max_size=6),
    share=st.floats(0.2, 1.0),
)
def test_many_wells_are_those_of_each(
    hull: str, law: str, rows: list[tuple[float, float, float, float]], share: float
) -> None:
    all_of_them = loadings(hull, law, *rows)
    limit = share * all_of_them.levers.heel_max
    found = lowest_wells(all_of_them, limit)
    each = [one_well(all_of_them.curve(i), limit) for i in range(len(rows))]
    assert found == pytest.approx(np.array(each), abs=1e-11, nan_ok=True)


@pytest.mark.parametrize("shift", [-0.1, -1e-10, 0.0, 0.0 + 1e-13, 0.1])
def test_a_ship_that_nothing_rights_has_no_well(shift: float) -> None:
    """GZ zero everywhere, or a crest upright and no well within the limit.

    With a GM of 1e-10 m the lever is no more than rounding for half a degree, yet it holds her.
    """
    neutral = Loadings(
        Levers(-1.0, 1.0, sine=5.0), "constant", *np.array([[5.0 + shift] * 2, *np.zeros((3, 2))])
    )
    found = lowest_wells(neutral, 1.0)
    assert np.isnan(found).all() == (shift >= 0.0)
    if shift < 0.0:
        height = -shift * (1.0 - math.cos(1.0))
        assert found[0] == pytest.approx([0.0, height, -1.0, 1.0], abs=1e-14)


def test_an_hour_of_slowly_moving_weight_takes_no_time(monkeypatch: pytest.MonkeyPatch) -> None:
    """Thousands of loadings, each its own, without a look at any alone."""
    monkeypatch.setattr(wells, "one_well", None)
    count = 7200
    off = np.linspace(1e-4, 0.2, count)
    steady = np.zeros(count)
    slow = Loadings(HULLS["kn"][0], "cos2", np.full(count, 5.45), off, steady + 0.02, steady)
    start = time.process_time()
    found = lowest_wells(slow, math.radians(60.0))
    assert time.process_time() - start < 3.0
    assert np.all(np.diff(found[:, 1]) < 0.0)


def flat_about(low: float, high: float, sign: float) -> Loadings:
    """A lever of exactly zero from `low` to `high` [rad], beyond them `sign` times the cube of the
    distance: she rests anywhere between, and is driven back to it, or away."""
    knots = np.array([-1.0, low, high, 1.0])
    # (φ − low)³ in φ + 1, from the left knot; x³ from the inner one.
    before = sign * np.poly([low + 1.0] * 3)
    rows = np.column_stack([before, np.zeros(4), [sign, 0.0, 0.0, 0.0]])
    levers = Levers(-1.0, 1.0, knots=knots, coefficients=rows)
    return Loadings(levers, "constant", *np.zeros((4, 2)))


@pytest.mark.parametrize(("low", "high"), [(-0.1, 0.1), (-0.3, -0.05), (0.2, 0.5)])
def test_a_level_bottom_is_a_well(low: float, high: float) -> None:
    """A lever of zero over many points of the grid, restoring beyond: V is level there, and the
    barriers stand at the capsize angle, as high as a quarter of the distance's fourth power."""
    found = Well(*lowest_wells(flat_about(low, high, 1.0), 0.9)[0])
    heights = 0.25 * (0.9 + low) ** 4, 0.25 * (0.9 - high) ** 4
    # Potentials count from upright, which may lie on the slope beside it.
    bottom = -0.25 * max(low, -high, 0.0) ** 4
    assert found == pytest.approx((bottom, min(heights), -0.9, 0.9), abs=1e-13)


def test_a_level_crest_is_none() -> None:
    assert np.isnan(lowest_wells(flat_about(-0.1, 0.1, -1.0), 0.9)).all()


def test_two_roots_between_two_points_of_the_grid_are_found() -> None:
    """GZ = (φ − r)(φ − r − 0.2 step) (0.5 − φ), both roots inside one cell of 0.1°."""
    step = math.radians(0.1)
    root = 200.3 * step
    gz = -np.poly([root, root + 0.2 * step, 0.5])
    # As a lever over heel: KN = GZ with G at the keel; the constant is a heeling lever.
    levers = Levers(-1.0, 1.0, powers=np.array(gz[::-1][1:], dtype=np.float64))
    narrow = Loadings(levers, "constant", *np.array([*np.zeros((3, 2)), [-gz[-1]] * 2]))
    found = lowest_wells(narrow, 0.9)[0]
    assert found == pytest.approx(np.array(one_well(narrow.curve(0), 0.9)), nan_ok=True)
    stable = [e.heel for e in equilibria(narrow.curve(0)) if e.kind == "stable"]
    assert len(stable) == 1
    assert found[0] == pytest.approx(float(narrow.curve(0).potential(stable[0])), abs=1e-15)


def test_an_asymmetric_table_has_its_barriers_where_its_crests_are() -> None:
    """Righted less far to port: the barrier there is nearer and lower, and it is what counts."""
    heel = np.radians([-60, -45, -30, -15, 0, 15, 30, 45, 60, 80])
    kn = 5.0 * np.sin(heel) + np.array([0.1, -0.1, -0.2, -0.15, 0, 0.2, 0.4, 0.5, 0.3, -0.4])
    levers = from_kn_table(heel, kn)
    one = Loadings(levers, "constant", *np.array([[5.0, 5.0], *np.zeros((3, 2))]))
    found = Well(*lowest_wells(one, math.radians(60.0))[0])
    crests = [e.heel for e in equilibria(one.curve(0)) if e.kind == "unstable"]
    curve = one.curve(0)
    assert found.port == pytest.approx(min(crests), abs=1e-9)
    assert math.degrees(found.port) == pytest.approx(-52.0, abs=5.0)
    assert found.starboard == pytest.approx(math.radians(60.0), abs=1e-12)
    assert found.height == pytest.approx(float(curve.potential(found.port)) - found.low, abs=1e-13)
    assert found.height < float(curve.potential(found.starboard)) - found.low
