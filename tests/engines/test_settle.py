"""Limits and extremes count from settle on; what happened before is told apart."""

from __future__ import annotations

import math

import numpy as np
import pytest
from integrate_samples import FREE, LINEAR, OMEGA, SHARP, Found, calm, problem, solve

from rollsim.engines.limits import Limits
from rollsim.motion.timeline import Change
from rollsim.names import Outcome
from rollsim.ship.damping import Damping

A = 0.4


def decaying(limits: Limits, settle: float) -> Found:
    """A linear ship set off from upright, her amplitude A e^(-0.02 t)."""
    c = calm(LINEAR, damping=Damping(0.04))
    return solve(problem(c, 100.0, (0.0, A * OMEGA), 0.5, limits, settle), SHARP)


def drifting(limits: Limits, settle: float, rate: float = 0.01) -> Found:
    return solve(problem(calm(FREE), 100.0, (0.0, rate), 0.5, limits, settle), SHARP)


def test_without_settling_nothing_is_early() -> None:
    found = decaying(Limits(roll=0.2, flooding=0.2), 0.0)
    assert not found.early
    assert found.passed_roll < 2.0


def test_a_limit_passed_only_before_settling_is_early_and_no_failure() -> None:
    found = decaying(Limits(roll=0.2, flooding=0.25), 60.0)
    assert found.early
    assert found.outcome is Outcome.SURVIVED
    assert math.isnan(found.failure_time)


def test_a_limit_is_passed_by_what_comes_after_settling() -> None:
    found = drifting(Limits(roll=0.3, flooding=0.6), 20.0)
    assert not found.early
    assert found.passed_roll == pytest.approx(30.0, abs=1e-9)
    assert found.passed_flooding == pytest.approx(60.0, abs=1e-9)


def test_a_ship_beyond_a_limit_when_it_begins_to_count_fails_then() -> None:
    found = drifting(Limits(roll=0.3, flooding=1.2), 50.0)
    assert found.early
    assert found.passed_roll == 50.0
    assert found.outcome is Outcome.ROLL_LIMIT


def test_a_limit_passed_before_and_after_settling_is_both() -> None:
    found = decaying(Limits(roll=0.2), 10.0)
    frequency = math.sqrt(OMEGA**2 - 0.02**2)
    times = np.linspace(10.0, 60.0, 500001)
    roll = A * OMEGA / frequency * np.exp(-0.02 * times) * np.sin(frequency * times)
    assert found.early
    assert found.passed_roll == pytest.approx(times[np.abs(roll) >= 0.2][0], abs=1e-4)
    assert found.outcome is Outcome.ROLL_LIMIT


def test_extremes_count_from_settling_on() -> None:
    settle = 40.0
    found = decaying(Limits(), settle)
    frequency = math.sqrt(OMEGA**2 - 0.02**2)
    times = np.linspace(settle, 100.0, 600001)
    roll = A * OMEGA / frequency * np.exp(-0.02 * times) * np.sin(frequency * times)
    assert found.roll_max == pytest.approx(np.max(roll), abs=1e-9)
    assert found.roll_min == pytest.approx(np.min(roll), abs=1e-9)


@pytest.mark.parametrize("settle", [0.0, 40.0])
def test_histories_are_whole_from_the_start(settle: float) -> None:
    found = decaying(Limits(roll=0.2), settle)
    assert np.all(np.isfinite(found.roll))
    assert found.end_time == 100.0


def test_a_capsize_before_settling_ends_the_run() -> None:
    found = drifting(Limits(roll=0.1, capsize=0.3), 50.0)
    assert found.early
    assert found.outcome is Outcome.CAPSIZED
    assert found.failure_time == found.end_time == pytest.approx(30.0, abs=1e-9)
    assert np.all(np.isnan(found.roll[61:]))
    assert math.isnan(found.passed_roll)
    assert math.isnan(found.roll_max)
    assert math.isnan(found.roll_min)


def test_a_capsize_after_settling_is_not_early() -> None:
    found = drifting(Limits(capsize=0.3), 20.0)
    assert not found.early
    assert found.outcome is Outcome.CAPSIZED
    assert found.roll_max == pytest.approx(0.3, abs=1e-12)
    assert found.roll_min == pytest.approx(0.2, abs=1e-12)


def test_settling_for_the_whole_run_counts_nothing() -> None:
    found = drifting(Limits(roll=0.3), 100.0)
    assert found.early
    assert found.outcome is Outcome.SURVIVED
    assert math.isnan(found.roll_max)


@pytest.mark.parametrize(("at", "over", "settle"), [(0.1, 0.2, 0.3), (0.0, 0.3, 0.1 + 0.2)])
def test_settling_counts_although_a_rounding_error_from_another_border(
    at: float, over: float, settle: float
) -> None:
    run = problem(
        calm(FREE), 100.0, (0.0, 0.01), 0.5, Limits(roll=0.3), settle, changes=[Change(at, over)]
    )
    found = solve(run, SHARP)
    assert found.passed_roll == pytest.approx(30.0, abs=1e-9)
    assert found.roll_max == pytest.approx(1.0, abs=1e-9)
