"""Nothing sudden is stepped over: the response to short gusts and events in closed form."""

from __future__ import annotations

import math

import numpy as np
import pytest
from integrate_samples import FREE, INERTIA, LINEAR, OMEGA, TIGHT, Found, calm, problem, solve
from scipy.integrate import quad

from rollsim.engines.limits import Tolerances
from rollsim.engines.scipy.methods import METHODS
from rollsim.motion.timeline import Change
from rollsim.weather.wind import Gust

GM = OMEGA**2 * INERTIA
MEAN = 2e-4 * 20.0**2 / GM
"""Heel [rad] of the linear ship in the mean wind of 20 m/s."""
every_method = pytest.mark.parametrize("method", METHODS)


def blown(method: str, gust: Gust) -> Found:
    """The linear ship at her static heel in a steady wind, a thousand seconds, one gust."""
    run = problem(calm(LINEAR), 1000.0, (MEAN, 0.0), wind_speed=20.0, gusts=(gust,))
    return solve(run, TIGHT[method])


@every_method
@pytest.mark.parametrize("length", [0.2, 1e-3])
def test_a_short_gust_in_a_long_calm_is_felt(method: str, length: float) -> None:
    """A rectangular push of height h and length τ leaves 2 h sin(ωτ/2) (Duhamel)."""
    found = blown(method, Gust(971.3, 0.0, length, 1.5))
    swing = (1.5**2 - 1.0) * MEAN * 2.0 * math.sin(0.5 * OMEGA * length)
    assert found.roll_max - MEAN == pytest.approx(swing, rel=1e-3, abs=1e-10)
    # The levers' table rounds her rest; a solver of those tolerances lets it swing by no more.
    assert found.roll[:1942] == pytest.approx(np.full(1942, MEAN), abs=1e-8)


@every_method
def test_a_short_gust_with_slopes_is_felt(method: str) -> None:
    """After any push the swing is |∫ h(t) e^(iωt) dt| ω (Duhamel)."""
    gust = Gust(971.3, 0.05, 0.1, 1.5)

    def push(time: float) -> float:
        return MEAN * (float(gust.speed_factor(np.array(971.3 + time))) ** 2 - 1.0)

    parts = [
        quad(lambda t: push(t) * turn(OMEGA * t), 0.0, 0.2, points=[0.05, 0.15])[0]  # noqa: B023
        for turn in (math.cos, math.sin)
    ]
    swing = OMEGA * math.hypot(*parts)
    assert blown(method, gust).roll_max - MEAN == pytest.approx(swing, rel=1e-3)


@every_method
def test_the_impulse_of_a_gust_is_the_rate_it_leaves(method: str) -> None:
    """Without restoring, k²/g φ′ afterwards is the gust's impulse, whatever its shape."""
    gust = Gust(971.3, 0.02, 0.16, 2.0)
    run = problem(
        calm(FREE),
        1000.0,
        wind_speed=5.0,
        gusts=(gust,),
        changes=[Change(0.0, 0.0, lever=-2e-4 * 25.0)],
    )
    impulse = 2e-4 * 25.0 * (3.0 * 0.16 + 2.0 * 0.02 * (7.0 / 3.0 - 1.0))
    found = solve(run, TIGHT[method])
    assert found.rate[-1] == pytest.approx(impulse / INERTIA, rel=1e-6)


@every_method
def test_a_lever_for_a_moment_is_felt(method: str) -> None:
    changes = [Change(971.3, 0.0, lever=0.3), Change(971.5, 0.0, lever=-0.3)]
    run = problem(calm(LINEAR), 1000.0, changes=changes)
    found = solve(run, TIGHT[method])
    assert found.roll_max == pytest.approx(0.6 / GM * math.sin(0.1 * OMEGA), rel=1e-4)
    assert not np.any(found.roll[:1943])


@every_method
@pytest.mark.parametrize("at", [0.0, 100.0, 123.4])
def test_a_sudden_lever_swings_her_to_twice_its_heel(method: str, at: float) -> None:
    """φ = (h/GM)(1 - cos ω(t - at)): the exact response of a linear ship."""
    run = problem(calm(LINEAR), 140.0, changes=[Change(at, 0.0, lever=0.05)])
    found = solve(run, TIGHT[method])
    passed = np.maximum(run.output_times - at, 0.0)
    assert found.roll == pytest.approx(0.05 / GM * (1.0 - np.cos(OMEGA * passed)), abs=1e-5)
    assert found.roll_max == pytest.approx(0.1 / GM, abs=2e-6)


@every_method
def test_borders_a_rounding_error_apart_stop_no_method(method: str) -> None:
    changes = [Change(0.1, 0.2, lever=0.01), Change(0.3, 0.0, lever=0.01)]
    run = problem(calm(LINEAR), 20.0, changes=changes)
    found = solve(run, TIGHT[method])
    assert found.message == ""
    later = problem(calm(LINEAR), 20.0, changes=[changes[0], Change(0.3 + 1e-8, 0.0, lever=0.01)])
    assert found.roll == pytest.approx(solve(later, Tolerances()).roll, abs=1e-6)


@every_method
def test_a_cargo_that_shifts_heels_her_to_her_new_rest(method: str) -> None:
    """On a linear ship G off by YG acts as a lever YG cos φ: energy gives the first swing."""
    run = problem(calm(LINEAR), 50.0, changes=[Change(30.0, 0.0, across_moment=0.05)])
    found = solve(run, TIGHT[method])
    peak = found.roll_max
    assert 0.5 * GM * peak**2 == pytest.approx(0.05 * math.sin(peak), abs=1e-7)
    assert peak > 0.09
