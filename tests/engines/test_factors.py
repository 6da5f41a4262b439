"""Factors on the waves and on the wind of a run are a higher sea and a stronger wind."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from engine_cases import Recipe, case_of

from rollsim.engines.base import run_list
from rollsim.engines.registry import ENGINES
from rollsim.engines.runs import HISTORIES, Runs
from rollsim.ship.damping import Damping
from rollsim.weather.sea import RegularWave

WINDY = Recipe(damping=Damping(0.03, 0.3), wind_speed=16.0, heel_law="cos", duration=40.0)
SWELL = replace(WINDY, wind_speed=0.0, waves=RegularWave(1.0, 9.0))


def made(method: str, recipe: Recipe, waves: float = 1.0, wind: float = 1.0) -> Runs:
    """One run with its factors."""
    runs = run_list(0, (0.0, 0.0), waves, wind)
    return ENGINES[method](case_of(recipe)).run(runs, histories=True)


@pytest.mark.parametrize("method", ["block", "DOP853"])
@pytest.mark.parametrize("factor", [0.5, 1.5])
def test_a_factor_on_the_wind_is_another_wind_speed(method: str, factor: float) -> None:
    by_factor = made(method, WINDY, wind=factor)
    itself = made(method, replace(WINDY, wind_speed=16.0 * factor))
    for name, one, other in zip(HISTORIES, by_factor.histories, itself.histories, strict=True):
        np.testing.assert_allclose(one, other, atol=2e-3, err_msg=name)
    assert np.max(itself.histories[0]) > 1.0


@pytest.mark.parametrize("method", ["block", "DOP853"])
def test_a_wind_turned_round_heels_her_the_other_way(method: str) -> None:
    ahead, back = made(method, WINDY), made(method, WINDY, wind=-1.0)
    np.testing.assert_allclose(back.histories[0], -ahead.histories[0], atol=1e-4)


@pytest.mark.parametrize("method", ["block", "DOP853"])
def test_the_energy_margin_is_known_for_the_wind_of_the_case_alone(method: str) -> None:
    """Its wells are those of the mean wind without a factor."""
    assert np.isfinite(made(method, WINDY).numbers["energy_margin"][0])
    assert np.isnan(made(method, WINDY, wind=1.5).numbers["energy_margin"][0])


@pytest.mark.parametrize("method", ["block", "DOP853"])
def test_a_factor_on_the_waves_is_another_height(method: str) -> None:
    by_factor = made(method, SWELL, waves=1.5)
    itself = made(method, replace(SWELL, waves=RegularWave(1.5, 9.0)))
    for name, one, other in zip(HISTORIES, by_factor.histories, itself.histories, strict=True):
        np.testing.assert_allclose(one, other, atol=2e-3, err_msg=name)


@pytest.mark.parametrize("method", ["block", "DOP853"])
def test_runs_with_and_without_a_factor_stand_side_by_side(method: str) -> None:
    engine = ENGINES[method](case_of(SWELL))
    factors = np.array([1.0, 0.5])
    beside = engine.run(run_list([0, 0], (0.0, 0.0), factors, np.array([0.8, 1.0])), histories=True)
    for i, factor in enumerate(factors):
        alone = made(method, SWELL, waves=float(factor))
        np.testing.assert_array_equal(beside.histories[:, i], alone.histories[:, 0])
