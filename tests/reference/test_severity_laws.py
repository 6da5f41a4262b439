"""Severity factors against the outside: equal areas, a linear ship, and runs in other seas."""

from __future__ import annotations

import math

import numpy as np
import pytest
import xarray as xr

import rollsim
from rollsim.measures.outcome import failed
from rollsim.measures.severity import extended
from rollsim.names import SeverityFound

FINE = 1.003
"""Between a factor and the last one survived."""
KG, GYRADIUS, DISPLACEMENT = 5.0, 4.0, 1000.0
GRAVITY, AIR, DRAG, AREA, ARM = 9.80665, 1.222, 1.22, 300.0, 5.0

SHIP = """
format = 1
[ship]
name = "Trial"
length_m = 60.0
beam_m = 12.0
draught_m = 4.0
displacement_t = {displacement}
inertia = {{ gyradius_m = {gyradius} }}
gravity = {{ kg_m = {kg} }}
damping = {{ linear_per_s = {damping} }}
windage = {{ area_m2 = {area}, lever_m = {arm} }}
[ship.levers]
kind = "polynomial"
gz_m_per_rad = {terms}
kg_m = {kg}
heel_max_deg = 100.0
"""
STORM = """
[sea]
kind = "irregular"
spectrum = "bretschneider"
significant_height_m = {height}
peak_period_s = 9.0
"""


def ship(terms: list[float], damping: float = 0.0) -> str:
    """A ship of a polynomial's levers [m per rad, rad², ..]."""
    return SHIP.format(
        displacement=DISPLACEMENT, gyradius=GYRADIUS, kg=KG, damping=damping, area=AREA, arm=ARM,
        terms=terms,
    )  # fmt: skip


def speed_of(lever: float) -> float:
    """The wind [m/s] that heels with a lever [m]."""
    weight = DISPLACEMENT * 1000.0 * GRAVITY
    return math.sqrt(lever * weight / (0.5 * AIR * DRAG * AREA * ARM))


def wind_of(lever: float) -> str:
    """Such a wind from port, as a table."""
    return f'[wind]\nspeed_mps = {speed_of(lever)!r}\nfrom = "port"\n'


def factor(text: str) -> float:
    """The severity factor of the only run of a scenario."""
    ds = rollsim.loads(text).run(workers=1)
    assert ds["severity_found"].item() == SeverityFound.FOUND
    return float(ds["severity_factor"].item())


C1, C2, C3 = 0.8, 0.5, 0.6
# Exact by equal areas, a sudden lever that just takes her over from rest upright: the potential is
# nought again where GZ equals the lever. GZ = c1 φ − c3 φ³: (c1/3) √(2c1/3c3); GZ = c1 φ − c2 φ²:
# 3c1²/16c2; on a linear ship she swings to twice the static heel, here to a limit of 30°.
SUDDEN = {
    "cubic": ([C1, 0.0, -C3], C1 / 3.0 * math.sqrt(2.0 * C1 / (3.0 * C3)), "capsize_deg = 95.0"),
    "quadratic": ([C1, -C2], 3.0 * C1**2 / (16.0 * C2), "capsize_deg = 95.0"),
    "linear": ([C1], 0.5 * C1 * math.radians(30.0), "roll_deg = 30.0"),
}


@pytest.mark.parametrize("start", [0.3, 0.6, 1.8])
@pytest.mark.parametrize("name", SUDDEN)
def test_sudden_wind_takes_her_over_by_equal_areas(name: str, start: float) -> None:
    terms, critical, limits = SUDDEN[name]
    text = (
        f"{ship(terms)}[limits]\n{limits}\n{wind_of(start * critical)}[run]\nduration_s = 120.0\n"
        '[severity]\non = "wind"\n'
    )
    exact = math.sqrt(1.0 / start)  # the moment goes with the square of the speed
    found = factor(text)
    assert exact * (1.0 - 1e-4) <= found <= exact * FINE * (1.0 + 1e-4)


@pytest.mark.parametrize("gust", [1.3, 1.8])
def test_a_gust_on_a_linear_ship_that_lies_in_the_wind(gust: float) -> None:
    """From the static heel φs at a factor of 1, a gust that comes after a whole number of periods:
    the swings add up, and she reaches φs (2 f² g² − 1) (exact, linear)."""
    period = math.tau * GYRADIUS / math.sqrt(GRAVITY * C1)
    static, limit = math.radians(3.0), 25.0
    text = (
        f"{ship([C1])}[limits]\nroll_deg = {limit}\n{wind_of(C1 * static)}"
        f"[[wind.gust]]\nat_s = {4.0 * period!r}\nrise_s = 0.0\nhold_s = 60.0\n"
        f"speed_factor = {gust}\n"
        '[start]\nroll_deg = "static"\n[run]\nduration_s = 90.0\n[severity]\non = "wind"\n'
    )
    exact = math.sqrt(0.5 * (math.radians(limit) / static + 1.0)) / gust
    found = factor(text)
    assert exact * (1.0 - 1e-4) <= found <= exact * FINE * (1.0 + 1e-4)


def test_a_linear_ship_in_waves_stands_limit_over_greatest_roll() -> None:
    """Exact: her roll is proportional to the waves."""
    base = ship([C1], 0.1) + STORM.format(height=1.5)
    base += "[run]\nduration_s = 300.0\nrealisations = 40\noutput_step_s = 1.0\nseed = 4\n"
    free = rollsim.loads(base).run(workers=1)
    greatest = np.fmax(free["roll_max"].values, -free["roll_min"].values).ravel()
    limit = 1.4 * float(np.median(greatest))
    limited = f"{base}[limits]\nroll_deg = {limit}\n[severity]\n"
    ds = rollsim.loads(limited).run(workers=1)
    assert np.all(ds["severity_found"] == SeverityFound.FOUND)
    assert not ds["severity_islands"].any()
    exact, found = limit / greatest, ds["severity_factor"].values.ravel()
    assert np.all(found >= exact * (1.0 - 2e-3))
    assert np.all(found <= exact * FINE * (1.0 + 2e-3))


TENDER = [0.35, 0.0, 0.9, 0.0, -1.1]
GALE = "[limits]\nroll_deg = 25.0\n[run]\nduration_s = 400.0\noutput_step_s = 1.0\n"


def gale(height: float, count: int, seed: int, more: str = "") -> xr.Dataset:
    """The tender ship in storms of a height."""
    quadratic = ship(TENDER).replace("linear_per_s = 0.0", "linear_per_s = 0.02, quadratic = 0.3")
    run = f"{GALE}realisations = {count}\nseed = {seed}\n"
    text = f'{quadratic}{STORM.format(height=height)}{run}[output]\nhistories = "none"\n{more}'
    return rollsim.loads(text).run(workers=1)


HEIGHT = 9.0


def test_runs_in_a_sea_one_percent_weaker_survive_and_one_percent_stronger_fail() -> None:
    ds = gale(HEIGHT, 8, 11, "[severity]\n")
    inside = np.flatnonzero(ds["severity_found"].values[0] == SeverityFound.FOUND)
    assert inside.size >= 7
    heights = HEIGHT * ds["severity_factor"].values[0, inside]
    both = np.concatenate([0.99 * heights, 1.01 * heights])
    axis = ", ".join(f"{height!r}" for height in both.tolist())
    plain = gale(HEIGHT, 8, 11, f'[sweep]\n"sea.significant_height_m" = [{axis}]\n')
    codes = plain["outcome"].values[np.arange(both.size), np.tile(inside, 2)]
    assert not failed(codes[: inside.size]).any()
    assert failed(codes[inside.size :]).all()


@pytest.mark.slow
def test_the_fragility_is_what_counting_finds_at_other_heights_with_fresh_seeds() -> None:
    count = 1500
    ds = gale(HEIGHT, count, 21, "[severity]\n")
    known = extended(ds["severity_factor"].values[0], ds["severity_found"].values[0])
    assert known.size == count
    for seed, ratio in ((101, 0.95), (102, 1.1), (103, 1.3)):
        counted = float(gale(ratio * HEIGHT, count, seed)["failure_probability"].item())
        told = float(np.mean(known <= ratio))
        assert 0.02 < told < 0.98
        spread = math.sqrt(2.0 * told * (1.0 - told) / count)
        islands = float(np.mean(ds["severity_islands"].values[0] > 0))
        assert abs(counted - told) < 3.5 * spread + islands
        assert islands < 0.05
