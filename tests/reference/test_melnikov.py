"""Melnikov's estimate against closed forms of the escape equation, the quartic and the double well.

Figures of the biased quartic were computed apart from this code, along the numerical orbit.
"""

from __future__ import annotations

import math

import pytest
from steady_cases import COSINE, driven

from rollsim.ship.damping import Damping
from rollsim.steady.melnikov import orbits, wave_heights


def test_the_loop_of_the_escape_equation() -> None:
    """∫ p² dt = 6/5, the area of the undamped safe basin; F = b sinh(πω) / (5 π ω²)."""
    (loop,), inner = orbits(driven(1.0, -1.0, damping=Damping(0.1)))
    assert loop.square == pytest.approx(1.2, rel=1e-7)
    assert not inner


@pytest.mark.parametrize("frequency", [0.6, 0.85, 1.0, 1.2])
@pytest.mark.parametrize("b", [0.02, 0.1])
def test_one_sided_escape(frequency: float, b: float) -> None:
    exact = b * math.sinh(math.pi * frequency) / (5.0 * math.pi * frequency**2)
    found, between = wave_heights(driven(1.0, -1.0, damping=Damping(b), frequency=frequency))
    assert found == pytest.approx(exact, rel=1e-6)
    assert math.isnan(between)


def test_the_remembered_value() -> None:
    """0.063 at b = 0.1, ω = 0.85 (Thompson, from memory)."""
    assert round(wave_heights(driven(1.0, -1.0, damping=Damping(0.1)))[0], 3) == 0.063


@pytest.mark.parametrize("frequency", [0.6, 1.0, 1.2])
@pytest.mark.parametrize("damping", [Damping(0.1), Damping(0.05, 0.1), Damping(0.0, 0.1, 0.2)])
def test_two_sided_escape_with_every_damping(frequency: float, damping: Damping) -> None:
    """x − x³: [(2√2/3) b1 + (8/15) b2 + (8√2/35) b3] sinh(πω/√2) / (√2 π ω)."""
    taken = 2.0 * math.sqrt(2.0) / 3.0 * damping.linear + 8.0 / 15.0 * damping.quadratic
    taken += 8.0 * math.sqrt(2.0) / 35.0 * damping.cubic
    root = math.sqrt(2.0)
    exact = taken * math.sinh(math.pi * frequency / root) / (root * math.pi * frequency)
    case = driven(1.0, 0.0, -1.0, damping=damping, frequency=frequency, phase=COSINE, capsize=1.4)
    assert wave_heights(case)[0] == pytest.approx(exact, rel=1e-6)


# x (1 − x) (1 + a x) at b = 0.1, ω = 0.85: the threshold and the area of the loop.
@pytest.mark.parametrize(
    ("bias", "force", "area"),
    [(0.25, 0.065352, 1.330716), (0.5, 0.067579, 1.469987), (0.75, 0.070552, 1.630095),
     (0.9, 0.075063, 1.752579)],
)  # fmt: skip
def test_biased_escape(bias: float, force: float, area: float) -> None:
    case = driven(1.0, bias - 1.0, -bias, damping=Damping(0.1), capsize=2.9)
    outer, _ = orbits(case)
    assert outer[0].square == pytest.approx(area, abs=2e-6)
    assert wave_heights(case)[0] == pytest.approx(force, abs=1e-6)


@pytest.mark.parametrize(
    ("d", "frequency", "force"),
    [(0.25, 1.0, 0.188255), (0.1, 1.0, 0.075302), (0.15, 0.833, 0.107291), (0.25, 1.2, 0.210633)],
)
def test_between_two_wells(d: float, frequency: float, force: float) -> None:
    """−x + x³ (Guckenheimer and Holmes): 4 d cosh(πω/2) / (3√2 π ω)."""
    exact = 4.0 * d * math.cosh(0.5 * math.pi * frequency)
    exact /= 3.0 * math.sqrt(2.0) * math.pi * frequency
    case = driven(
        -1.0, 0.0, 1.0, damping=Damping(d), frequency=frequency, phase=COSINE, capsize=2.9
    )
    towards_capsize, between = wave_heights(case)
    assert between == pytest.approx(exact, rel=1e-6)
    assert between == pytest.approx(force, abs=2e-6)
    assert math.isnan(towards_capsize)


def test_saddles_of_nearly_one_height_give_nearly_the_symmetric_value() -> None:
    """The loop of the lower one then lingers at the other, and its halves may cancel."""
    even = driven(1.0, 0.0, -1.0, damping=Damping(0.1), frequency=0.8, capsize=1.4)
    exact = wave_heights(even)[0]
    for tilt in (1e-6, 1e-5, 1e-4):
        biased = driven(1.0, -tilt, -1.0, damping=Damping(0.1), frequency=0.8, capsize=1.4)
        assert wave_heights(biased)[0] == pytest.approx(exact, rel=0.01)
