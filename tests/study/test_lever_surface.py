"""Equilibria over a key whose every value has a curve of its own: mass and filling by a hull."""

from __future__ import annotations

import math

import numpy as np
import pytest

from rollsim.scenario.load import loads
from rollsim.ship.levers import Gravity, wall_sided
from rollsim.ship.righting import RightingCurve
from rollsim.study import rest_family
from rollsim.study.equilibria import _followed, equilibria_arrays, equilibria_of
from rollsim.study.lever_surface import LeverSurface, nodes
from rollsim.study.plan import Plan, make_plan
from rollsim.study.rest_family import Family

HULL = """\
format = 1
name = "barge"
[[stations]]
along_m = 0.0
half_breadth_m = [0.0, 5.0, 7.0, 7.0]
height_m = [0.0, 0.0, 1.5, 8.0]
[[stations]]
along_m = 60.0
half_breadth_m = [0.0, 5.0, 7.0, 7.0]
height_m = [0.0, 0.0, 1.5, 8.0]
[[stations]]
along_m = 80.0
half_breadth_m = [0.0, 0.5, 0.5, 0.5]
height_m = [0.0, 0.0, 1.5, 8.5]
"""
SHIP = """\
format = 1
[ship]
name = "Barge"
[ship.levers]
kind = "hull"
file = "barge-hull.toml"
heel_max_deg = 70.0
heel_step_deg = 5.0
trim = "fixed"
[ship.loading]
lightship = { mass_t = 2600.0, height_m = 6.6 }
[[ship.loading.weights]]
name = "deck cargo"
mass_t = 400.0
height_m = 9.0
across_m = 0.05
[[ship.loading.tanks]]
name = "bottom"
box_m = { aft = 10.0, fore = 40.0, port = -4.5, starboard = 4.5, bottom = 0.2, top = 1.4 }
filling_percent = 50.0
free_surface = "liquid"
[ship.inertia]
gyradius_m = 5.3
[run]
duration_s = 100
"""


def plan(key: str, low: float, high: float) -> Plan:
    table = f'[equilibria]\nkey = "{key}"\nfrom = {low}\nto = {high}\n'
    files = f"\n[files]\n\"barge-hull.toml\" = '''\n{HULL}'''\n"
    return make_plan(loads(f"{SHIP}{table}{files}", "a.toml"))


def curve(value: float) -> RightingCurve:
    return RightingCurve(wall_sided(5.0 + value**3, 3.0 - value, 1.0), Gravity(5.3, 0.02 * value))


def test_between_its_nodes_a_surface_is_the_lever() -> None:
    low, high = 0.1, 0.9
    values = 0.5 * (low + high) + 0.5 * (high - low) * nodes(17)
    surface = LeverSurface.through((low, high), (-0.9, 0.9), [curve(float(v)) for v in values])
    h = 1e-6
    for value in (0.1, 0.37, 0.9):
        for heel in (-0.9, -0.1234, 0.0, 0.3, 0.9):
            exact = curve(value)
            lever, by_value, by_heel = surface(value, heel)
            assert lever == pytest.approx(float(exact.value(heel)), abs=1e-10)
            assert by_heel == pytest.approx(float(exact.slope(heel)), abs=1e-6)
            rate = (curve(value + h).value(heel) - curve(value - h).value(heel)) / (2.0 * h)
            assert by_value == pytest.approx(float(rate), abs=1e-7)
    past = surface(1.0, 0.3)
    end = surface(0.9, 0.3)
    assert past[0] == pytest.approx(end[0] + 0.1 * end[1])


def test_its_rests_are_those_of_the_lever() -> None:
    values = 0.5 * nodes(9)
    surface = LeverSurface.through((-0.5, 0.5), (-0.9, 0.9), [curve(float(v)) for v in values])
    at = surface.rests([-0.4, 0.0, 0.4])
    assert len(at) == 9
    for value, heel in at:
        assert float(curve(value).value(heel)) == pytest.approx(0.0, abs=1e-9)
    assert (0.0, 0.0) in at


@pytest.mark.parametrize(
    ("key", "low", "high"),
    [
        ("ship.loading.weights.0.mass_t", 100.0, 1100.0),
        ("ship.loading.tanks.0.filling_percent", 2.0, 98.0),
    ],
)
def test_equilibria_over_mass_and_filling_are_those_of_direct_curves(
    key: str, low: float, high: float
) -> None:
    made = plan(key, low, high)
    family = Family(made, 0, equilibria_of(made))
    held = False
    while not held:
        points = [point for branch in _followed(family) for point in branch.points]
        held = family.holds(points)
    assert len(points) > 30
    assert family._surface is not None
    for point in points[3 :: len(points) // 9]:
        assert family._off(point) < rest_family.NEAR


@pytest.mark.slow
def test_where_the_surface_does_not_hold_every_curve_is_made(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    made = plan("ship.loading.weights.0.mass_t", 100.0, 500.0)
    table = equilibria_of(made)
    quick = equilibria_arrays(made, 0, table)
    monkeypatch.setattr(rest_family, "NODES", 3)
    monkeypatch.setattr(rest_family, "MOST_NODES", 3)
    monkeypatch.setattr(rest_family, "NEAR", 1e-12)
    exact = equilibria_arrays(made, 0, table)
    assert np.nanmax(exact["heel"]) == pytest.approx(np.nanmax(quick["heel"]), abs=1e-3)
    assert np.nanmin(exact["heel"]) == pytest.approx(np.nanmin(quick["heel"]), abs=1e-3)
    assert math.isfinite(exact["present_heel"])
