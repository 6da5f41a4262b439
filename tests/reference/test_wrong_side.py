"""Correcting a loll on the wrong side: the weight on the high side throws her over.

GM −0.1 m, BM 3 m, wall-sided, k 8 m, lolled to port at 14.4775°; a weight already aboard moves to
starboard, lever GG1 cos φ.
"""

from __future__ import annotations

import math

import pytest
from reference_runs import KG, Motion, limit_by_bisection, release, wall_sided_ship

from rollsim.motion.timeline import Change
from rollsim.ship.damping import Damping
from rollsim.ship.levers import Gravity
from rollsim.ship.righting import RightingCurve
from rollsim.ship.statics import loll_angles, static_heel

SHIP = wall_sided_ship(-0.1, 3.0)
LOLL = loll_angles(SHIP.levers, SHIP.gravity)[1]


def corrected(
    shift: float, damping: float = 0.0, over: float = 0.0, duration: float = 400.0
) -> Motion:
    """Her motion when GG1 = `shift` [m] is moved to starboard `over` so many seconds."""
    ship = wall_sided_ship(-0.1, 3.0, damping=Damping(damping))
    changes = [Change(0.0, over, across_moment=shift)]
    return release(ship, LOLL, duration=duration, step=0.5, changes=changes)


def keeps_her_side(motion: Motion) -> bool:
    assert motion.survived
    return motion.solution.roll_max < 0.0


def test_lolled_to_port() -> None:
    assert math.degrees(LOLL) == pytest.approx(-14.477512185929925, abs=1e-10)
    assert keeps_her_side(corrected(0.0))


# Exact by energy: where she swings to and where she would then rest, on the other side.
@pytest.mark.parametrize(
    ("shift", "rest_deg", "swing_deg"),
    [
        (0.0105, 16.69924423399364, 25.18954135376039),
        (0.05, 21.307612855672403, 34.59298531936253),
    ],
)
def test_flop(shift: float, rest_deg: float, swing_deg: float) -> None:
    motion = corrected(shift)
    assert math.degrees(motion.solution.roll_max) == pytest.approx(swing_deg, abs=1e-6)
    curve = RightingCurve(SHIP.levers, Gravity(KG, shift))
    assert math.degrees(static_heel(curve, LOLL)) == pytest.approx(rest_deg, abs=1e-9)
    settled = corrected(shift, damping=0.1)
    assert math.degrees(settled.roll[-1]) == pytest.approx(rest_deg, abs=1e-4)


def test_sudden_limit() -> None:
    # Exact by energy: suddenly and without damping she flops from GG1 = 0.00770435 m on, 77.5 % of
    # the fold (2/3)(−GM) √(−2GM/(3BM)) = 0.00993808 m, the limit of a slow correction.
    limit = limit_by_bisection(lambda shift: keeps_her_side(corrected(shift)), 0.007, 0.0085, 5e-9)
    assert limit == pytest.approx(0.00770435, abs=1.5e-8)
    assert limit / 0.009938079899999066 == pytest.approx(0.775, abs=5e-4)


# Computed apart from this code from the same equation, and so by the exact fold: past it no
# damping holds her.
@pytest.mark.parametrize(
    ("shift", "damping", "flops"),
    [
        (0.0105, 0.05, True),
        (0.0105, 0.3, True),
        (0.0105, 3.0, True),
        (0.0095, 0.05, True),
        (0.0095, 0.3, False),
        (0.0095, 3.0, False),
    ],
)
def test_damping(shift: float, damping: float, flops: bool) -> None:
    assert keeps_her_side(corrected(shift, damping, duration=4000.0)) is not flops


def test_slow_correction() -> None:
    # Exact: slowly, with damping, she keeps her side up to the fold and flops past it.
    assert keeps_her_side(corrected(0.0099, 0.05, over=3000.0, duration=5000.0))
    assert not keeps_her_side(corrected(0.0100, 0.05, over=3000.0, duration=5000.0))


def test_same_weight_lowered_cures_her() -> None:
    # Published cure: only lowering G cures loll (lecture notes on the angle of loll; also Derrett).
    # Exact: 0.15 m lower GM is +0.05 and upright the only rest.
    lower = Change(0.0, 100.0, height_moment=-0.15)
    ship = wall_sided_ship(-0.1, 3.0, damping=Damping(0.1))
    motion = release(ship, LOLL, duration=600.0, step=1.0, changes=[lower])
    assert motion.roll[-1] == pytest.approx(0.0, abs=1e-6)
    assert keeps_her_side(corrected(-0.02, 0.1))
