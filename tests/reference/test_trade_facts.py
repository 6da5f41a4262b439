"""What everybody in the trade knows (common practice), and the program must show as well."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from reference_runs import KG, Ship, release, wall_sided_ship

from rollsim.ship.damping import Damping
from rollsim.ship.equilibria import equilibria
from rollsim.ship.levers import Gravity, from_kn_table, metacentric_height, wall_sided
from rollsim.ship.metacentre import metacentre
from rollsim.ship.righting import RightingCurve
from rollsim.ship.statics import loll_angles, vanishing_angles

RANGE = math.radians(85.0)
# Levers of an invented coaster, KN [m] by heel [deg].
HEEL = np.radians([*range(0, 61, 5), 70, 80, 90])
KN = """0.0 0.493 0.983 1.474 1.969 2.468 2.923 3.319 3.658 3.938 4.160 4.327 4.444
    4.542 4.476 4.264"""
COASTER = from_kn_table(HEEL, np.array(KN.split(), dtype=float), km=5.659)
WEAK_DAMPING = Damping(0.05, 0.3)


def coaster(gm: float) -> Ship:
    return Ship(COASTER, Gravity(5.659 - gm), 5.3, WEAK_DAMPING)


@settings(deadline=None)
@given(st.floats(2.0, 8.0), st.floats(1.0, 6.0), st.floats(2.0, 8.0))
def test_metacentre_above_g_rights_her(km: float, bm: float, kg: float) -> None:
    # Common practice: M above G rights a small heel, G above M adds to it.
    levers, gravity = wall_sided(km, bm, RANGE), Gravity(kg)
    above = float(metacentre(levers, 0.0)[1]) - kg
    assert metacentric_height(levers, gravity) == pytest.approx(above, abs=1e-12)
    righting = float(RightingCurve(levers, gravity).value(1e-3))
    if abs(above) > 1e-4:
        assert (righting > 0.0) == (above > 0.0)


@pytest.mark.parametrize(
    ("gm", "rests_upright"), [(0.3, True), (0.05, True), (-0.02, False), (-0.05, False)]
)
def test_metacentre_above_g_brings_her_back(gm: float, rests_upright: bool) -> None:
    # Common practice: let go at 2° she comes upright with M above G, and heels to her loll without.
    ship = coaster(gm)
    motion = release(ship, math.radians(2.0), duration=1500.0, step=1.0)
    rest = 0.0 if rests_upright else loll_angles(COASTER, ship.gravity)[0]
    assert motion.roll[-1] == pytest.approx(rest, abs=1e-4)
    assert rests_upright or rest > math.radians(5.0)


@settings(deadline=None)
@given(st.floats(0.5, 8.0), st.floats(0.15, 3.0), st.floats(0.1, 7.0))
def test_gm_sin_phi_at_small_heel(bm: float, share: float, heel_deg: float) -> None:
    # Common practice: GM sin φ is GZ within 5 % up to 7° when GM ≥ 0.15 BM.
    gm = share * bm
    curve = RightingCurve(wall_sided(KG + gm, bm, RANGE), Gravity(KG))
    phi = math.radians(heel_deg)
    gz = float(curve.value(phi))
    assert abs(gm * math.sin(phi) - gz) <= 0.05 * gz


def test_gm_sin_phi_fails_with_little_gm() -> None:
    # The limit of the same rule: at 7° the share left out is ½ BM tan²φ; with GM 0.14 BM it is
    # more than 5 % of GZ.
    curve = RightingCurve(wall_sided(KG + 0.14 * 3.0, 3.0, RANGE), Gravity(KG))
    phi = math.radians(7.0)
    gz = float(curve.value(phi))
    assert 0.05 < (gz - 0.14 * 3.0 * math.sin(phi)) / gz < 0.052


@settings(deadline=None)
@given(st.floats(-1.0, 2.0), st.floats(1.0, 6.0))
def test_loll_needs_negative_gm(gm: float, bm: float) -> None:
    # Common practice: no loll unless G is above M.
    ship = wall_sided_ship(gm, bm)
    starboard, port = loll_angles(ship.levers, ship.gravity)
    if ship.gm >= 0.0:
        assert math.isnan(starboard)
        assert math.isnan(port)
    elif gm < -1e-5:
        assert starboard > 0.0 > port


@pytest.mark.parametrize("gm", [0.5, 0.1, 0.01])
def test_no_loll_of_the_coaster_with_gm(gm: float) -> None:
    curve = RightingCurve(COASTER, coaster(gm).gravity)
    upright = [e for e in equilibria(curve) if e.kind == "stable"]
    assert [e.heel for e in upright] == pytest.approx([0.0], abs=1e-9)


@pytest.mark.parametrize("gm", [-0.02, -0.05, -0.08])
def test_negative_gm_alone_does_not_capsize_her(gm: float) -> None:
    # Common practice: she lolls, and stays within her vanishing angle even if let go upright
    # without damping.
    ship = coaster(gm)
    undamped = Ship(ship.levers, ship.gravity, ship.gyradius)
    solution = release(undamped, 1e-3, duration=600.0).solution
    loll, _ = loll_angles(COASTER, ship.gravity)
    vanishing, _ = vanishing_angles(COASTER, ship.gravity)
    assert math.isnan(solution.failure_time)
    assert loll < solution.roll_max < vanishing


def test_flops_to_either_side() -> None:
    # Common practice: the sign of a loll is that she lies to either side at the same angle.
    ship = coaster(-0.05)
    rests = [
        release(ship, math.radians(start), duration=1500.0, step=1.0).roll[-1]
        for start in (0.5, -0.5)
    ]
    assert rests[0] == pytest.approx(-rests[1], abs=1e-6)
    assert 13.0 < math.degrees(rests[0]) < 17.0


def test_small_gm_rolls_slowly() -> None:
    # Common practice: the tender ship rolls slowly, the stiff one fast: T √GM is one number.
    periods = {
        gm: release(wall_sided_ship(gm, 3.0), 1e-3, duration=300.0, step=0.25).period()
        for gm in (0.25, 1.0, 2.25)
    }
    assert periods[0.25] == pytest.approx(2.0 * periods[1.0], rel=1e-5)
    assert periods[1.0] == pytest.approx(1.5 * periods[2.25], rel=1e-5)


def test_list_is_no_loll() -> None:
    # Common practice: with GM > 0 a weight off the centreline lists her to its side and nowhere
    # else; with GM < 0 she can lie on either side.
    listed = equilibria(RightingCurve(COASTER, Gravity(5.359, 0.02)))
    lolled = equilibria(RightingCurve(COASTER, Gravity(5.709, 0.0005)))
    assert [e.heel > 0.0 for e in listed if e.kind == "stable"] == [True]
    assert [e.heel > 0.0 for e in lolled if e.kind == "stable"] == [False, True]
