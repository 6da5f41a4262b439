"""The angle of loll: published worked examples, exact wall-sided formulas, motion about it."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from reference_runs import KG, Ship, release, wall_sided_ship

from rollsim.motion.timeline import Base, Change, loading_at, timeline
from rollsim.ship.damping import Damping
from rollsim.ship.equilibria import equilibria
from rollsim.ship.levers import Gravity, wall_sided
from rollsim.ship.righting import RightingCurve
from rollsim.ship.statics import loll_angles, static_heel

RANGE = math.radians(85.0)


def loll_deg(km: float, bm: float, kg: float) -> float:
    starboard, port = loll_angles(wall_sided(km, bm, RANGE), Gravity(kg))
    assert port == pytest.approx(-starboard, rel=1e-13)
    return math.degrees(starboard)


def test_published_tutorial_by_inertia() -> None:
    # Published: "Angle of loll" tutorial of Capt. Osman (scribd 154278642), question 3: waterplane
    # inertia 75 000 m4, displacement 20 000 t in sea water, GM −0.83 m: BM 3.84 m, loll 33.31°.
    bm = 7.5e4 / (20000.0 / 1.025)
    assert bm == pytest.approx(3.84, abs=0.005)
    assert loll_deg(KG - 0.83, bm, KG) == pytest.approx(33.31, abs=0.005)


def test_published_tutorial_of_the_box() -> None:
    # Published: the same tutorial, question 4: a box of beam 12 m and draught 4 m lolls to 25°,
    # so GM is −0.3262 m. Half a unit of that last digit is 0.0013°.
    bm = 12.0**2 / (12.0 * 4.0)
    assert loll_deg(KG - 0.3262, bm, KG) == pytest.approx(25.0, abs=0.003)


def test_published_lecture_example() -> None:
    # Published: lecture examples on the angle of loll (mirror of scribd 246994623): KB 4.26,
    # BM 2.84, KG 7.15: GM −0.05 and tan of loll 0.18765.
    loll = math.radians(loll_deg(4.26 + 2.84, 2.84, 7.15))
    assert math.tan(loll) == pytest.approx(0.18765, abs=5e-6)


def test_published_discharge() -> None:
    # Published data (the same lecture examples): 12 500 t, KG 7.84, 500 t discharged from 6.00 m,
    # KB 3.95, KM 7.85. Exact by moments and the wall-sided formula: KG 7.9167, loll 10.476°,
    # slope of GZ there −2 GM / cos φ = 0.1356 m.
    share = -500.0 / 12500.0
    discharge = Change(10.0, 20.0, share, share * 6.0)
    segments = timeline(60.0, Base(Gravity(7.84)), [discharge])
    mass, kg = loading_at(np.array([60.0]), segments)[0, :2]
    assert mass == pytest.approx(0.96, rel=1e-14)
    assert kg == pytest.approx(95.0 / 12.0, rel=1e-14)
    levers = wall_sided(7.85, 3.90, RANGE)
    loll, _ = loll_angles(levers, Gravity(kg))
    assert math.degrees(loll) == pytest.approx(10.476, abs=5e-4)
    assert levers.slope(loll) - kg * math.cos(loll) == pytest.approx(0.1356, abs=5e-5)


def test_published_lift_that_ends_at_no_gm() -> None:
    # Published data (the same lecture examples): 12 500 t, KB 4.2, BM 4.6, KG 8.7; the ship's crane
    # lifts 50 t from 4 m to its head at 29 m and swings it out 10 m. GM is then exactly 0; exact:
    # tan³φ = 2 w d / (W BM), 14.525°. She must come to rest there.
    share = 50.0 / 12500.0
    listed = RightingCurve(wall_sided(8.8, 4.6, RANGE), Gravity(8.7 + share * 25.0, share * 10.0))
    assert math.degrees(static_heel(listed, 0.0)) == pytest.approx(14.525, abs=5e-4)
    ship = Ship(wall_sided(8.8, 4.6, RANGE), Gravity(8.7), 7.0, Damping(linear=0.2))
    lift = Change(0.0, 30.0, 0.0, share * 25.0, share * 10.0)
    motion = release(ship, 0.0, duration=400.0, step=1.0, changes=[lift])
    assert math.degrees(motion.roll[-1]) == pytest.approx(14.525, abs=5e-4)


@settings(deadline=None)
@given(st.floats(-1.0, -0.001), st.floats(1.0, 6.0))
def test_formula(gm: float, bm: float) -> None:
    # Published: tan φ = √(−2 GM / BM) (Derrett, Ship Stability for Masters and Mates).
    exact = math.degrees(math.atan(math.sqrt(-2.0 * gm / bm)))
    assert loll_deg(KG + gm, bm, KG) == pytest.approx(exact, abs=1e-8)


@settings(deadline=None)
@given(st.floats(-1.0, -0.001), st.floats(1.0, 6.0))
def test_what_holds_her_at_loll(gm: float, bm: float) -> None:
    # Exact: the slope of GZ is −2 GM / cos φ, the depth of the well (BM/2)(√(1 − 2 GM/BM) − 1)².
    ship = wall_sided_ship(gm, bm)
    curve = RightingCurve(ship.levers, ship.gravity)
    loll, _ = loll_angles(ship.levers, ship.gravity)
    slope = ship.levers.slope(loll) - KG * math.cos(loll)
    assert slope == pytest.approx(-2.0 * gm / math.cos(loll), abs=1e-9)
    depth = 0.5 * bm * (math.sqrt(1.0 - 2.0 * gm / bm) - 1.0) ** 2
    assert curve.potential(loll) == pytest.approx(-depth, abs=1e-14)


# Exact: the roots of (BM/2) t³ + GM t − GG1 = 0, t = tan φ, for BM 3 m.
@pytest.mark.parametrize(
    ("gm", "shift", "list_deg"),
    [
        (0.1, 0.03, 10.9065),
        (0.0, 0.03, 15.1865),
        (-0.1, 0.03, 19.36736622),
        (-0.1, 0.0105, 16.69924423399364),
        (-0.1, 0.05, 21.307612855672403),
        (0.5, 0.1, 10.3113),
        (-0.1, 0.1, 24.7022),
    ],
)
def test_list_with_weight_off_the_centreline(gm: float, shift: float, list_deg: float) -> None:
    ship = wall_sided_ship(gm, 3.0)
    curve = RightingCurve(ship.levers, Gravity(KG, shift))
    heel = static_heel(curve, 0.0)
    t = math.tan(heel)
    assert 1.5 * t**3 + gm * t == pytest.approx(shift, abs=1e-14)
    assert math.degrees(heel) == pytest.approx(list_deg, abs=5e-5)


def test_fold_of_the_high_side() -> None:
    # Exact: for GM −0.1, BM 3 the rest on the high side goes at GG1 = (2/3)(−GM) √(−2GM/(3BM))
    # = 0.00993808 m, at tan φ = −√(−2GM/(3BM)) = −0.149071.
    ship = wall_sided_ship(-0.1, 3.0)
    assert 0.2 / 3.0 * math.sqrt(0.2 / 9.0) == pytest.approx(0.009938079899999066, rel=1e-12)
    kept = equilibria(RightingCurve(ship.levers, Gravity(KG, 0.0099380798)))
    assert [e.kind for e in kept] == ["stable", "unstable", "stable"]
    assert math.tan(kept[0].heel) == pytest.approx(-0.149071198499986, abs=5e-5)
    assert math.tan(kept[1].heel) == pytest.approx(-0.149071198499986, abs=5e-5)
    gone = equilibria(RightingCurve(ship.levers, Gravity(KG, 0.0099380800)))
    assert [e.kind for e in gone] == ["stable"]
    assert gone[0].heel > 0.0


def test_small_roll_about_loll() -> None:
    # Exact: 2π k / √(g GZ′) with GZ′ = −2 GM / cos φ; 35.317 s for GM −0.1, BM 3, k 8 m.
    ship = wall_sided_ship(-0.1, 3.0)
    loll, _ = loll_angles(ship.levers, ship.gravity)
    motion = release(ship, loll + 1e-4, duration=400.0, step=0.25)
    exact = math.tau * 8.0 / math.sqrt(9.80665 * 0.2065591117977289)
    assert exact == pytest.approx(35.317, abs=5e-4)
    assert motion.period(loll) == pytest.approx(exact, rel=1e-5)


# Exact: a wall-sided ship let go upright swings without damping to cos φ = 1 / (1 − 2 GM / BM),
# which is cos² of the loll.
@pytest.mark.parametrize(
    ("gm", "bm", "swing_deg"), [(-0.1, 3.0, 20.364134806317807), (-0.15, 3.0, 24.6200)]
)
@pytest.mark.parametrize("side", [1.0, -1.0])
def test_flop_from_upright(gm: float, bm: float, swing_deg: float, side: float) -> None:
    ship = wall_sided_ship(gm, bm)
    solution = release(ship, side * 1e-6, duration=400.0).solution
    reached = solution.roll_max if side > 0.0 else -solution.roll_min
    loll, _ = loll_angles(ship.levers, ship.gravity)
    assert math.cos(reached) == pytest.approx(math.cos(loll) ** 2, abs=1e-10)
    assert math.degrees(reached) == pytest.approx(swing_deg, abs=5e-5)
    # The barrier at upright then throws her back the way she came: she never crosses.
    assert side * (solution.roll_min if side > 0.0 else solution.roll_max) > 0.0
