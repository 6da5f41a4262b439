"""Loading by moments: additive in any order, ice by its allowances, the gyradius of masses."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rollsim.ship.loading import Ice, Item, gyradius, iced, total

items = st.lists(
    st.builds(
        Item,
        st.just("x"),
        st.floats(1.0, 1e7),
        st.floats(-5.0, 40.0),
        st.floats(-10.0, 200.0),
        st.floats(-20.0, 20.0),
        st.floats(0.0, 1e7),
    ),
    min_size=1,
    max_size=12,
)


@settings(max_examples=100, deadline=None, derandomize=True)
@given(items, items)
def test_masses_and_moments_add_up_however_they_are_grouped(
    some: list[Item], others: list[Item]
) -> None:
    one, two, both = total(some), total(others), total([*others, *some])
    assert both.mass == pytest.approx(one.mass + two.mass, rel=1e-12)
    for name in ("height", "along", "across"):
        moment = one.mass * getattr(one, name) + two.mass * getattr(two, name)
        assert both.mass * getattr(both, name) == pytest.approx(moment, rel=1e-9, abs=1e-3)
    assert both.free_surface == pytest.approx(one.free_surface + two.free_surface, rel=1e-12)
    parts = [Item("a", one.mass, one.height, one.along, one.across, one.free_surface)]
    parts += [Item("b", two.mass, two.height, two.along, two.across, two.free_surface)]
    assert total(parts).height == pytest.approx(both.height, rel=1e-9, abs=1e-9)


def test_the_ice_of_the_allowances() -> None:
    ice = iced("ice", Ice(420.0, 8.6, 310.0, 9.0), 42.0)
    sides = 310.0 * 15.0
    assert ice.mass == pytest.approx(420.0 * 30.0 + 1.05 * sides)
    assert ice.moment == pytest.approx(420.0 * 30.0 * 8.6 + 1.10 * sides * 9.0)
    assert iced("none", Ice(0.0, 0.0, 0.0, 0.0), 0.0).mass == 0.0


def test_the_gyradius_of_two_masses_a_ring_and_its_water() -> None:
    two = [Item("port", 10.0, 5.0, 0.0, -3.0), Item("starboard", 10.0, 5.0, 0.0, 3.0)]
    assert gyradius(two, 0.0) == pytest.approx(3.0)
    assert gyradius(two, 0.21) == pytest.approx(3.0 * 1.1)
    block = Item("block", 20.0, 5.0, 0.0, own=(12.0**2 + 6.0**2) / 12.0)
    assert gyradius([block], 0.0) == pytest.approx(math.sqrt(15.0))
    stack = [block, Item("above", 20.0, 9.0, 0.0)]
    assert gyradius(stack, 0.0) == pytest.approx(math.sqrt((15.0 + 4.0 + 4.0) / 2.0))
