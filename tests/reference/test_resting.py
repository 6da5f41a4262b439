"""Heels of rest against closed forms: the pitchfork of loll, its broken form, its fold.

Wall-sided: GZ = (GM + BM/2 tan² φ) sin φ − y cos φ with G a distance y to starboard of the
centreline, so that (BM/2) t³ + GM t − y = 0 with t = tan φ (exact; the cubic and the angle of loll
tan φ = √(−2 GM / BM) as in textbooks of ship stability, the cubic from memory).
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from rollsim.map_names import BranchEnd
from rollsim.steady.resting import Bounds, Follower, Residual, heels_at

KM, BM = 5.66, 3.0
BOUNDS = Bounds(5.3, 6.0, -1.2, 1.2)


def wall_sided(y: float) -> Residual:
    """Over KG [m]."""

    def residual(kg: float, heel: float) -> tuple[float, float, float]:
        s, c, t = math.sin(heel), math.cos(heel), math.tan(heel)
        arm = KM - kg + 0.5 * BM * t * t
        return arm * s - y * c, -s, arm * c + BM * t / c**2 * s + y * s

    return residual


def starts(kg: float, y: float) -> list[tuple[float, float]]:
    """By the roots of the cubic."""
    roots = np.roots([0.5 * BM, 0.0, KM - kg, -y])
    return [(kg, math.atan(t.real)) for t in roots if abs(t.imag) < 1e-9]


def test_the_pitchfork_of_a_centred_ship() -> None:
    branches = Follower(wall_sided(0.0), BOUNDS).branches([*starts(5.3, 0.0), *starts(6.0, 0.0)])
    assert len(branches) == 2
    for branch in branches:
        (met,) = branch.meetings
        assert met.kind == "branching"
        assert met.value == pytest.approx(KM, abs=1e-9)
        assert met.heel == pytest.approx(0.0, abs=1e-9)
    loll = max(branches, key=lambda branch: branch.points[-1].heel)
    assert all(point.stable for point in loll.points if abs(point.heel) > 1e-6)
    for point in loll.points:
        assert 2.0 * (point.value - KM) == pytest.approx(BM * math.tan(point.heel) ** 2, abs=1e-9)
    upright = min(branches, key=lambda branch: abs(branch.points[-1].heel))
    assert all(point.stable == (point.value < KM) for point in upright.points)


@pytest.mark.parametrize("y", [0.00993808, 0.02, -0.02, 0.05])
def test_the_fold_under_a_shifted_weight(y: float) -> None:
    """tan³ φ = −y / BM at the fold, by the double root of the cubic."""
    branches = Follower(wall_sided(y), BOUNDS).branches([*starts(5.3, y), *starts(6.0, y)])
    (fold,) = [met for branch in branches for met in branch.meetings]
    tangent = -math.copysign((abs(y) / BM) ** (1.0 / 3.0), y)
    assert fold.kind == "fold"
    assert fold.heel == pytest.approx(math.atan(tangent), abs=1e-9)
    assert fold.value == pytest.approx(KM + 0.5 * BM * tangent**2 - y / tangent, abs=1e-9)
    if y == 0.00993808:  # GM −0.1 m at 8.4787°, GG1 0.00993808 m: the counter-flooding trap
        assert fold.value - KM == pytest.approx(0.1, abs=1e-7)
        assert math.degrees(fold.heel) == pytest.approx(-8.4787, abs=1e-4)


def test_a_round_barrel_lies_as_she_is_put() -> None:
    """GZ = (KM − KG) sin φ: at KG = KM every heel is one of rest (exact)."""

    def barrel(kg: float, heel: float) -> tuple[float, float, float]:
        return (KM - kg) * math.sin(heel), -math.sin(heel), (KM - kg) * math.cos(heel)

    branches = Follower(barrel, BOUNDS).branches([(5.3, 0.0), (KM, 0.7)])
    straight = [b for b in branches if np.ptp([p.value for p in b.points]) < 1e-9]
    assert len(straight) == 1
    heels = [p.heel for p in straight[0].points]
    assert max(heels) == pytest.approx(1.2)
    assert min(heels) == pytest.approx(-1.2)
    assert straight[0].ends == (BranchEnd.LEVERS, BranchEnd.LEVERS)


def test_branches_say_why_they_end() -> None:
    """The range, the levers' end with a point on it, a branch that closes, one that is torn."""
    upright, loll = Follower(wall_sided(0.0), BOUNDS._replace(port=-0.3, starboard=0.3)).branches(
        [*starts(5.3, 0.0), *starts(5.7, 0.0)]
    )
    assert upright.ends == (BranchEnd.RANGE, BranchEnd.RANGE)
    assert loll.ends == (BranchEnd.LEVERS, BranchEnd.LEVERS)
    assert sorted(p.heel for p in (loll.points[0], loll.points[-1])) == pytest.approx([-0.3, 0.3])

    def ring(value: float, heel: float) -> tuple[float, float, float]:
        return (value - 5.6) ** 2 + heel**2 - 0.04, 2.0 * (value - 5.6), 2.0 * heel

    (closed,) = Follower(ring, BOUNDS).branches([(5.6, 0.2)])
    assert closed.ends == (BranchEnd.CLOSED, BranchEnd.CLOSED)

    def torn(value: float, heel: float) -> tuple[float, float, float]:
        return heel + (3.0 if value > 5.7 else 0.0), 0.0, 1.0

    (broken,) = Follower(torn, BOUNDS).branches([(5.3, 0.0)])
    assert BranchEnd.STEP_TOO_SMALL in broken.ends


def test_a_ring_is_followed_once_round() -> None:
    """A branch that reaches neither end of the range: a circle in value and heel (made up)."""

    def ring(value: float, heel: float) -> tuple[float, float, float]:
        x = (value - 5.65) / 0.2
        return x * x + heel * heel / 0.09 - 1.0, 2.0 * x / 0.2, 2.0 * heel / 0.09

    (branch,) = Follower(ring, BOUNDS).branches([(5.65, 0.3), (5.65, -0.3)])
    assert {met.kind for met in branch.meetings} == {"fold"}
    assert sorted(round(met.value, 6) for met in branch.meetings) == [5.45, 5.85]
    assert {round(heel, 2) for heel in heels_at(branch.points, 5.65)} == {-0.3, 0.3}
