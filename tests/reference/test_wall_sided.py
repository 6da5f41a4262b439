"""The wall-sided hull: published worked examples and closed forms of GZ, energy, B and M."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rollsim.ship.equilibria import equilibria
from rollsim.ship.levers import Gravity, Levers, from_kn_table, metacentric_height, wall_sided
from rollsim.ship.metacentre import buoyancy, metacentre
from rollsim.ship.righting import Heeling, RightingCurve

RANGE = math.radians(80.0)
HEEL = np.radians(np.arange(-75.0, 76.0, 2.5))

metres = st.floats(0.5, 8.0)
stabilities = st.floats(-1.0, 2.0)


def table_of(levers: Levers) -> Levers:
    """The same hull as a table of KN every half degree to 60 degrees."""
    heel = np.radians(np.arange(0.0, 60.1, 0.5))
    return from_kn_table(heel, levers.kn(heel))


def test_published_righting_lever() -> None:
    # Published: Derrett, Ship Stability for Masters and Mates, p. 130, example 1: 6000 t, KB 3,
    # KM 6, KG 5.5, heel 25°: GZ 0.35 m, moment 2100 t m (of the rounded GZ).
    curve = RightingCurve(wall_sided(6.0, 3.0, RANGE), Gravity(5.5))
    gz = float(curve.value(math.radians(25.0)))
    assert gz == pytest.approx(0.35, abs=0.005)
    assert gz == pytest.approx(0.34915209843630357, rel=1e-13)
    assert 6000.0 * round(gz, 2) == pytest.approx(2100.0, rel=1e-13)


def test_published_small_angle_moment() -> None:
    # Published: Derrett, the same page, example 2: a box 65 × 12 × 8 m, draught 4, KG 4, at 5°:
    # 278.9 t m by W GM sin φ with sin 5° rounded to 0.0872.
    bm = 12.0**2 / (12.0 * 4.0)
    gm = metacentric_height(wall_sided(2.0 + bm, bm, RANGE), Gravity(4.0))
    weight = 65.0 * 12.0 * 4.0 * 1.025
    assert weight * gm * 0.0872 == pytest.approx(278.9, abs=0.05)


def test_published_moments_of_the_box() -> None:
    # Published: Derrett, exercise 15.5 as solved in a public blog (tawhid07): a box 55 × 7.5 × 6 m,
    # draught 4, KG 2.7: 83.42 t m at 6° (small-angle formula), 404.498 t m at 24° (wall-sided).
    bm = 7.5**2 / 48.0
    levers, gravity = wall_sided(2.0 + bm, bm, RANGE), Gravity(2.7)
    weight = 55.0 * 7.5 * 4.0 * 1.025
    gm = metacentric_height(levers, gravity)
    assert weight * gm * math.sin(math.radians(6.0)) == pytest.approx(83.42, abs=0.005)
    moments = weight * RightingCurve(levers, gravity).value(np.radians([6.0, 24.0]))
    assert moments == pytest.approx([84.56412, 404.498], abs=5e-4)


@settings(deadline=None)
@given(stabilities, metres, st.floats(-75.0, 75.0))
def test_righting_lever(gm: float, bm: float, heel_deg: float) -> None:
    # Published: GZ = (GM + ½ BM tan²φ) sin φ (Derrett).
    phi = math.radians(heel_deg)
    exact = (gm + 0.5 * bm * math.tan(phi) ** 2) * math.sin(phi)
    curve = RightingCurve(wall_sided(6.0 + gm, bm, RANGE), Gravity(6.0))
    assert curve.value(phi) == pytest.approx(exact, rel=1e-12, abs=1e-14)


def test_dynamical_stability() -> None:
    # Exact: GM(1 − cos φ) + (BM/2)(1 − cos φ)²/cos φ for GM 1, BM 3.
    curve = RightingCurve(wall_sided(6.0, 3.0, RANGE), Gravity(5.0))
    exact = [0.015543794334721549, 0.06611296910682235, 0.16506350946109657, 0.34113315555790696]
    heel = np.radians([10.0, 20.0, 30.0, 40.0])
    assert curve.potential(heel) == pytest.approx(exact, rel=1e-13)
    assert curve.potential(-heel) == pytest.approx(exact, rel=1e-13)
    assert curve.area(heel[1], heel[3]) == pytest.approx(exact[3] - exact[1], rel=1e-13)
    table = RightingCurve(table_of(curve.levers), Gravity(5.0))
    assert table.potential(heel) == pytest.approx(exact, rel=1e-8)


@settings(deadline=None)
@given(stabilities, metres, st.floats(-75.0, 75.0))
def test_dynamical_stability_formula(gm: float, bm: float, heel_deg: float) -> None:
    phi = math.radians(heel_deg)
    c = math.cos(phi)
    exact = gm * (1.0 - c) + 0.5 * bm * (1.0 - c) ** 2 / c
    curve = RightingCurve(wall_sided(6.0 + gm, bm, RANGE), Gravity(6.0))
    assert curve.potential(phi) == pytest.approx(exact, rel=1e-12, abs=1e-14)


@settings(deadline=None)
@given(metres, metres)
def test_paths_of_buoyancy_and_metacentre(kb: float, bm: float) -> None:
    # Exact (standard theory, from memory): B runs along a parabola, y = BM tan φ,
    # z = KB + ½ BM tan²φ; M along a semicubical parabola, y = −BM tan³φ,
    # z = KB + BM(1 + 3/2 tan²φ). Angles on both sides.
    levers = wall_sided(kb + bm, bm, RANGE)
    t = np.tan(HEEL)
    y, z = buoyancy(levers, HEEL, kb)
    assert y == pytest.approx(bm * t, rel=1e-12, abs=1e-11)
    assert z == pytest.approx(kb + 0.5 * bm * t**2, rel=1e-12)
    y, z = metacentre(levers, HEEL)
    assert y == pytest.approx(-bm * t**3, rel=1e-12, abs=1e-11)
    assert z == pytest.approx(kb + bm * (1.0 + 1.5 * t**2), rel=1e-12)


def test_paths_from_a_table() -> None:
    # The same closed forms at 20° for KB 2, BM 3, from KN given as a table alone.
    for levers, places in ((wall_sided(5.0, 3.0, RANGE), 5e-8), (None, 2e-5)):
        hull = levers or table_of(wall_sided(5.0, 3.0, RANGE))
        heel = math.radians(20.0)
        assert metacentre(hull, heel) == pytest.approx((-0.1446501, 5.5961345), abs=places)
        assert buoyancy(hull, heel, 2.0) == pytest.approx((1.0919107, 2.1987115), abs=places)


@settings(deadline=None)
@given(metres, metres, st.floats(1.0, 10.0), st.floats(-75.0, 75.0))
def test_moseley(kb: float, bm: float, kg: float, heel_deg: float) -> None:
    # Moseley's dynamical stability (from memory): what the vertical distance of B below G gains.
    levers = wall_sided(kb + bm, bm, RANGE)
    phi = math.radians(heel_deg)
    y, z = buoyancy(levers, phi, kb)
    gained = (kg - z) * math.cos(phi) + y * math.sin(phi) - (kg - kb)
    curve = RightingCurve(levers, Gravity(kg))
    assert curve.potential(phi) == pytest.approx(gained, rel=1e-11, abs=1e-12)


def test_metacentre_rights_her() -> None:
    # Exact: GZ is G's distance from the line of buoyancy through M, whatever the heel.
    levers = wall_sided(5.0, 3.0, RANGE)
    y, z = metacentre(levers, HEEL)
    lever = y * np.cos(HEEL) + (z - 4.8) * np.sin(HEEL)
    curve = RightingCurve(levers, Gravity(4.8))
    assert curve.value(HEEL) == pytest.approx(lever, abs=1e-12)


def test_cos2_lever_on_a_sine_curve() -> None:
    # Exact: GZ = GM sin φ against l cos²φ rests at sin φ = (−GM + √(GM² + 4 l²)) / 2l; GM 1 and
    # l 0.25: 13.65458°, GZ there √5 − 2; the areas back to 25° to windward and on to 70°.
    curve = RightingCurve(
        Levers(-math.pi, math.pi, sine=6.0), Gravity(5.0), Heeling(wind=0.25, law="cos2")
    )
    rest = min((e.heel for e in equilibria(curve) if e.kind == "stable"), key=abs)
    assert math.degrees(rest) == pytest.approx(13.654584745979458, abs=1e-10)
    assert math.sin(rest) == pytest.approx(math.sqrt(5.0) - 2.0, rel=1e-12)
    windward = rest - math.radians(25.0)
    assert -curve.area(windward, rest) == pytest.approx(0.0986034328361235, rel=1e-12)
    assert curve.area(rest, math.radians(70.0)) == pytest.approx(0.4952900328202, rel=1e-12)
