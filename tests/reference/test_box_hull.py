"""A box 20 × 12 m at 6 m draught by exact geometry: the table, the loll and the path of B and M."""

from __future__ import annotations

import math

import numpy as np
import pytest
from box_hull import Box

from rollsim.ship.levers import Gravity, from_gz_table, from_kn_table, metacentric_height
from rollsim.ship.metacentre import buoyancy, metacentre
from rollsim.ship.righting import RightingCurve
from rollsim.ship.statics import loll_angles, vanishing_angles

BOX = Box(20.0, 12.0, 6.0)
HEEL_DEG = np.arange(0.0, 91.0, 1.0)
HEEL = np.radians(HEEL_DEG)
FLOATING = [BOX.at(float(heel)) for heel in HEEL]
KM = 3.0 + 20.0**2 / 72.0
LEVERS = from_kn_table(HEEL, [f.kn for f in FLOATING], km=KM)
EDGE = math.atan(6.0 / 10.0)
"""Heel at which deck edge and bilge pass the surface together."""


# Exact polygons, computed apart from this code.
@pytest.mark.parametrize(
    ("kg", "gm", "levers", "vanishing_deg"),
    [
        (
            7.0,
            1.555556,
            {
                10.0: 0.285116,
                20.0: 0.657889,
                30.0: 1.240741,
                40.0: 1.615384,
                50.0: 1.405001,
                60.0: 0.933975,
                70.0: 0.332799,
            },
            75.0971,
        ),
        (8.8, -0.244444, {20.0: 0.042253, 30.0: 0.340741, 40.0: 0.458367, 50.0: 0.026121}, 50.4521),
    ],
)
def test_righting_levers(
    kg: float, gm: float, levers: dict[float, float], vanishing_deg: float
) -> None:
    gravity = Gravity(kg)
    assert metacentric_height(LEVERS, gravity) == pytest.approx(gm, abs=5e-7)
    curve = RightingCurve(LEVERS, gravity)
    gz = curve.value(np.radians(list(levers)))
    assert gz == pytest.approx(list(levers.values()), abs=6e-7)
    starboard, port = vanishing_angles(LEVERS, gravity)
    assert math.degrees(starboard) == pytest.approx(vanishing_deg, abs=2e-4)
    assert port == pytest.approx(-starboard, abs=1e-9)


def test_loll() -> None:
    # Exact: wall-sided as far as the deck edge, so 16.5229° with KG 8.8.
    loll, _ = loll_angles(LEVERS, Gravity(8.8))
    assert math.degrees(loll) == pytest.approx(16.5229, abs=2e-4)
    exact = math.degrees(math.atan(math.sqrt(2.0 * (8.8 - KM) / (KM - 3.0))))
    assert math.degrees(loll) == pytest.approx(exact, abs=1e-4)


def test_same_hull_from_a_table_of_gz() -> None:
    gz = np.array([f.kn for f in FLOATING]) - 7.0 * np.sin(HEEL)
    same = from_gz_table(HEEL, gz, 7.0, KM - 7.0)
    fine = np.radians(np.linspace(-90.0, 90.0, 721))
    assert same.kn(fine) == pytest.approx(LEVERS.kn(fine), abs=1e-13)


def test_paths_of_buoyancy_and_metacentre() -> None:
    # Exact: B is the centroid of what is under water, M lies above it by the inertia of the
    # waterline over the volume; the program knows neither, only KN. Near the deck edge, where the
    # curvature of KN jumps, a cubic spline rounds the corner.
    found = np.array(buoyancy(LEVERS, HEEL, 3.0))
    exact = np.array([f.buoyancy for f in FLOATING]).T
    assert found == pytest.approx(exact, abs=2e-5)
    found = np.array(metacentre(LEVERS, HEEL))
    exact = np.array([f.metacentre for f in FLOATING]).T
    inside = np.abs(HEEL_DEG - math.degrees(EDGE)) > 5.0
    inside &= HEEL_DEG < 85.0
    assert found[:, inside] == pytest.approx(exact[:, inside], abs=2e-3)
    assert found[:, HEEL_DEG < 85.0] == pytest.approx(exact[:, HEEL_DEG < 85.0], abs=0.15)


def test_metacentre_is_highest_at_the_deck_edge() -> None:
    # Common practice: in ship axes M climbs until the deck edge goes under, then falls.
    heel = np.radians(np.arange(0.0, 60.0, 0.1))
    height = metacentre(LEVERS, heel)[1]
    top = float(heel[int(np.argmax(height))])
    assert math.degrees(top) == pytest.approx(math.degrees(EDGE), abs=0.5)
    assert np.all(np.diff(height[heel < EDGE - 0.02]) > 0.0)
    assert np.all(np.diff(height[(heel > EDGE + 0.02) & (heel < math.radians(50.0))]) < 0.0)
