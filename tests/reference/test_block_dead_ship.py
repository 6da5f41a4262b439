"""A box-shaped ship in beam wind and sea by the block engine, against a table of ours.

The model is the dead ship condition of MSC.1/Circ.1627, level 2 (formulas from memory); the
figures were computed apart from this code, for absolute excitation, g 9.81 and 0.05 to 3 rad/s.
They are not published values.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from block_runs import GaussianSea, blocks, case_of, mean_and_error, stepper_of
from numpy.typing import NDArray

from rollsim.engines.block.stepper import Stepper
from rollsim.engines.limits import Limits
from rollsim.motion.coefficients import calm_coefficients
from rollsim.ship.damping import Damping
from rollsim.ship.levers import Gravity, polynomial

Floats = NDArray[np.float64]

G, AIR = 9.81, 1.222
BEAM, DRAUGHT, GM, ABOVE_WATER = 16.0, 6.0, 0.8, -0.24444
"""B, d, GM and the height of G above the waterline [m]."""
NATURAL = math.tau / 12.0
DAMPING = Damping(2.0 * 0.02, 0.4)
VANISHING, FAILURE = math.radians(60.0), math.radians(40.0)
AREA, WIND_LEVER, DRAG, WEIGHT = 900.0, 7.0, 1.22, 5.0e6 * G
LOWEST, HIGHEST = 0.05, 3.0
DURATION, SETTLE, OUTPUT, STEP = 1700.0, 200.0, 1.0, 0.25


def section_slope(omega: Floats, beam: float, draught: float, above: float, gm: float) -> Floats:
    """Effective over wave slope r(ω) of a box, pressures on the whole section (Circ.1627)."""
    k = omega**2 / G
    u, kd = 0.5 * k * beam, k * draught
    across, decay = np.sin(u) / u, np.exp(-kd)
    first = across * ((1.0 + kd) * decay - 1.0) / (k**2 * draught)
    second = -(np.cos(u) - across) * decay / (k**2 * draught)
    third = -across * (1.0 - decay) / kd
    return np.asarray(np.abs(first + second + third * above) / gm)


@pytest.mark.parametrize(("length", "expected"), [(60.0, 0.39164), (400.0, 0.87534)])
def test_slope_of_a_box(length: float, expected: float) -> None:
    # A box 20 × 6 m with G in the waterline, by direct integration of pressure, computed apart.
    omega = np.array([math.sqrt(math.tau * G / length)])
    gm = 3.0 - 6.0 + 20.0**2 / (12.0 * 6.0)
    assert section_slope(omega, 20.0, 6.0, 0.0, gm)[0] == pytest.approx(expected, abs=6e-6)


def wind_speed(height: float) -> float:
    """Mean wind [m/s] that goes with a significant height [m]."""
    return float((height / 0.06717) ** (2.0 / 3.0))


def lever_per_speed(speed: float) -> float:
    """Lever of the gusts per m/s about the mean wind: ρ U C_D A Z / (Δ g) [s]."""
    return AIR * speed * DRAG * AREA * WIND_LEVER / WEIGHT


def storm(height: float, zero_crossing: float) -> GaussianSea:
    """Bretschneider waves and Davenport gusts, these as the slope that heels as much."""
    frequency, length, step = GaussianSea.frequencies(HIGHEST, DURATION)
    inside = (frequency >= LOWEST) & (frequency <= HIGHEST)
    omega, density = frequency[inside], np.zeros(frequency.size)
    b = (math.tau / zero_crossing) ** 4 / math.pi
    elevation = 0.25 * height**2 * b * omega**-5 * np.exp(-b * omega**-4)
    ratio = section_slope(omega, BEAM, DRAUGHT, ABOVE_WATER, GM)
    speed = wind_speed(height)
    x = 600.0 * omega / (math.pi * speed)
    gusts = 4.0 * 0.003 * speed**2 / omega * x**2 / (1.0 + x**2) ** (4.0 / 3.0)
    density[inside] = (ratio * omega**2 / G) ** 2 * elevation
    density[inside] += (lever_per_speed(speed) / GM) ** 2 * gusts
    return GaussianSea(density, length, step)


def stepper(height: float, zero_crossing: float) -> Stepper:
    """The ship under the mean wind's lever, GZ = GM φ (1 − (φ/60°)²)."""
    kg = DRAUGHT + ABOVE_WATER
    levers = polynomial([GM, 0.0, -GM / VANISHING**2], kg, math.radians(90.0))
    calm = calm_coefficients(levers, GM / NATURAL**2, DAMPING)
    speed = wind_speed(height)
    case = case_of(
        levers,
        Gravity(kg),
        calm._replace(relative=False, absolute_gm=GM),
        (DURATION, OUTPUT),
        limits=Limits(roll=FAILURE, capsize=levers.heel_max),
        lever=0.5 * lever_per_speed(speed) * speed,
        seed=4,
    )
    return stepper_of(case, STEP, storm(height, zero_crossing))


@pytest.mark.parametrize(
    ("height", "zero_crossing", "lever", "sigma_deg", "sigma_error", "mean_deg"),
    [
        (3.0, 7.0, 0.01517, 2.625, 0.009, 1.09),
        (6.0, 8.0, 0.03823, 5.737, 0.016, 2.82),
        (8.0, 9.0, 0.05610, 7.638, 0.023, 4.26),
    ],
)
@pytest.mark.parametrize("runs", [256, pytest.param(4096, marks=pytest.mark.slow)])
def test_roll_about_the_mean_wind(
    height: float, zero_crossing: float, lever: float, sigma_deg: float, sigma_error: float,
    mean_deg: float, runs: int,
) -> None:  # fmt: skip
    speed = wind_speed(height)
    assert 0.5 * lever_per_speed(speed) * speed == pytest.approx(lever, abs=6e-6)
    means, squares, failed = [], [], 0
    for found in blocks(stepper(height, zero_crossing), runs, histories=True):
        # As in the table: over the runs that stay below 40 degrees.
        kept = np.isnan(found.passed[0, : found.end_time.size])
        failed += int(np.count_nonzero(~kept))
        roll = np.degrees(found.histories[0, round(SETTLE / OUTPUT) :, kept].astype(np.float64))
        means.append(np.mean(roll, axis=1))
        squares.append(np.mean(roll**2, axis=1))
    mean, mean_error = mean_and_error(np.concatenate(means))
    second = np.concatenate(squares) - 2.0 * mean * np.concatenate(means) + mean**2
    variance, variance_error = mean_and_error(second)
    sigma = math.sqrt(variance)
    error = variance_error / (2.0 * sigma)
    print(
        f"Hs {height} m, {runs} runs, {failed} over 40°: sigma {sigma:.4f} ± {error:.4f}, table "
        f"{sigma_deg} ± {sigma_error}; mean {mean:.4f} ± {mean_error:.4f}, table {mean_deg}"
    )
    assert error < 0.1 / math.sqrt(runs) * sigma_deg
    assert abs(sigma - sigma_deg) < 3.5 * math.hypot(error, sigma_error)
    # The table's mean is rounded to 0.01° and comes from 400 runs.
    of_table = math.hypot(float(mean_error) * math.sqrt(runs / 400.0), 0.003)
    assert abs(mean - mean_deg) < 3.5 * math.hypot(float(mean_error), of_table)
