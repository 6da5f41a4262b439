"""Undamped free roll of finite amplitude: exact periods and exact courses in time.

All by elliptic functions, m = k² the parameter; the periods printed were computed apart from this
code from the formula beside them.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from reference_runs import (
    KG,
    PRECISE,
    UNIT_GYRADIUS,
    Motion,
    Ship,
    polynomial_ship,
    release,
    sine_ship,
    wall_sided_ship,
)
from scipy.special import ellipj, ellipk

from rollsim.engines.limits import Tolerances
from rollsim.engines.scipy.methods import METHODS
from rollsim.ship.inertia import gyradius_from_period
from rollsim.ship.levers import Gravity, Levers

PENDULUM = Ship(Levers(-math.pi, math.pi, sine=KG + 1.0), Gravity(KG))
"""GZ = sin φ as a formula; a table of it comes beside."""
SOFTENING = polynomial_ship(1.0, 0.0, -1.0)
DOUBLE_WELL = polynomial_ship(-1.0, 0.0, 1.0)


def over(ship: Ship, amplitude: float, periods: float, tolerances: Tolerances = PRECISE) -> Motion:
    """The unit ship let go at rest from `amplitude` for so many small-angle periods."""
    return release(
        ship, amplitude, duration=periods * math.tau, step=math.tau / 100, tolerances=tolerances
    )


# Exact: T/T0 = (2/π) K(sin²(A/2)) for GZ = GM sin φ.
@pytest.mark.parametrize(
    ("amplitude_deg", "ratio"),
    [
        (5.0, 1.000476172485987),
        (10.0, 1.0019071881432167),
        (20.0, 1.007669025791545),
        (30.0, 1.017408797595956),
        (45.0, 1.039973343196804),
        (60.0, 1.0731820071493645),
        (90.0, 1.1803405990160962),
        (120.0, 1.37288050),
    ],
)
def test_pendulum(amplitude_deg: float, ratio: float) -> None:
    amplitude = math.radians(amplitude_deg)
    assert 2.0 / math.pi * ellipk(math.sin(0.5 * amplitude) ** 2) == pytest.approx(ratio, abs=5e-9)
    for ship, error in ((PENDULUM, 1e-8), (sine_ship(), 1e-7)):
        found = over(ship, amplitude, 6.0).period() / math.tau
        assert found == pytest.approx(ratio, rel=error)


# Exact, as above; the error that each method leaves at a relative tolerance of 1e-8.
@pytest.mark.parametrize(
    ("method", "error"), [("DOP853", 1e-8), ("RK45", 1e-7), ("LSODA", 1e-7), ("Radau", 1e-9)]
)
def test_every_method_meets_the_pendulum(method: str, error: float) -> None:
    motion = over(PENDULUM, math.radians(60.0), 6.0, Tolerances(method, 1e-8, 1e-10))
    assert motion.period() / math.tau == pytest.approx(1.0731820071493645, rel=error)
    assert motion.survived


def test_no_method_is_left_out() -> None:
    assert set(METHODS) == {"DOP853", "RK45", "LSODA", "Radau"}


@pytest.mark.parametrize("method", ["DOP853", "RK45", "LSODA", "Radau"])
def test_error_follows_the_tolerance(method: str) -> None:
    # The exact course: φ = 2 asin(k sn(ω0 t + K)), k = sin(A/2). An error-controlled method of
    # order p lets the error go with the tolerance, but for the last factor 1/p: a thousand times
    # finer must give at least a hundred times less, and no error may be far above its tolerance.
    k = math.sin(math.radians(30.0))
    errors = []
    for relative in (1e-5, 1e-8):
        motion = over(PENDULUM, math.radians(60.0), 6.0, Tolerances(method, relative, relative))
        exact = 2.0 * np.arcsin(k * ellipj(motion.times + ellipk(k**2), k**2)[0])
        errors.append(float(np.max(np.abs(motion.roll - exact))) / relative)
    assert errors[1] * 1e-8 < errors[0] * 1e-5 / 100.0
    assert max(errors) < 200.0


def test_course_of_the_pendulum() -> None:
    k = math.sin(math.radians(45.0))
    motion = over(PENDULUM, math.radians(90.0), 6.0)
    exact = 2.0 * np.arcsin(k * ellipj(motion.times + ellipk(k**2), k**2)[0])
    assert motion.roll == pytest.approx(exact, abs=2e-8)


# Exact: φ = A sn(ωt + K|m), ω = ω0 √(1 − A²/2φv²), m = (A²/2φv²)/(1 − A²/2φv²), T = 4 K/ω for
# GZ = GM φ(1 − (φ/φv)²).
@pytest.mark.parametrize(
    ("amplitude", "ratio"),
    [
        (0.1, 1.0037724206004603),
        (0.2, 1.0153663998527167),
        (0.4, 1.0664170153189847),
        (0.5, 1.1106352353017632),
        (0.6, 1.1737751320864875),
        (0.8, 1.4127313432459379),
        (0.9, 1.6901036124932947),
        (0.95, 1.9862118245112999),
        (0.99, 2.6995078356112727),
    ],
)
def test_softening(amplitude: float, ratio: float) -> None:
    motion = over(SOFTENING, amplitude, 9.0)
    assert motion.period() / math.tau == pytest.approx(ratio, rel=2e-8)
    half = 0.5 * amplitude**2
    omega, m = math.sqrt(1.0 - half), half / (1.0 - half)
    assert 2.0 / math.pi * ellipk(m) / omega == pytest.approx(ratio, rel=1e-12)
    exact = amplitude * ellipj(omega * motion.times + ellipk(m), m)[0]
    # Close to the hilltop any error grows as exp(√2 t) while she lingers there.
    assert motion.roll == pytest.approx(exact, abs=2e-8 / (1.0 - amplitude) ** 1.5)


def test_softening_in_degrees_of_a_ship() -> None:
    # The same formula with sizes of a ship: GM 0.8 m, vanishing 60°, k 5.3 m, from 30°.
    vanishing = math.radians(60.0)
    ship = polynomial_ship(0.8, 0.0, -0.8 / vanishing**2, gyradius=5.3)
    period = math.tau * 5.3 / math.sqrt(9.80665 * 0.8)
    motion = release(ship, 0.5 * vanishing, duration=6.0 * period, step=0.01 * period)
    assert motion.period() == pytest.approx(1.1106352353017632 * period, rel=1e-8)


# Exact: φ = A cn(ωt|m), ω = ω0 √(1 + A²/b²), m = (A²/b²)/(2(1 + A²/b²)), T = 4 K/ω for
# GZ = GM φ(1 + (φ/b)²).
@pytest.mark.parametrize(
    ("amplitude", "ratio"),
    [
        (0.2, 0.9853466934497834),
        (0.5, 0.9181402843809012),
        (1.0, 0.7588542747027054),
        (2.0, 0.5060686835303666),
    ],
)
def test_hardening(amplitude: float, ratio: float) -> None:
    motion = over(polynomial_ship(1.0, 0.0, 1.0), amplitude, 5.0)
    assert motion.period() / math.tau == pytest.approx(ratio, rel=1e-7)
    omega, m = math.sqrt(1.0 + amplitude**2), 0.5 * amplitude**2 / (1.0 + amplitude**2)
    assert 2.0 / math.pi * ellipk(m) / omega == pytest.approx(ratio, rel=1e-12)
    exact = amplitude * ellipj(omega * motion.times, m)[1]
    assert motion.roll == pytest.approx(exact, abs=1e-7 * amplitude)


# Exact for φ″ = φ − φ³: φ = A dn(ωt|m), ω = A/√2, m = 2(A² − 1)/A², T = 2 K/ω; she turns again
# at √(2 − A²).
@pytest.mark.parametrize(
    ("amplitude", "period"),
    [
        (1.01, 4.443220),
        (1.05, 4.451685722897403),
        (1.2, 4.6239052218119125),
        (1.3, 4.99674451517995),
        (1.4, 6.756369163739054),
    ],
)
def test_about_the_loll(amplitude: float, period: float) -> None:
    motion = over(DOUBLE_WELL, amplitude, 6.0)
    assert motion.period(level=1.0) == pytest.approx(period, rel=2e-7)
    assert motion.solution.roll_min == pytest.approx(math.sqrt(2.0 - amplitude**2), rel=1e-8)
    m = 2.0 * (amplitude**2 - 1.0) / amplitude**2
    assert 2.0 * ellipk(m) * math.sqrt(2.0) / amplitude == pytest.approx(period, abs=5e-7)
    exact = amplitude * ellipj(amplitude / math.sqrt(2.0) * motion.times, m)[2]
    assert motion.roll == pytest.approx(exact, abs=1e-6)


# Exact for φ″ = φ − φ³: φ = A cn(ωt|m), ω = √(A² − 1), m = A²/(2(A² − 1)), T = 4 K/ω.
@pytest.mark.parametrize(
    ("amplitude", "period"),
    [(1.45, 11.213235923675935), (1.6, 7.386828150976246), (2.0, 4.68568033658708)],
)
def test_across_upright(amplitude: float, period: float) -> None:
    motion = over(DOUBLE_WELL, amplitude, 6.0)
    assert motion.period() == pytest.approx(period, rel=2e-7)
    assert motion.solution.roll_min == pytest.approx(-amplitude, rel=1e-8)
    m = amplitude**2 / (2.0 * (amplitude**2 - 1.0))
    assert 4.0 * ellipk(m) / math.sqrt(amplitude**2 - 1.0) == pytest.approx(period, rel=1e-12)
    exact = amplitude * ellipj(math.sqrt(amplitude**2 - 1.0) * motion.times, m)[1]
    assert motion.roll == pytest.approx(exact, abs=1e-6)


# Exact: energy quadrature of the wall-sided GZ; GM 1, BM 3, k 8 m, small-angle 16.05127 s.
@pytest.mark.parametrize(
    ("amplitude_deg", "period"),
    [
        (5.0, 15.99030284723528),
        (10.0, 15.809125187069823),
        (20.0, 15.108775050994323),
        (30.0, 14.01668222420904),
    ],
)
def test_wall_sided(amplitude_deg: float, period: float) -> None:
    ship = wall_sided_ship(1.0, 3.0)
    assert math.tau / ship.frequency == pytest.approx(16.051274340712325, rel=1e-14)
    motion = release(ship, math.radians(amplitude_deg), duration=100.0, step=0.15)
    assert motion.period() == pytest.approx(period, rel=2e-8)


# Exact for φ″ = −φ + φ² (Thompson's equation, from memory): T = 2 K(m)/g, m = (r2 − r1)/(r3 − r1),
# g = √((2/3)(r3 − r1))/2, with r1 < r2 < r3 the roots of (2/3)x³ − x² + 2E = 0, r2 the start.
@pytest.mark.parametrize(
    ("start", "period"),
    [(0.2, 6.379378408), (0.5, 6.901643615), (0.8, 8.379378586), (0.95, 11.001035974)],
)
def test_listed_ship(start: float, period: float) -> None:
    motion = over(polynomial_ship(1.0, -1.0), start, 9.0)
    assert motion.period() == pytest.approx(period, rel=2e-8)
    low, middle, high = np.sort(np.roots([2.0 / 3.0, -1.0, 0.0, start**2 - start**3 / 1.5]).real)
    assert middle == pytest.approx(start, rel=1e-12)
    assert motion.solution.roll_min == pytest.approx(low, rel=1e-8)
    exact = 4.0 * ellipk((middle - low) / (high - low)) / math.sqrt((high - low) / 1.5)
    assert exact == pytest.approx(period, abs=5e-9)


def test_published_roll_period_factors() -> None:
    # Published: GM = (f B / T)² with f 0.88, 0.78, 0.75, 0.73 (roll period test, annex of IMO
    # A.167); exact: k/B = f √g / 2π.
    beam, gm = 14.0, 0.7
    factors = {0.88: 0.4386, 0.78: 0.3888, 0.75: 0.3738, 0.73: 0.3638}
    for factor, share in factors.items():
        gyradius = gyradius_from_period(factor * beam / math.sqrt(gm), gm)
        assert gyradius / beam == pytest.approx(share, abs=5e-5)
    assert gyradius_from_period(math.tau, 1.0) == pytest.approx(UNIT_GYRADIUS, rel=1e-14)
