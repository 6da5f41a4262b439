"""The block engine alone, in calm water: closed forms, corners, limits and outputs.

Seas, and its agreement with the other methods, are proven on whole cases in tests/batch.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from integrate_samples import COASTER, FREE, INERTIA, LINEAR, OMEGA, SHARP, calm, problem
from rollsim.engines.block.prepare import BlockEngine, BlockProblem, BlockRuns

from rollsim.engines.limits import Limits, Problem
from rollsim.engines.scipy.solver import solve
from rollsim.forcing.synthesis import CalmSea
from rollsim.motion.timeline import Change
from rollsim.ship.levers import Gravity, Levers, from_kn_table
from rollsim.weather.wind import Gust

GM = OMEGA**2 * INERTIA
A = 0.4
WIND = 20.0
MEAN = 2e-4 * WIND**2 / GM


def by_block(run: Problem, levers: Levers, step: float, mean_wind: float = 0.0) -> BlockRuns:
    """The run by the block engine, its steps a whole part of the output step near `step`."""
    count = run.output_times.size
    block = BlockProblem(
        levers=levers,
        coefficients=run.coefficients,
        segments=run.segments,
        sea=CalmSea(),
        roll=run.roll,
        rate=run.rate,
        output_step=run.output_step,
        step=run.output_step / math.ceil(run.output_step / step - 1e-9),
        limits=run.limits,
        settle=run.settle,
        mean_wind=mean_wind,
        low=np.zeros(count),
        barrier=np.ones(count),
    )
    return BlockEngine(block).run(1, np.zeros(1, dtype=np.uint64), histories=True)


@pytest.mark.parametrize(
    ("duration", "step"),
    [(0.3, 0.1), (0.7, 0.1), (3.3, 1.1), (10.0, 1.0 / 3.0), (17.0, 0.7), (5.0, 7.0), (36.0, 0.05)],
)
def test_every_output_is_written(duration: float, step: float) -> None:
    run = problem(calm(LINEAR), duration, (0.1, 0.0), step)
    found = by_block(run, LINEAR, 0.2)
    exact = 0.1 * np.cos(OMEGA * run.output_times)
    assert found.histories[0, :, 0] == pytest.approx(exact, abs=2e-7)
    assert found.end_time == [duration]
    assert found.solved == [True]


def test_a_halved_step_is_nearer_by_its_order() -> None:
    """Six steps back: an error of the sixth order."""
    run = problem(calm(LINEAR), 100.0, (0.0, A * OMEGA), 1.0)
    exact = A * np.sin(OMEGA * run.output_times)
    off = [
        float(np.max(np.abs(by_block(run, LINEAR, step).histories[0, :, 0] - exact)))
        for step in (1.0, 0.5, 0.25)
    ]
    assert off[0] > 40.0 * off[1] > 1600.0 * off[2] > 0.0
    assert off[2] < 2e-6


@pytest.mark.parametrize("length", [0.2, 1e-3])
def test_a_short_gust_in_a_long_calm_is_felt(length: float) -> None:
    """A rectangular push of height h and length τ leaves 2 h sin(ωτ/2) (Duhamel)."""
    gust = Gust(971.3, 0.0, length, 1.5)
    run = problem(calm(LINEAR), 1000.0, (MEAN, 0.0), wind_speed=WIND, gusts=(gust,))
    found = by_block(run, LINEAR, 0.1, WIND)
    swing = (1.5**2 - 1.0) * MEAN * 2.0 * math.sin(0.5 * OMEGA * length)
    assert found.roll_max[0] - MEAN == pytest.approx(swing, rel=1e-5)


@pytest.mark.parametrize("at", [0.0, 30.0, 33.37])
def test_a_sudden_lever_swings_her_to_twice_its_heel(at: float) -> None:
    """φ = (h/GM)(1 - cos ω(t - at)): the exact response of a linear ship."""
    run = problem(calm(LINEAR), 80.0, changes=[Change(at, 0.0, lever=0.05)])
    found = by_block(run, LINEAR, 0.1)
    passed = np.maximum(run.output_times - at, 0.0)
    exact = 0.05 / GM * (1.0 - np.cos(OMEGA * passed))
    assert found.histories[0, :, 0] == pytest.approx(exact, abs=2e-8)
    lever = np.where(run.output_times >= at, 0.05, 0.0)
    assert found.histories[3, :, 0] == pytest.approx(lever, abs=1e-8)


@pytest.mark.parametrize("angle", [0.01, 0.1, 0.3, 0.39])
@pytest.mark.parametrize("side", [1.0, -1.0])
def test_limits_are_passed_at_their_closed_form(angle: float, side: float) -> None:
    run = problem(calm(LINEAR), 50.0, (0.0, side * A * OMEGA), 0.5, Limits(roll=angle))
    found = by_block(run, LINEAR, 0.1)
    expected = math.asin(angle / A) / OMEGA
    assert found.passed[:, 0] == pytest.approx(
        [expected, math.nan, math.nan], abs=1e-7, nan_ok=True
    )
    assert found.end_time == [50.0]


@pytest.mark.parametrize("over", [1e-2, 1e-4, 1e-5])
def test_a_peak_that_only_just_passes_is_seen(over: float) -> None:
    """Whenever the extremes say that a limit was passed its time is there too."""
    for shift in np.arange(0.0, 0.5, 0.05):
        changes = [Change(shift, 0.0)]
        limits = Limits(roll=A * (1.0 - over))
        run = problem(calm(LINEAR), 6.0, (0.0, A * OMEGA), 0.5, limits, changes=changes)
        found = by_block(run, LINEAR, 0.5)
        assert found.roll_max[0] == pytest.approx(A, abs=1e-5)
        assert math.isnan(found.passed[0, 0]) == (found.roll_max[0] < limits.roll)


def test_a_capsize_ends_the_run() -> None:
    run = problem(calm(FREE), 60.0, (0.1, 0.02), 0.5, Limits(roll=0.3, capsize=0.7001))
    found = by_block(run, FREE, 0.1)
    assert found.end_time == pytest.approx([30.005], abs=1e-9)
    assert found.passed[[0, 2], 0] == pytest.approx([10.0, 30.005], abs=1e-9)
    assert (found.roll_min[0], found.roll_max[0]) == pytest.approx((0.1, 0.7001), abs=1e-9)


def test_limits_and_extremes_count_from_settling_on() -> None:
    limits = Limits(roll=0.3, flooding=0.8)
    run = problem(calm(FREE), 100.0, (0.0, 0.01), 0.5, limits, 50.3)
    found = by_block(run, FREE, 0.1)
    assert found.early == [True]
    assert found.passed[:, 0] == pytest.approx([50.3, 80.0, math.nan], abs=1e-9, nan_ok=True)
    assert (found.roll_min[0], found.roll_max[0]) == pytest.approx((0.503, 1.0), abs=1e-9)


def test_a_capsize_before_settling_ends_the_run() -> None:
    run = problem(calm(FREE), 100.0, (0.0, 0.01), 0.5, Limits(roll=0.1, capsize=0.3), 50.0)
    found = by_block(run, FREE, 0.1)
    assert found.early == [True]
    assert found.end_time == pytest.approx([30.0], abs=1e-9)
    assert math.isnan(found.roll_max[0])


@pytest.mark.parametrize(("at", "over", "settle"), [(0.1, 0.2, 0.3), (0.0, 0.3, 0.1 + 0.2)])
def test_settling_counts_although_a_rounding_error_from_another_border(
    at: float, over: float, settle: float
) -> None:
    limits = Limits(roll=0.3)
    run = problem(calm(FREE), 100.0, (0.0, 0.01), 0.5, limits, settle, changes=[Change(at, over)])
    found = by_block(run, FREE, 0.1)
    assert found.passed[0, 0] == pytest.approx(30.0, abs=1e-9)
    assert found.roll_max[0] == pytest.approx(1.0, abs=1e-9)


@pytest.mark.parametrize("kg", [5.3, 5.659, 5.75])
def test_an_undisturbed_ship_upright_stays_exactly_upright(kg: float) -> None:
    run = problem(calm(COASTER), 300.0, gravity=Gravity(kg), limits=Limits(capsize=1.5))
    found = by_block(run, COASTER, 0.1)
    assert not np.any(found.histories[:2])
    assert (found.roll_max[0], found.roll_min[0]) == (0.0, 0.0)


@pytest.mark.parametrize("rate", [0.45, -0.45, -0.6])
def test_a_lopsided_hull_goes_as_by_the_reference(rate: float) -> None:
    """Levers of both sides that end at unlike heels; the least push to port takes her over."""
    heel = [-70.03, -50.0, -30.0, -15.0, -5.0, 0.0, 10.0, 20.0, 35.0, 60.0, 90.0]
    kn = [-4.1, -3.9, -2.8, -1.42, -0.45, 0.03, 0.97, 1.95, 3.2, 4.4, 4.2]
    levers = from_kn_table(np.radians(heel), kn)
    limits = Limits(roll=0.6, capsize=math.radians(70.0))
    run = problem(calm(levers, inertia=2.9), 60.0, (0.0, rate), 0.5, limits, gravity=Gravity(5.0))
    exact, found = solve(run, SHARP), by_block(run, levers, 0.05)
    until = run.output_times <= exact.end_time
    assert found.histories[0, until, 0] == pytest.approx(exact.roll[until], abs=2e-4)
    assert found.end_time[0] == pytest.approx(exact.end_time, abs=2e-3)
    assert found.passed[0, 0] == pytest.approx(exact.passed_roll, abs=2e-3, nan_ok=True)
    assert found.roll_max[0] == pytest.approx(exact.roll_max, abs=1e-4)
