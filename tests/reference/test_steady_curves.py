"""Response curves against closed forms, harmonic balance, the backbone and Mathieu's tongues."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.interpolate import CubicSpline
from scipy.optimize import brentq
from scipy.special import ellipk, mathieu_a, mathieu_b
from steady_cases import COSINE, along, driven

from rollsim.constants import GRAVITY
from rollsim.engines.base import Case
from rollsim.forcing.storm import Storm
from rollsim.motion.coefficients import calm_coefficients
from rollsim.ship.damping import Damping
from rollsim.steady.backbone import backbones
from rollsim.steady.branch import Point
from rollsim.steady.family import PERIOD, WAVE_HEIGHT, Family
from rollsim.steady.search import Search
from rollsim.weather.sea import RegularWave, SeaState


def amplitude(point: object) -> float:
    assert isinstance(point, Point)
    return point.course.amplitude


def value(point: object) -> float:
    assert isinstance(point, Point)
    return point.value


def test_a_linear_ship_rolls_by_the_closed_form() -> None:
    """A = F / √((1 − ω²)² + b²ω²) with F ∝ ω², multipliers exp((−b/2 ± i√(1 − b²/4)) T)."""
    b = 0.2
    search = Search(driven(1.0, damping=Damping(b), frequency=1.0), PERIOD, 4.0, 9.0)
    (branch,) = search.run()
    period = along(branch, value)
    omega = math.tau / period
    force = 0.05 * omega**2
    expected = force / np.hypot(1.0 - omega**2, b * omega)
    assert along(branch, amplitude) == pytest.approx(expected, rel=1e-5)
    for point in branch.points:
        exact = np.exp((-0.5 * b + 1j * math.sqrt(1.0 - 0.25 * b**2)) * point.value)
        found = point.multipliers[np.argmax(point.multipliers.imag)]
        assert found == pytest.approx(complex(exact.real, abs(exact.imag)), abs=1e-7)
    assert not search.specials("fold")


def folded(b: float, force: float, low: float, high: float) -> Search:
    """x″ + b x′ + x − x³ = F cos ωt over F at ω = 0.9."""
    case = driven(
        1.0, 0.0, -1.0, damping=Damping(b), frequency=0.9, phase=COSINE, force=force, capsize=1.4
    )
    search = Search(case, WAVE_HEIGHT, low, high)
    search.run()
    return search


def test_harmonic_balance() -> None:
    """((1 − ω² − ¾ A²)² + b² ω²) A² = F², good to A² / 32 or so of its third harmonic."""
    search = folded(0.05, 0.02, 0.005, 0.04)
    size = along(search.branches[0], amplitude)
    force = np.sqrt((1.0 - 0.81 - 0.75 * size**2) ** 2 + (0.05 * 0.9) ** 2) * size
    moderate = size < 0.45
    found = along(search.branches[0], value)
    assert found[moderate] == pytest.approx(force[moderate], rel=0.02)
    assert size.max() > 0.55
    # Its folds are where dF/dA = 0.
    grid = np.linspace(0.02, 0.7, 6801)
    balance = ((1.0 - 0.81 - 0.75 * grid**2) ** 2 + (0.05 * 0.9) ** 2) * grid**2
    turns = np.flatnonzero(np.diff(np.sign(np.diff(balance)))) + 1
    folds = sorted(special.point.value for special in search.specials("fold"))
    assert folds == pytest.approx(sorted(np.sqrt(balance[turns])), rel=0.05)


def test_the_backbone_is_exact() -> None:
    """x″ + x − x³ = 0: T = 4 K(m) / Ω, Ω² = 1 − a²/2, m = a² / (2 − a²)."""
    (bone,) = backbones(driven(1.0, 0.0, -1.0, damping=Damping(), capsize=1.4))
    a = bone.amplitude
    exact = 4.0 * ellipk(a**2 / (2.0 - a**2)) / np.sqrt(1.0 - 0.5 * a**2)
    assert bone.period[:-1] == pytest.approx(exact[:-1], rel=1e-7)
    assert a.max() > 0.999


def test_backbones_of_a_double_well() -> None:
    """x″ − x + x³ = 0: about x = ±1 with 2π/√2, and around both: 7.386828151 s at a = 1.6."""
    case = driven(-1.0, 0.0, 1.0, damping=Damping(), capsize=2.8)
    port, starboard, around = backbones(case)
    for bone in (port, starboard):
        assert bone.period[0] == pytest.approx(math.tau / math.sqrt(2.0), rel=2e-4)
    order = np.argsort(around.amplitude)
    curve = CubicSpline(around.amplitude[order], around.period[order])
    assert float(curve(1.6)) == pytest.approx(7.386828151, rel=1e-6)
    assert np.all(np.diff(around.period) < 0.0)


def test_where_damping_is_small_the_curve_folds_on_the_backbone() -> None:
    case = driven(
        1.0, 0.0, -1.0, damping=Damping(0.01), frequency=0.9, phase=COSINE, force=0.006, capsize=1.4
    )
    search = Search(case, PERIOD, 6.3, 8.0)
    search.run()
    upper = max(search.specials("fold"), key=lambda special: special.point.course.amplitude)
    (bone,) = backbones(case)
    free = np.interp(upper.point.course.amplitude, bone.amplitude, bone.period)
    assert upper.point.value == pytest.approx(free, rel=2e-3)


@pytest.mark.slow
def test_symmetry_breaks_before_the_period_doubles() -> None:
    """x″ + 0.1 x′ + x − x³ = F cos 0.8 t: a symmetric orbit has the square of another map for its
    own, so no multiplier of it can be −1 alone; its mirrored pair doubles."""
    case = driven(1.0, 0.0, -1.0, damping=Damping(0.1), frequency=0.8, phase=COSINE, capsize=1.4)
    search = Search(case, WAVE_HEIGHT, 0.02, 0.27)
    search.run()
    (crossing,) = search.specials("branching")
    symmetric = search.branches[0]
    assert not [s for s in symmetric.specials if s.kind == "flip"]
    pair = [b for b in search.branches[1:] if b.ratio == 1]
    assert len(pair) == 2
    means = [branch.points[-1].course.mean for branch in pair]
    assert means[0] == pytest.approx(-means[1], rel=1e-3)
    assert abs(means[0]) > 0.05
    flips = [s.point.value for s in search.specials("flip")]
    assert min(flips) > crossing.point.value


GM, GYRADIUS, LENGTH, GM_PER_M = 0.8, 5.6, 100.0, -0.1
NATURAL = math.sqrt(GRAVITY * GM) / GYRADIUS
OWN = math.sqrt(math.tau * GRAVITY / LENGTH)
"""Frequency [rad/s] of the wave of her length, of which all the height is felt."""


def in_head_sea(met: float, zeta: float, height: float = 1.0) -> Case:
    """GZ = GM φ from ahead in waves of her length, met at `met` [rad/s]: Mathieu's equation."""
    ship = driven(GM, damping=Damping(2.0 * zeta * NATURAL), capsize=1.2)
    c = calm_coefficients(
        ship.levers, GYRADIUS**2 / GRAVITY, Damping(2.0 * zeta * NATURAL), gm_per_m=GM_PER_M
    )
    sea = SeaState(
        RegularWave(height, math.tau / OWN, 0.7), LENGTH, 15.0, 6.0, 15.0, 1.0,
        heading=math.pi, speed=(met - OWN) * GRAVITY / OWN**2,
    )  # fmt: skip
    return replace(ship, coefficients=c, storm=Storm(sea, elevation=True), gm_per_m=GM_PER_M)


def flip_height(met: float, zeta: float, high: float) -> float:
    """Wave height [m] at which upright is no longer stable."""
    search = Search(in_head_sea(met, zeta), WAVE_HEIGHT, 0.01, high)
    follower = search.follower(1)
    first = follower.at_value(np.zeros(2), 0.01)
    assert first is not None
    branch = follower.follow(first, np.array([0.0, 0.0, 1.0]))
    return next(s.point.value for s in branch.specials if s.kind == "flip")


@pytest.mark.parametrize("tuning", [1.9, 2.1])
def test_upright_flips_where_mathieu_s_tongue_begins(tuning: float) -> None:
    """Undamped: A = a1(q) or b1(q) with A = 4 / r², q = A h / 2, h = gm_per_m H / (2 GM)."""
    square = 4.0 / tuning**2
    edge = mathieu_a if square > 1.0 else mathieu_b
    share = float(brentq(lambda h: square - float(edge(1, 0.5 * square * h)), 1e-4, 0.9))
    height = 2.0 * share * GM / abs(GM_PER_M)
    found = flip_height(tuning * NATURAL, 0.0, 1.5 * height)
    # GM φ of the table against sin φ of the wave's share: equal at rest.
    assert found == pytest.approx(height, rel=1e-4)


def test_damping_lifts_the_tongue() -> None:
    """At twice her frequency with ζ = 0.05: h = 0.200109, computed apart from this code."""
    found = flip_height(2.0 * NATURAL, 0.05, 6.0)
    assert found * abs(GM_PER_M) / (2.0 * GM) == pytest.approx(0.200109, rel=1e-4)


def test_a_wave_that_grows_is_the_family_s_own() -> None:
    family = Family(in_head_sea(2.0 * NATURAL, 0.05), WAVE_HEIGHT)
    assert family.wave(3.0).elevation == pytest.approx(1.5)
    assert family.wave(3.0).slope == 0.0
    assert family.wave(3.0).period == pytest.approx(math.pi / NATURAL)


# Peaks by simulation, computed apart from this code; by averaging A² = (4 / 3 c3) [r²/4 − 1 +
# √((h/2)² − (ζ r)²)] they are 0.38610 and 0.52867.
@pytest.mark.parametrize(("tuning", "peak"), [(2.0, 0.38186), (2.1, 0.52772)])
def test_the_roll_that_parametric_resonance_settles_at(tuning: float, peak: float) -> None:
    """φ″ + 0.1 φ′ + (1 + 0.3 cos r t) φ + φ³ = 0; here the wave's share goes with sin φ."""
    ship = driven(1.0, 0.0, 1.0, damping=Damping(0.1), capsize=1.2)
    c = calm_coefficients(ship.levers, 1.0, Damping(0.1), gm_per_m=GM_PER_M)
    height = 2.0 * 0.3 / abs(GM_PER_M)
    sea = SeaState(
        RegularWave(height, math.tau / OWN, 0.7), LENGTH, 15.0, 6.0, 15.0, 1.0,
        heading=math.pi, speed=(tuning - OWN) * GRAVITY / OWN**2,
    )  # fmt: skip
    case = replace(ship, coefficients=c, storm=Storm(sea, elevation=True), gm_per_m=GM_PER_M)
    search = Search(case, WAVE_HEIGHT, 0.5, height)
    search.run()
    doubled = next(branch for branch in search.branches if branch.ratio == 2)
    assert doubled.points[-1].value == pytest.approx(height)
    assert doubled.points[-1].stable
    assert amplitude(doubled.points[-1]) == pytest.approx(peak, rel=0.02)
