"""The equilibria of many loadings at once are those of each alone."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from ship_samples import KINDS, Floats

from rollsim.ship.equilibria import equilibria
from rollsim.ship.levers import Levers, from_gz_table
from rollsim.ship.rests import CODES, Loadings, rests, vanishing_angles

small = st.floats(-0.3, 0.3)
rows = st.lists(st.tuples(st.floats(4.0, 6.5), small, small, small), min_size=2, max_size=6)


def assert_each_alone(loadings: Loadings) -> None:
    found = rests(loadings)
    for i in range(loadings.kg.size):
        alone = equilibria(loadings.curve(i))
        here = found.row == i
        expected = np.array([e.heel for e in alone])
        assert found.kind[here].tolist() == [CODES[e.kind] for e in alone]
        assert found.heel[here] == pytest.approx(expected, abs=1e-9)


@settings(deadline=None)
@given(
    name=st.sampled_from(sorted(KINDS)),
    law=st.sampled_from(["constant", "cos", "cos2"]),
    numbers=rows,
)
def test_many_loadings_rest_where_each_does(
    name: str, law: str, numbers: list[tuple[float, float, float, float]]
) -> None:
    columns: Floats = np.array(numbers).T
    assert_each_alone(Loadings(KINDS[name], law, *columns))


@pytest.mark.parametrize("end", [0.0, 1e-13, -1e-13])
def test_a_lever_that_ends_at_zero_rests_there_too(end: float) -> None:
    """GZ is zero at 70° and nowhere known beyond: she vanishes there, to both sides."""
    levers: Levers = from_gz_table(np.radians([0, 20, 40, 60, 70]), [0, 0.3, 0.4, 0.2, end], 5.0)
    twice = Loadings(levers, "constant", *np.array([[5.0, 5.0], *np.zeros((3, 2))]))
    assert_each_alone(twice)
    starboard, port = vanishing_angles(rests(twice))
    assert np.degrees(starboard) == pytest.approx([70.0, 70.0], abs=1e-9)
    assert np.degrees(port) == pytest.approx([-70.0, -70.0], abs=1e-9)


def test_a_lever_of_zero_over_a_stretch_is_one_rest_in_its_middle() -> None:
    neutral = Loadings(
        Levers(-1.0, 1.0, sine=5.0), "constant", *np.array([[5.0, 4.9], *np.zeros((3, 2))])
    )
    found = rests(neutral)
    assert found.row.tolist() == [0, 1]
    assert found.heel == pytest.approx([0.0, 0.0], abs=math.ulp(1.0))
    assert found.kind.tolist() == [CODES["neutral"], CODES["stable"]]
