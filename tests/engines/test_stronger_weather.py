"""Runs in weather made stronger: the step they need, their bits, and runs made for a search."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from engine_cases import Recipe, case_of

from rollsim.engines.base import CAPSIZE, FIRST_LIMIT, WHOLE, run_list
from rollsim.engines.block.engine import BlockEngine
from rollsim.engines.block.step import Strength, alike, reach_of, step_of
from rollsim.engines.limits import Limits
from rollsim.engines.registry import ENGINES
from rollsim.engines.runs import NUMBERS
from rollsim.ship.damping import Damping
from rollsim.ship.levers import Gravity
from rollsim.weather.spectra import bretschneider
from rollsim.weather.wind import davenport

LIMITS = Limits(math.radians(20.0), math.radians(25.0), math.radians(40.0))
GALE = Recipe(
    gravity=Gravity(5.35),
    damping=Damping(0.012, 0.6),
    waves=bretschneider(4.0, peak_period=10.0),
    limits=LIMITS,
    duration=150.0,
    settle=20.0,
)
FACTORS = np.array([0.5, 1.0, 1.3, 1.9, 2.5, 3.2])


def test_the_step_follows_the_factor_and_weaker_weather_has_that_of_the_case() -> None:
    damped = replace(GALE, damping=Damping(0.012, 1.2))
    case = case_of(damped)
    steps = [step_of(case, reach_of(case, Strength(factor))) for factor in (1.0, 2.0, 4.0)]
    assert steps[0] > steps[1] > steps[2]
    assert steps[0] == step_of(case)
    higher = case_of(replace(damped, waves=bretschneider(8.0, peak_period=10.0)))
    assert steps[1] == step_of(higher)


def test_a_stronger_wind_is_stepped_as_the_wind_that_it_is() -> None:
    def turbulent(speed: float, of: float) -> Recipe:
        wind = davenport(of, 0.003)
        return Recipe(wind_speed=speed, turbulence=wind, damping=Damping(0.02))

    by_factor = reach_of(case_of(turbulent(15.0, 15.0)), Strength(1.0, 2.0))
    itself = reach_of(case_of(turbulent(30.0, 15.0)))
    # The gusts of the stronger wind are twice as great as well.
    assert by_factor.rate == pytest.approx(2.0 * itself.rate)


def test_runs_are_grouped_by_their_own_factors_alone() -> None:
    runs = run_list(np.zeros(FACTORS.size, dtype=int), (0.0, 0.0), FACTORS)
    groups = alike(runs)
    assert sorted(place for _, places in groups for place in places) == list(range(FACTORS.size))
    for strength, places in groups:
        assert np.all(FACTORS[places] <= strength.waves + 1e-9)
        assert strength.waves == 1.0 or np.all(FACTORS[places] > strength.waves / math.sqrt(2.0))
    assert [strength.waves for strength, _ in groups][:2] == [1.0, pytest.approx(math.sqrt(2.0))]


@pytest.mark.parametrize("until", [WHOLE, FIRST_LIMIT])
def test_the_bits_of_a_run_do_not_depend_on_what_stands_beside_it(until: int) -> None:
    engine = BlockEngine(case_of(GALE))
    realisation = np.repeat(np.arange(30), FACTORS.size)
    runs = run_list(realisation, (0.05, 0.0), np.tile(FACTORS, 30), until=until)
    together = engine.run(runs, histories=False)
    order = np.random.default_rng(1).permutation(runs.size)
    shuffled = engine.run(runs.part(order), histories=False)
    alone = [
        BlockEngine(case_of(GALE)).run(runs.part(np.array([i])), histories=False) for i in (3, 100)
    ]
    for name in NUMBERS:
        if name == "message":
            continue
        values = together.numbers[name]
        np.testing.assert_array_equal(values[order], shuffled.numbers[name], err_msg=name)
        np.testing.assert_array_equal(
            values[[3, 100]], [each.numbers[name][0] for each in alone], err_msg=name
        )


def test_a_mixed_list_gives_every_run_what_it_asks_for() -> None:
    engine = BlockEngine(case_of(GALE))
    whole = run_list(np.arange(8), (0.0, 0.0), 2.5)
    sought = run_list(np.arange(8), (0.0, 0.0), 2.5, until=FIRST_LIMIT)
    mixed = whole._replace(until=np.array([0, 1] * 4, dtype=np.int8))
    made, plain, ended = (engine.run(each, histories=False) for each in (mixed, whole, sought))
    for name in ("outcome", "end_time", "energy_margin"):
        np.testing.assert_array_equal(made.numbers[name][::2], plain.numbers[name][::2])
        np.testing.assert_array_equal(made.numbers[name][1::2], ended.numbers[name][1::2])


@pytest.mark.parametrize("method", ["block", "DOP853"])
def test_a_run_for_a_search_ends_at_its_first_limit_and_not_before(method: str) -> None:
    engine = ENGINES[method](case_of(GALE))
    waves = np.repeat([0.8, 1.5, 2.4], 4)
    storms = np.tile(np.arange(4), 3)
    whole = engine.run(run_list(storms, (0.0, 0.0), waves), histories=False).numbers
    ended = engine.run(
        run_list(storms, (0.0, 0.0), waves, until=FIRST_LIMIT), histories=False
    ).numbers
    failed = whole["outcome"] > 1
    assert 0 < failed.sum() < failed.size
    np.testing.assert_array_equal(ended["outcome"] > 1, failed)
    np.testing.assert_array_equal(ended["failure_time"], whole["failure_time"])
    np.testing.assert_array_equal(ended["end_time"][failed], whole["failure_time"][failed])
    np.testing.assert_array_equal(ended["end_time"][~failed], GALE.duration)


@pytest.mark.parametrize("method", ["block", "DOP853"])
def test_a_run_until_a_capsize_goes_on_past_the_other_limits(method: str) -> None:
    engine = ENGINES[method](case_of(GALE))
    runs = run_list(np.arange(6), (0.0, 0.0), 4.5)
    whole = engine.run(runs, histories=False).numbers
    sought = engine.run(runs._replace(until=np.full(6, CAPSIZE, "i1")), histories=False).numbers
    assert np.any(whole["outcome"] == 4)
    for name in ("outcome", "end_time", "failure_time", "capsize_time"):
        np.testing.assert_array_equal(sought[name], whole[name], err_msg=name)


@pytest.mark.parametrize("method", ["block", "DOP853"])
def test_what_is_past_a_limit_when_counting_begins_ends_there(method: str) -> None:
    calm, past = bretschneider(0.1, peak_period=10.0), math.radians(20.0)
    case = case_of(replace(GALE, waves=calm, gravity=Gravity(5.35, 0.15), duration=40.0))
    case = replace(case, limits=Limits(math.radians(5.0), math.inf, math.radians(80.0)))
    start = past, 0.0
    ended = ENGINES[method](case).run(run_list(0, start, until=FIRST_LIMIT), histories=False)
    whole = ENGINES[method](case).run(run_list(0, start), histories=False)
    assert ended.numbers["failure_time"][0] == whole.numbers["failure_time"][0] == 20.0
    assert ended.numbers["end_time"][0] == ended.numbers["failure_time"][0]


@pytest.mark.slow
def test_strong_weather_is_as_accurate_as_the_weather_of_the_case() -> None:
    """Against DOP853, while both last; limits far away, so that no run ends."""
    mild = replace(GALE, limits=Limits(capsize=math.radians(90.0)), settle=0.0)
    case = case_of(mild)
    runs = run_list(np.tile(np.arange(4), 3), (0.0, 0.0), np.repeat([1.0, 1.7, 2.5], 4))
    block = BlockEngine(case).run(runs, histories=True)
    exact = ENGINES["DOP853"](case).run(runs, histories=True)
    apart = np.abs(block.histories[0].astype(float) - exact.histories[0])
    assert np.nanmax(np.fmax.reduce(apart, axis=1)) < 2.0 * math.degrees(case.accuracy)
