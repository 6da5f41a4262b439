"""Outputs stand on the exact uniform grid, on the solution; extremes are the solution's own."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from integrate_samples import (
    COASTER,
    FREE,
    LINEAR,
    OMEGA,
    SHARP,
    TIGHT,
    calm,
    coaster_in_storm,
    problem,
    solve,
)

from rollsim.engines.limits import Tolerances, output_times
from rollsim.engines.scipy.methods import METHODS
from rollsim.motion.timeline import Change
from rollsim.names import Outcome
from rollsim.ship.levers import Gravity, polynomial

every_method = pytest.mark.parametrize("method", METHODS)
AWKWARD = [
    (0.3, 0.1),
    (0.7, 0.1),
    (3.3, 1.1),
    (100.0, 0.1),
    (99.9, 0.1),
    (10.0, 1.0 / 3.0),
    (17.0, 0.7),
    (1.0, 0.3),
    (5.0, 7.0),
    (36.0, 0.05),
    (2.0, 2.0),
]


@pytest.mark.parametrize(("duration", "step"), AWKWARD)
def test_the_grid_ends_at_the_greatest_step_within_the_run(duration: float, step: float) -> None:
    times = output_times(duration, step)
    assert np.array_equal(times, step * np.arange(times.size))
    assert times[-1] <= duration * (1.0 + 1e-12) < times[-1] + step


@pytest.mark.parametrize(("duration", "step"), AWKWARD)
@every_method
def test_every_output_is_written(method: str, duration: float, step: float) -> None:
    run = problem(calm(LINEAR), duration, (0.1, 0.0), step)
    found = solve(run, TIGHT[method])
    exact = 0.1 * np.cos(OMEGA * run.output_times)
    assert found.roll == pytest.approx(exact, abs=3e-6)
    assert found.rate == pytest.approx(-0.1 * OMEGA * np.sin(OMEGA * run.output_times), abs=3e-6)


@settings(max_examples=60, deadline=None)
@given(
    duration=st.decimals(min_value="0.1", max_value=50, places=2).map(float),
    step=st.decimals(min_value="0.05", max_value=3, places=2).map(float),
    border=st.decimals(min_value="0.05", max_value=50, places=2).map(float),
)
def test_no_pair_of_duration_and_step_loses_an_output(
    duration: float, step: float, border: float
) -> None:
    run = problem(calm(FREE), duration, (0.1, 1e-3), step, changes=[Change(border, 0.0)])
    found = solve(run, Tolerances())
    assert found.roll == pytest.approx(0.1 + 1e-3 * run.output_times, abs=1e-12)
    assert found.end_time == duration
    assert run.duration == duration


def test_outputs_are_exact_between_steps() -> None:
    run = problem(calm(LINEAR), 100.0, (0.1, 0.02), 0.01)
    found = solve(run, SHARP)
    phase = OMEGA * run.output_times
    exact = 0.1 * np.cos(phase) + 0.02 / OMEGA * np.sin(phase)
    assert found.roll == pytest.approx(exact, abs=1e-11)
    rate = -0.1 * OMEGA * np.sin(phase) + 0.02 * np.cos(phase)
    assert found.rate == pytest.approx(rate, abs=1e-11)


@pytest.mark.parametrize("step", [0.1, 7.0, 500.0])
def test_what_is_written_changes_nothing_else(step: float) -> None:
    fine, coarse = (solve(coaster_in_storm(output_step=s), Tolerances()) for s in (0.05, step))
    assert coarse.roll_max == fine.roll_max
    assert coarse.roll_min == fine.roll_min
    assert coarse.end_time == fine.end_time
    every = round(step / 0.05)
    assert coarse.roll == pytest.approx(fine.roll[::every], abs=1e-12)


def test_the_same_run_twice_is_the_same_to_the_last_bit() -> None:
    one, two = (solve(coaster_in_storm(), Tolerances()) for _ in range(2))
    assert np.array_equal(one.roll, two.roll)
    assert np.array_equal(one.rate, two.rate)
    assert (one.roll_max, one.roll_min) == (two.roll_max, two.roll_min)


# Extremes


@every_method
def test_extremes_are_those_of_the_solution(method: str) -> None:
    """Outputs every half period from a zero on see none of the motion; the extremes do."""
    step = math.pi / OMEGA
    run = problem(calm(LINEAR), 4.0 * step, (0.0, 0.2 * OMEGA), step)
    found = solve(run, TIGHT[method])
    assert np.max(np.abs(found.roll)) < 1e-5
    assert found.roll_max == pytest.approx(0.2, abs=1e-6)
    assert found.roll_min == pytest.approx(-0.2, abs=1e-6)
    assert found.outcome is Outcome.SURVIVED


@pytest.mark.parametrize("method", ["DOP853", "RK45"])
@pytest.mark.parametrize("relative", [1e-2, 1e-4, 1e-8])
@pytest.mark.parametrize("slope", [0.0, 0.03, 0.1])
def test_no_extreme_is_missed_at_any_tolerance(method: str, relative: float, slope: float) -> None:
    run = coaster_in_storm(slope, output_step=0.01)
    found = solve(run, Tolerances(method, relative, relative))
    slack = 0.1 * relative
    assert np.max(found.roll) - slack <= found.roll_max <= np.max(found.roll) + 1e-5
    assert np.min(found.roll) - 1e-5 <= found.roll_min <= np.min(found.roll) + slack


@every_method
def test_no_extreme_of_a_long_step_is_missed(method: str) -> None:
    """In calm water nothing but the tolerance bounds a step."""
    run = problem(calm(LINEAR), 200.0, (0.0, 0.05), 0.05)
    found = solve(run, Tolerances(method, 1e-3, 1e-3))
    assert found.roll_max == pytest.approx(np.max(found.roll), abs=2e-5)
    assert found.roll_min == pytest.approx(np.min(found.roll), abs=2e-5)


def test_extremes_at_the_ends_of_a_run_count() -> None:
    rising = solve(problem(calm(FREE), 10.0, (-0.2, 0.05)), Tolerances())
    assert (rising.roll_min, rising.roll_max) == pytest.approx((-0.2, 0.3), abs=1e-12)


# At rest


@every_method
@pytest.mark.parametrize("kg", [5.3, 5.659, 5.75])
def test_an_undisturbed_ship_upright_stays_exactly_upright(method: str, kg: float) -> None:
    """Also on the crest of a negative GM: nothing but a push takes her off it."""
    found = solve(problem(calm(COASTER), 1000.0, gravity=Gravity(kg)), Tolerances(method))
    assert not np.any(found.roll)
    assert not np.any(found.rate)
    assert (found.roll_max, found.roll_min) == (0.0, 0.0)
    assert found.outcome is Outcome.SURVIVED


def test_a_ship_at_her_loll_stays_there() -> None:
    """GZ = -0.05 φ + 0.8 φ³ rests at 0.25; levers come from a table good to 1e-10 m."""
    lolling = calm(polynomial([-0.05, 0.0, 0.8], 0.0, 1.0))
    found = solve(problem(lolling, 500.0, (0.25, 0.0)), Tolerances())
    assert found.roll == pytest.approx(np.full(1001, 0.25), abs=1e-7)
