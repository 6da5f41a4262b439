"""Linear roll in irregular seas: every storm by superposition, and variances by the spectrum."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.typing import NDArray
from reference_runs import (
    Motion,
    Ship,
    polynomial_ship,
    release,
    wall_sided_ship,
)
from scipy.integrate import quad

from rollsim.constants import GRAVITY
from rollsim.engines.limits import Tolerances
from rollsim.ship.damping import Damping, from_critical_fraction
from rollsim.ship.statics import loll_angles
from rollsim.weather.draws import repeat_time
from rollsim.weather.sea import Components, SeaState, realise
from rollsim.weather.spectra import bretschneider

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]

NATURAL = math.tau / 12.0
ZETA = 0.05
HEIGHT, ZERO_CROSSING, COEFFICIENT = 5.0, 8.0, 0.75
LINEAR = polynomial_ship(
    0.7,
    damping=Damping(from_critical_fraction(ZETA, NATURAL)),
    gyradius=math.sqrt(0.7 * GRAVITY) / NATURAL,
)
CUT = 3.0
QUICK = Tolerances("DOP853", 1e-6, 1e-8)


def sea(
    duration: float,
    heading_deg: float = 90.0,
    speed: float = 0.0,
    height: float = HEIGHT,
    coefficient: float | None = COEFFICIENT,
) -> SeaState:
    """A Bretschneider sea, Hs 5 m and Tz 8 s, cut at 3 rad/s."""
    return SeaState(
        bretschneider(height, zero_crossing_period=ZERO_CROSSING),
        length=84.0,
        beam=14.0,
        draught=5.2,
        shortest_wave=math.tau * GRAVITY / CUT**2,
        duration=duration,
        heading=math.radians(heading_deg),
        speed=speed,
        slope_coefficient=coefficient,
    )


def response(frequency: Floats, natural: float, linear: float, absolute: bool) -> Complexes:
    """Exact H(ω) from slope to roll of a ship of natural frequency and damping b1 [1/s]."""
    along = 1j * linear * frequency
    top = natural**2 if absolute else natural**2 + along
    return np.asarray(top / (natural**2 - frequency**2 + along))


def superposed(waves: Components, gain: Complexes, times: Floats) -> tuple[Floats, Floats]:
    """Steady roll [rad] and rate [rad/s] at `times`: −Im Σ H s e^(i(ω_e t + ε))."""
    turning = np.exp(1j * np.outer(times, waves.frequency))
    height = gain * waves.slope * np.exp(1j * waves.phase)
    return -(turning @ height).imag, -(turning @ (1j * waves.frequency * height)).imag


def in_step(
    ship: Ship, waves: Components, gain: Complexes, duration: float, absolute: bool, rest: float
) -> tuple[Motion, Floats]:
    """A run let go on the steady course about `rest`, and that course."""
    start, rate = (float(x[0]) for x in superposed(waves, gain, np.zeros(1)))
    waters = ship.among(waves, duration, absolute)
    motion = release(ship, rest + start, rate, duration=duration, step=0.5, waters=waters)
    return motion, superposed(waves, gain, motion.times)[0]


@pytest.mark.parametrize("absolute", [True, False])
@pytest.mark.parametrize(
    ("heading_deg", "speed", "coefficient"),
    [(90.0, 0.0, 0.75), (270.0, 5.0, None), (135.0, 6.0, None), (30.0, 9.0, None)],
)
def test_storm_by_superposition(
    absolute: bool, heading_deg: float, speed: float, coefficient: float | None
) -> None:
    # Exact: a linear ship let go on her steady course keeps to the sum over all components, in the
    # last case with waves that she overtakes among them.
    waves = realise(sea(300.0, heading_deg, speed, coefficient=coefficient), 4, 2)
    assert (np.min(waves.frequency) < 0.0) == (heading_deg == 30.0)
    gain = response(waves.frequency, NATURAL, LINEAR.damping.linear, absolute)
    motion, exact = in_step(LINEAR, waves, gain, 300.0, absolute, 0.0)
    assert np.std(exact) > math.radians(0.5)
    assert np.max(np.abs(motion.roll - exact)) < 1e-7 * np.std(exact)


def by_spectrum(cut: float, absolute: bool, power: int = 0) -> float:
    """Exact moment ∫ω^power |H|² r² (ω²/g)² S dω to `cut`, S = A ω⁻⁵ e^(−B ω⁻⁴) by Hs and Tz."""
    b = (math.tau / ZERO_CROSSING) ** 4 / math.pi

    def density(omega: float) -> float:
        gain = abs(complex(response(np.array([omega]), NATURAL, 2.0 * ZETA * NATURAL, absolute)[0]))
        slope = COEFFICIENT * omega**2 / GRAVITY
        elevation = 0.25 * HEIGHT**2 * b * omega**-5 * math.exp(-b * omega**-4)
        return omega**power * (gain * slope) ** 2 * elevation

    value, _ = quad(density, 0.1, cut, points=[0.4, NATURAL, 0.7, 1.5], limit=200)
    return float(value)


def test_spectral_integral() -> None:
    # Computed apart from this code for g 9.81, cut at 10 rad/s: 6.496392° (rate 3.703769°/s, zero
    # crossings at 11.0207 s) with absolute, 6.5348° with relative excitation.
    scale = 9.81 / GRAVITY
    sigma, rate, relative = (
        math.degrees(math.sqrt(by_spectrum(10.0, *which)))
        for which in ((True,), (True, 2), (False,))
    )
    assert sigma / scale == pytest.approx(6.496392, abs=5e-7)
    assert rate / scale == pytest.approx(3.703769, abs=5e-7)
    assert math.tau * sigma / rate == pytest.approx(11.0207, abs=5e-5)
    assert relative / scale == pytest.approx(6.5348, abs=5e-5)


def scatter(cut: float, absolute: bool, duration: float) -> float:
    """Gaussian theory: √(2π ∫S² dω/T)/m0, the coefficient of variation of a record's variance."""
    b = (math.tau / ZERO_CROSSING) ** 4 / math.pi
    omega = np.linspace(0.2, cut, 20001)
    gain = np.abs(response(omega, NATURAL, 2.0 * ZETA * NATURAL, absolute))
    elevation = 0.25 * HEIGHT**2 * b * omega**-5 * np.exp(-b * omega**-4)
    density = (gain * COEFFICIENT * omega**2 / GRAVITY) ** 2 * elevation
    squared = float(np.sum(density**2) * (omega[1] - omega[0]))
    return math.sqrt(math.tau * squared / duration) / by_spectrum(cut, absolute)


def test_scatter_of_half_an_hour() -> None:
    # Exact: 0.1578 for this ship and sea over 30 minutes.
    assert scatter(10.0, True, 1800.0) == pytest.approx(0.1578, abs=5e-5)


def storm_variance(waves: Components, absolute: bool) -> float:
    """Exact variance [rad²] of the steady roll in one storm: Σ ½ |H|² s²."""
    gain = np.abs(response(waves.frequency, NATURAL, LINEAR.damping.linear, absolute))
    return float(0.5 * np.sum((gain * waves.slope) ** 2))


@pytest.mark.parametrize("absolute", [True, False])
def test_simulated_variance_of_a_storm(absolute: bool) -> None:
    # Exact: over one whole repeat of the storm her mean square is the sum over its components.
    duration = float(repeat_time(300.0))
    waves = realise(sea(300.0), 9, 0)
    gain = response(waves.frequency, NATURAL, LINEAR.damping.linear, absolute)
    motion, _ = in_step(LINEAR, waves, gain, duration, absolute, 0.0)
    found = float(np.mean(motion.roll[:-1] ** 2))
    assert found == pytest.approx(storm_variance(waves, absolute), rel=1e-7)


@pytest.mark.parametrize("absolute", [True, False])
def test_variance_over_storms(absolute: bool) -> None:
    # Exact in the mean over storms; within three standard errors, 3 % of the variance.
    found = np.array([storm_variance(realise(sea(1800.0), 9, run), absolute) for run in range(400)])
    error = float(np.std(found, ddof=1)) / 20.0
    exact = by_spectrum(CUT, absolute)
    assert error < 0.01 * exact
    assert float(np.mean(found)) == pytest.approx(exact, abs=3.0 * error)


@pytest.mark.slow
@pytest.mark.parametrize("absolute", [True, False])
def test_simulated_variance_over_storms(absolute: bool) -> None:
    # Exact in the mean over storms; simulated from rest, within three standard errors by the
    # scatter above, 7 % of the variance.
    settle, duration, runs = 200.0, 2000.0, 40
    found = np.empty(runs)
    for run in range(runs):
        waters = LINEAR.among(realise(sea(duration), 9, run), duration, absolute)
        motion = release(LINEAR, 0.0, duration=duration, step=0.5, waters=waters, tolerances=QUICK)
        found[run] = np.mean(motion.roll[motion.times >= settle] ** 2)
    error = scatter(CUT, absolute, duration - settle) / math.sqrt(runs)
    assert float(np.mean(found)) == pytest.approx(by_spectrum(CUT, absolute), rel=3.0 * error)


@pytest.mark.parametrize("height", [1e-3, 1e-4])
def test_in_the_loll_well(height: float) -> None:
    # Exact in the limit of small seas: about her loll she is a linear ship of stiffness
    # −2 GM / cos φL. GM −0.1, BM 3, natural period about the loll 12 s. What is not linear goes
    # with the height: ten times less at a tenth of it.
    loll, _ = loll_angles(wall_sided_ship(-0.1, 3.0).levers, wall_sided_ship(-0.1, 3.0).gravity)
    gyradius = math.sqrt(0.2 / math.cos(loll) * GRAVITY) / NATURAL
    ship = wall_sided_ship(-0.1, 3.0, gyradius, LINEAR.damping)
    duration = float(repeat_time(300.0))
    waves = realise(sea(300.0, height=height), 4, 2)
    gain = response(waves.frequency, NATURAL, ship.damping.linear, absolute=False)
    motion, exact = in_step(ship, waves, gain, duration, False, loll)
    about = motion.roll - loll
    assert np.max(np.abs(about - exact)) < 3.0 * height * np.std(exact)
    # Her variance over one whole repeat of the storm, by its spectrum.
    found = float(np.mean(about[:-1] ** 2))
    assert found == pytest.approx(storm_variance(waves, absolute=False), rel=3.0 * height)


@pytest.mark.slow
def test_loll_in_white_noise() -> None:
    # Exact (Boltzmann, from memory): x″ + b x′ − x + x³ = s ξ has p ~ exp(−(2b/s²)(v²/2 + V)); for
    # b 0.2, s 0.5: ⟨x²⟩ 0.931286, ⟨x⁴⟩ 1.556286, P(|x| > 1.5) 0.082501. Noise by components of
    # s²/π per rad/s up to 10 rad/s, which leaves ⟨x²⟩ within 5e-5.
    ship = polynomial_ship(-1.0, 0.0, 1.0, damping=Damping(0.2))
    settle, duration, rng = 60.0, 2060.0, np.random.default_rng(5)
    spacing = math.tau / (1.1 * duration)
    frequency = np.arange(0.5 * spacing, 10.0, spacing, dtype=np.float64)
    pooled = []
    for _ in range(12):
        size = rng.rayleigh(math.sqrt(0.25 / math.pi * spacing), frequency.size)
        phase = rng.uniform(0.0, math.tau, frequency.size)
        noise = Components(frequency, 0.0 * frequency, size, phase)
        waters = ship.among(noise, duration)._replace(relative=False, absolute_gm=1.0)
        motion = release(ship, 1.0, duration=duration, step=0.5, waters=waters, tolerances=QUICK)
        pooled.append(motion.roll[motion.times >= settle])
    x = np.array(pooled)
    for found, exact in ((x**2, 0.931286), (x**4, 1.556286), (np.abs(x) > 1.5, 0.082501)):
        means = np.mean(found, axis=1)
        error = float(np.std(means, ddof=1)) / math.sqrt(means.size)
        assert error < 0.03 * exact
        assert float(np.mean(means)) == pytest.approx(exact, abs=3.5 * error)
