"""The program against the equation written again elsewhere, and wind against its own spectrum.

Computed apart from this code from the same equation (own_equation), or exact as said there.
"""

from __future__ import annotations

import math
from functools import lru_cache
from itertools import pairwise

import numpy as np
import pytest
import xarray as xr
from own_equation import FLOODING, SCENARIO, SHARE, Course, course, water
from scipy.integrate import quad

import rollsim

METHODS = ("block", "DOP853")


@lru_cache
def own() -> Course:
    return course()


@lru_cache
def result(method: str) -> xr.Dataset:
    text = SCENARIO.replace("duration_s = 120.0", f'duration_s = 120.0\nmethod = "{method}"')
    return rollsim.loads(text).run(workers=1)


@pytest.mark.parametrize("method", METHODS)
def test_course(method: str) -> None:
    # Oblique sea at speed that grows, added weight, wind from starboard with a gust, added inertia.
    roll = np.degrees(own().roll[::50])
    assert result(method).roll_angle.values[0, 0] == pytest.approx(roll, abs=2e-3)


@pytest.mark.parametrize("method", METHODS)
def test_rate_jumps_with_the_water(method: str) -> None:
    # Exact: over a jump of α′ the added inertia takes s Δα′ of it into φ′.
    jump = SHARE * math.degrees(water(52.0, True)[1] - water(52.0, False)[1])
    own_rate = np.degrees(own().rate)
    assert own_rate[5200] - own_rate[5199] == pytest.approx(jump, abs=0.02)
    assert abs(jump) > 0.02
    rate = result(method).roll_rate.sel(t=60.0).item()
    assert rate == pytest.approx(own_rate[6000], abs=2e-3)


@pytest.mark.parametrize("method", METHODS)
def test_flooding_once_the_sea_has_grown(method: str) -> None:
    # She meets it only in the grown sea, whose slope is two and a half times that of the start.
    heel = np.degrees(np.abs(own().heel))
    first = own().times[np.argmax(heel >= FLOODING)]
    assert first > 52.0
    assert result(method).flooding_time.item() == pytest.approx(first, abs=0.011)
    assert result(method).limit_margin.item() == pytest.approx(
        1.0 - heel.max() / FLOODING, abs=5e-4
    )


@pytest.mark.parametrize("method", METHODS)
def test_averages(method: str) -> None:
    mean = np.trapezoid(own().roll, own().times) / 120.0
    spread = math.sqrt(np.trapezoid((own().roll - mean) ** 2, own().times) / 120.0)
    assert result(method).roll_mean.item() == pytest.approx(math.degrees(mean), abs=0.01)
    assert result(method).roll_std.item() == pytest.approx(math.degrees(spread), abs=0.01)


WINDY = """
format = 1
title = "Gusty wind alone"
[ship]
name = "Wanda"
length_m = 84.0
beam_m = 14.0
draught_m = 5.2
displacement_t = 4250.0
levers = { kind = "polynomial", gz_m_per_rad = [1.0], kg_m = 5.0, heel_max_deg = 80.0 }
gravity = { kg_m = 5.0 }
inertia = { gyradius_m = 5.3 }
damping = { linear_per_s = 0.3 }
windage = { area_m2 = 620.0, lever_m = 6.4 }
[wind]
speed_mps = 20.0
from = "port"
turbulence = { surface_drag = 0.003, intensity = 0.25 }
[start]
roll_deg = "static"
[run]
duration_s = 240.0
output_step_s = 1.0
realisations = 1200
seed = 3
"""


def covariance(lag: float) -> float:
    """Covariance of u [m²/s²] of Davenport's spectrum with σ 5 m/s, up to 1 Hz, by quadrature."""

    def density(f: float) -> float:
        x = 1200.0 * f / 20.0
        return float(25.0 / 6.0 * 4.0 * x**2 / (1.0 + x**2) ** (4.0 / 3.0) / f)

    edges = (1e-9, 0.005, 0.02, 0.1, 1.0)
    return sum(
        float(quad(lambda f: density(f) * math.cos(math.tau * f * lag), low, high, limit=400)[0])
        for low, high in pairwise(edges)
    )


def test_gusty_wind() -> None:
    # Formula of Davenport's spectrum from memory; the mean moment is that of V² + σ², exact.
    result = rollsim.loads(WINDY).run(workers=1)
    press = 0.5 * 1.222 * 1.22 * 620.0 * 6.4 / (4250e3 * 9.80665)
    lever = result.heeling_lever.values[0].astype(float)
    gusts = np.sign(lever) * np.sqrt(np.abs(lever) / press) - 20.0
    for lag in (0, 1, 2, 5, 20):
        by_run = (gusts[:, lag:] * gusts[:, : gusts.shape[1] - lag]).mean(axis=1)
        error = by_run.std() / math.sqrt(by_run.size)
        assert by_run.mean() == pytest.approx(covariance(lag), abs=4.0 * error)
    heel = np.radians(result.roll_angle.values[0, :, 60:].astype(float)).mean(axis=1)
    expected = press * (400.0 + covariance(0))
    error = heel.std() / math.sqrt(heel.size)
    assert heel.mean() == pytest.approx(expected, abs=4.0 * error)
    assert heel.mean() - press * 400.0 > 10.0 * error
