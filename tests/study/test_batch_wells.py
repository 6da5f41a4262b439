"""The wells of many loadings at once are those of each by its equilibria."""

from __future__ import annotations

import math
import time

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rollsim.ship import wells
from rollsim.ship.levers import Levers, from_kn_table, polynomial, wall_sided
from rollsim.ship.wells import Loadings, lowest_wells, one_well

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


@pytest.mark.parametrize("shift", [-0.1, 0.0, 0.0 + 1e-13, 0.1])
def test_a_ship_that_nothing_rights_has_no_well(shift: float) -> None:
    """GZ nought everywhere, or a crest upright and no well within the limit."""
    neutral = Loadings(
        Levers(-1.0, 1.0, sine=5.0), "constant", *np.array([[5.0 + shift], [0.0], [0.0], [0.0]])
    )
    found = lowest_wells(neutral, 1.0)
    assert np.isnan(found).all() == (shift >= 0.0)
    if shift < 0.0:
        assert found[0, :2] == pytest.approx([0.0, -shift * (1.0 - math.cos(1.0))], abs=1e-14)


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
