"""Limits are passed at roots of the solution: on time, on the right angle, and not missed."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from integrate_samples import (
    FREE,
    INERTIA,
    LINEAR,
    OMEGA,
    SHARP,
    TIGHT,
    Found,
    calm,
    coaster_in_storm,
    problem,
    solve,
    wave,
)
from scipy.optimize import brentq

from rollsim.engines.limits import Limits, Tolerances
from rollsim.engines.scipy.methods import METHODS
from rollsim.engines.scipy.solver import Problem
from rollsim.forcing.single import with_waves
from rollsim.motion.equation import water_at
from rollsim.names import Outcome

every_method = pytest.mark.parametrize("method", METHODS)
A = 0.4
"""Amplitude [rad] of the linear ship set off from upright."""
SWELL = wave(0.1, 1.3, 0.4)


def swinging(limits: Limits, tolerances: Tolerances = SHARP, duration: float = 50.0) -> Found:
    """φ = A sin(OMEGA t), watched."""
    return solve(problem(calm(LINEAR), duration, (0.0, A * OMEGA), 5.0, limits), tolerances)


def drifting(limits: Limits, relative: bool = True, rate: float = 0.02) -> Found:
    """φ = rate t, with a slope that only the heel ψ feels."""
    c = with_waves(calm(FREE)._replace(relative=relative), SWELL, 60.0)
    return solve(problem(c, 60.0, (0.0, rate), 0.5, limits), SHARP)


def drifting_heel(time: float, rate: float = 0.02) -> float:
    return rate * time + 0.1 * math.sin(1.3 * time + 0.4)


def first_time(angle: float, rate: float = 0.02) -> float:
    """When |ψ| of the drifting ship first reaches `angle`."""

    def short_of(time: float) -> float:
        return abs(drifting_heel(time, rate)) - angle

    past = next(time for time in np.arange(0.0, 60.0, 1e-3) if short_of(time) >= 0.0)
    return float(brentq(short_of, past - 1e-3, past, xtol=1e-14))


# On time


@pytest.mark.parametrize("angle", [0.01, 0.1, 0.3, 0.39, 0.3999])
@pytest.mark.parametrize("side", [1.0, -1.0])
def test_a_roll_limit_is_passed_at_its_closed_form(angle: float, side: float) -> None:
    limits = Limits(roll=angle)
    run = problem(calm(LINEAR), 50.0, (0.0, side * A * OMEGA), 5.0, limits)
    found = solve(run, SHARP)
    expected = math.asin(angle / A) / OMEGA
    assert found.passed_roll == pytest.approx(expected, abs=1e-8)
    assert found.failure_time == found.passed_roll
    assert found.outcome is Outcome.ROLL_LIMIT
    assert found.end_time == 50.0


@every_method
def test_every_method_finds_the_time(method: str) -> None:
    found = swinging(Limits(roll=0.3), TIGHT[method])
    assert found.passed_roll == pytest.approx(math.asin(0.75) / OMEGA, abs=1e-6)


@pytest.mark.parametrize("over", [1e-3, 1e-6, 1e-9])
def test_a_peak_that_only_just_passes_is_seen(over: float) -> None:
    """The limit is passed and left again within one step, away from its ends."""
    grazed = swinging(Limits(roll=A * (1.0 - over)), duration=6.0)
    expected = math.asin(1.0 - over) / OMEGA
    assert grazed.passed_roll == pytest.approx(expected, abs=1e-8 / math.sqrt(over) * 1e-3 + 1e-8)
    spared = swinging(Limits(roll=A * (1.0 + over)), duration=6.0)
    assert math.isnan(spared.passed_roll)
    assert spared.outcome is Outcome.SURVIVED


@settings(max_examples=40, deadline=None)
@given(
    share=st.floats(0.3, 1.1),
    method=st.sampled_from(["DOP853", "RK45"]),
    relative=st.sampled_from([1e-3, 1e-8]),
    excitation=st.booleans(),
)
def test_no_passing_is_missed_and_none_made_up(
    share: float, method: str, relative: float, excitation: bool
) -> None:
    """Against the outputs of the same run, a hundred a second."""
    tolerances = Tolerances(method, relative, relative)

    def storm(limits: Limits) -> Problem:
        return coaster_in_storm(duration=80.0, output_step=0.01, limits=limits, relative=excitation)

    free = solve(storm(Limits()), tolerances)
    c, times = storm(Limits()).coefficients, storm(Limits()).output_times
    segment = storm(Limits()).segments[0]
    slope = np.array([water_at(time, c, segment)[0] for time in times])
    heel = free.roll - slope if excitation else free.roll
    angle = share * float(np.max(np.abs(heel)))
    found = solve(storm(Limits(roll=angle, flooding=angle)), tolerances)
    slack = max(1e-6, relative)
    for what, passed in ((free.roll, found.passed_roll), (heel, found.passed_flooding)):
        within = np.abs(what) < angle * (1.0 - slack)
        beyond = np.abs(what) >= angle * (1.0 + slack)
        if np.all(within):
            assert math.isnan(passed)
        if np.any(beyond):
            assert times[~within][0] - 0.0101 <= passed <= times[beyond][0] + 1e-9


# On the right angle


@pytest.mark.parametrize("angle", [0.12, 0.3, 0.7])
def test_flooding_goes_by_the_heel_in_the_water(angle: float) -> None:
    found = drifting(Limits(roll=angle, flooding=angle))
    assert found.passed_roll == pytest.approx(angle / 0.02, abs=1e-8)
    assert found.passed_flooding == pytest.approx(first_time(angle), abs=1e-8)
    assert found.failure_time == min(found.passed_roll, found.passed_flooding)
    assert found.outcome is Outcome.FLOODED


@pytest.mark.parametrize("angle", [0.12, 0.3, 0.7])
def test_a_ship_capsizes_by_whichever_angle_comes_first(angle: float) -> None:
    found = drifting(Limits(capsize=angle))
    assert found.passed_capsize == pytest.approx(min(first_time(angle), angle / 0.02), abs=1e-8)
    assert found.passed_capsize < angle / 0.02
    assert found.end_time == found.passed_capsize


def test_a_ship_also_capsizes_by_her_roll_alone() -> None:
    """She goes with the water, so that ψ stays small while φ grows."""
    following = with_waves(calm(FREE), wave(0.4, 0.05, math.pi), 60.0)
    slope_rate = 0.4 * 0.05
    run = problem(following, 60.0, (0.0, slope_rate), 0.5, Limits(flooding=0.3, capsize=0.3))
    found = solve(run, SHARP)
    assert found.passed_capsize == pytest.approx(0.3 / slope_rate, abs=1e-8)
    assert math.isnan(found.passed_flooding)
    assert found.outcome is Outcome.CAPSIZED


@pytest.mark.parametrize("limit", ["flooding", "capsize"])
def test_with_absolute_excitation_the_heel_is_the_roll(limit: str) -> None:
    found = drifting(Limits(**{limit: 0.3}), relative=False)
    assert getattr(found, f"passed_{limit}") == pytest.approx(0.3 / 0.02, abs=1e-8)


def test_absolute_excitation_pushes_by_gm_times_the_slope() -> None:
    """From rest, φ″ = GM α/(k²/g) at no restoring: integrated twice by hand."""
    c = with_waves(calm(FREE)._replace(relative=False, absolute_gm=0.3), SWELL, 60.0)
    run = problem(c, 60.0)
    t = run.output_times
    push = 0.3 * 0.1 / INERTIA
    exact = push / 1.3**2 * (np.sin(1.3 * t + 0.4) - math.sin(0.4) - 1.3 * t * math.cos(0.4))
    assert solve(run, SHARP).roll == pytest.approx(exact, abs=1e-11)


# What follows a passing


def test_a_capsize_ends_the_run() -> None:
    run = problem(calm(FREE), 60.0, (0.0, 0.02), 0.5, Limits(capsize=0.7001))
    found = solve(run, SHARP)
    last = math.floor(0.7001 / 0.02 / 0.5)
    assert found.outcome is Outcome.CAPSIZED
    assert found.end_time == found.passed_capsize == pytest.approx(0.7001 / 0.02, abs=1e-9)
    assert found.roll[: last + 1] == pytest.approx(0.02 * run.output_times[: last + 1], abs=1e-12)
    assert np.all(np.isnan(found.roll[last + 1 :]))
    assert np.all(np.isnan(found.rate[last + 1 :]))
    assert found.roll_max == pytest.approx(0.7001, abs=1e-12)


def test_other_limits_are_recorded_and_the_run_goes_on() -> None:
    found = drifting(Limits(roll=0.3, flooding=0.4, capsize=1.4))
    assert found.outcome is Outcome.FLOODED
    assert found.end_time == 60.0
    assert np.all(np.isfinite(found.roll))
    assert found.roll_max == pytest.approx(1.2, abs=1e-9)


def test_the_first_passing_of_each_limit_counts() -> None:
    found = swinging(Limits(roll=0.2), duration=500.0)
    assert found.passed_roll == pytest.approx(math.asin(0.5) / OMEGA, abs=1e-8)


def test_limits_past_the_capsize_are_never_reached() -> None:
    """Not even when the same step would have taken her there."""
    found = swinging(Limits(roll=0.3001, flooding=0.3002, capsize=0.3))
    assert found.outcome is Outcome.CAPSIZED
    assert math.isnan(found.passed_roll)
    assert math.isnan(found.passed_flooding)


def test_limits_at_the_same_angle_are_passed_together() -> None:
    found = swinging(Limits(roll=0.3, flooding=0.3, capsize=0.3))
    assert found.passed_roll == found.passed_flooding == found.passed_capsize
    assert found.failure_time == found.end_time


def test_a_start_beyond_the_roll_limit_fails_at_once_and_goes_on() -> None:
    run = problem(calm(LINEAR), 50.0, (-0.4, 0.0), 0.5, Limits(roll=0.3, flooding=0.6))
    found = solve(run, SHARP)
    assert found.passed_roll == 0.0
    assert found.outcome is Outcome.ROLL_LIMIT
    assert found.end_time == 50.0


def test_a_heel_beyond_capsize_at_the_start_ends_at_once() -> None:
    """The wave that stands there at t = 0 may heel her past it although φ is within."""
    c = with_waves(calm(LINEAR), wave(0.5, 1.0, 0.5 * math.pi), 10.0)
    found = solve(problem(c, 10.0, (0.2, 0.0), 0.5, Limits(capsize=0.6)), SHARP)
    assert (found.passed_capsize, found.end_time) == (0.0, 0.0)
    assert found.roll[0] == pytest.approx(0.2, abs=1e-14)
    assert np.all(np.isnan(found.roll[1:]))


def test_no_limit_no_passing() -> None:
    found = swinging(Limits())
    assert math.isnan(found.passed_roll)
    assert math.isnan(found.passed_flooding)
    assert math.isnan(found.failure_time)
    assert found.outcome is Outcome.SURVIVED
