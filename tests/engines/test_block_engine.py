"""The block engine alone, in calm water: closed forms, corners, limits and outputs.

Its agreement with the reference in seas: `test_random_runs`, `test_violent_runs`.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from engine_cases import Recipe, case_of, runs_of
from integrate_samples import COASTER, FREE, INERTIA, LINEAR, OMEGA

from rollsim.engines.block.engine import BlockEngine
from rollsim.engines.limits import Limits, Tolerances, output_times
from rollsim.engines.runs import Measured
from rollsim.engines.scipy.engine import ScipyEngine
from rollsim.motion.timeline import Change, Setting
from rollsim.ship.levers import Gravity, from_kn_table
from rollsim.weather.wind import Gust

GM = OMEGA**2 * INERTIA
A = 0.4
WIND = 20.0
MEAN = 2e-4 * WIND**2 / GM
SHARP = Tolerances("DOP853", 1e-13, 1e-15)
DOUBLE = math.radians(0.001)
"""An accuracy for which a block is stepped in double precision."""
NONE = Limits(capsize=1.4999)


def calm(levers: object, duration: float, **rest: object) -> Recipe:
    """A recipe in calm water, G at the keel, stepped in double."""
    known: dict[str, object] = {
        "inertia": INERTIA, "gravity": Gravity(0.0), "wind": 2e-4, "accuracy": DOUBLE,
        "limits": NONE,
    }  # fmt: skip
    return Recipe(levers=levers, duration=duration, **(known | rest))  # type: ignore[arg-type]


def by_block(recipe: Recipe, step: float) -> Measured:
    """The run by blocks of that step, with no finer one to help."""
    case = case_of(recipe)
    measured, trouble = BlockEngine(case, step)._at(0, runs_of(case, 1), histories=True)
    assert not trouble.any()
    return measured


def times_of(recipe: Recipe) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    return output_times(recipe.duration, recipe.output_step)


@pytest.mark.parametrize(
    ("duration", "step"),
    [(0.3, 0.1), (0.7, 0.1), (3.3, 1.1), (10.0, 1.0 / 3.0), (17.0, 0.7), (5.0, 7.0), (36.0, 0.05)],
)
def test_every_output_is_written(duration: float, step: float) -> None:
    run = calm(LINEAR, duration, start=(0.1, 0.0), output_step=step)
    found = by_block(run, min(step, 0.2))
    exact = 0.1 * np.cos(OMEGA * times_of(run))
    assert found.histories[0, :, 0] == pytest.approx(exact, abs=2e-7)
    assert found.end_time == [duration]


def test_outputs_within_steps_are_near_too() -> None:
    """Outputs need not fall on steps: the cubic within a step is off by its fourth order."""
    run = calm(LINEAR, 50.0, start=(0.1, 0.0), output_step=0.37)
    found = by_block(run, 0.1)
    assert found.histories[0, :, 0] == pytest.approx(0.1 * np.cos(OMEGA * times_of(run)), abs=2e-7)
    rate = -0.1 * OMEGA * np.sin(OMEGA * times_of(run))
    assert found.histories[1, :, 0] == pytest.approx(rate, abs=2e-6)


def test_a_halved_step_is_nearer_by_its_order() -> None:
    """Six steps back: an error of the sixth order."""
    accuracy = math.radians(0.0099)
    run = calm(LINEAR, 100.0, start=(0.0, A * OMEGA), output_step=1.0, accuracy=accuracy)
    exact = A * np.sin(OMEGA * times_of(run))
    off = [
        float(np.max(np.abs(by_block(run, step).histories[0, :, 0] - exact)))
        for step in (1.0, 0.5, 0.25)
    ]
    assert off[0] > 30.0 * off[1] > 900.0 * off[2] > 0.0
    assert off[2] < 2e-6


@pytest.mark.parametrize("length", [0.2, 1e-3])
def test_a_short_gust_in_a_long_calm_is_felt(length: float) -> None:
    """A rectangular push of height h and length τ leaves 2 h sin(ωτ/2) (Duhamel)."""
    gust = Gust(971.3, 0.0, length, 1.5)
    run = calm(LINEAR, 1000.0, start=(MEAN, 0.0), wind_speed=WIND, gusts=(gust,))
    found = by_block(run, 0.1)
    swing = (1.5**2 - 1.0) * MEAN * 2.0 * math.sin(0.5 * OMEGA * length)
    assert found.roll_max[0] - MEAN == pytest.approx(swing, rel=1e-5)


@pytest.mark.parametrize("at", [0.0, 30.0, 33.37])
def test_a_sudden_lever_swings_her_to_twice_its_heel(at: float) -> None:
    """φ = (h/GM)(1 - cos ω(t - at)): the exact response of a linear ship."""
    run = calm(LINEAR, 80.0, changes=[Change(at, 0.0, lever=0.05)])
    found = by_block(run, 0.1)
    passed = np.maximum(times_of(run) - at, 0.0)
    exact = 0.05 / GM * (1.0 - np.cos(OMEGA * passed))
    assert found.histories[0, :, 0] == pytest.approx(exact, abs=2e-8)
    lever = np.where(times_of(run) >= at, 0.05, 0.0)
    assert found.histories[3, :, 0] == pytest.approx(lever, abs=1e-8)


@pytest.mark.parametrize("angle", [0.01, 0.1, 0.3, 0.39])
@pytest.mark.parametrize("side", [1.0, -1.0])
def test_limits_are_passed_at_their_closed_form(angle: float, side: float) -> None:
    limits = NONE._replace(roll=angle)
    run = calm(LINEAR, 50.0, start=(0.0, side * A * OMEGA), limits=limits)
    found = by_block(run, 0.1)
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
        limits = NONE._replace(roll=A * (1.0 - over))
        run = calm(LINEAR, 6.0, start=(0.0, A * OMEGA), limits=limits, changes=changes)
        found = by_block(run, 0.5)
        assert found.roll_max[0] == pytest.approx(A, abs=1e-5)
        assert math.isnan(found.passed[0, 0]) == (found.roll_max[0] < limits.roll)


def test_a_capsize_ends_the_run() -> None:
    run = calm(FREE, 60.0, start=(0.1, 0.02), limits=Limits(roll=0.3, capsize=0.7001))
    found = by_block(run, 0.1)
    assert found.end_time == pytest.approx([30.005], abs=1e-9)
    assert found.passed[[0, 2], 0] == pytest.approx([10.0, 30.005], abs=1e-9)
    assert (found.roll_min[0], found.roll_max[0]) == pytest.approx((0.1, 0.7001), abs=1e-9)


@pytest.mark.parametrize("output_step", [0.29, 0.3, 0.31, 0.5])
def test_the_last_output_before_a_capsize_is_kept(output_step: float) -> None:
    """Also where it lies within the very step that takes her over, alone or in company."""
    run = calm(
        FREE, 60.0, start=(0.1, 0.02), limits=Limits(capsize=0.7001), output_step=output_step
    )
    case = case_of(run)
    for runs in (runs_of(case, 1), runs_of(case, 2)._replace(rate=np.array([0.02, 0.0]))):
        found = BlockEngine(case, 0.25).run(runs, histories=True)
        last = math.floor(30.005 / output_step)
        exact = np.degrees(0.1 + 0.02 * output_step * np.arange(last + 1))
        assert found.histories[0, 0, : last + 1] == pytest.approx(exact, abs=1e-5)
        assert np.all(np.isnan(found.histories[0, 0, last + 1 :]))


def test_averages_hold_to_the_moment_of_a_capsize() -> None:
    """φ = 0.1 + 0.02 t until 30.005 s: mean and mean square in closed form, samples or no."""
    run = calm(FREE, 60.0, start=(0.1, 0.02), limits=Limits(capsize=0.7001))
    found = by_block(run, 0.3)
    assert found.roll_mean == pytest.approx([0.40005], abs=1e-9)
    assert found.roll_square == pytest.approx([(0.7001**3 - 0.1**3) / 0.06 / 30.005], abs=1e-9)


def test_limits_and_extremes_count_from_settling_on() -> None:
    limits = NONE._replace(roll=0.3, flooding=0.8)
    run = calm(FREE, 100.0, start=(0.0, 0.01), limits=limits, settle=50.3)
    found = by_block(run, 0.1)
    assert found.early == [True]
    assert found.passed[:, 0] == pytest.approx([50.3, 80.0, math.nan], abs=1e-9, nan_ok=True)
    assert (found.roll_min[0], found.roll_max[0]) == pytest.approx((0.503, 1.0), abs=1e-9)


def test_a_capsize_before_settling_ends_the_run() -> None:
    limits = Limits(roll=0.1, capsize=0.3)
    run = calm(FREE, 100.0, start=(0.0, 0.01), limits=limits, settle=50.0)
    found = by_block(run, 0.1)
    assert found.early == [True]
    assert found.end_time == pytest.approx([30.0], abs=1e-9)
    assert math.isnan(found.roll_max[0])


@pytest.mark.parametrize(("at", "over", "settle"), [(0.1, 0.2, 0.3), (0.0, 0.3, 0.1 + 0.2)])
def test_settling_counts_although_a_rounding_error_from_another_border(
    at: float, over: float, settle: float
) -> None:
    limits, changes = NONE._replace(roll=0.3), [Change(at, over)]
    run = calm(FREE, 100.0, start=(0.0, 0.01), limits=limits, settle=settle, changes=changes)
    found = by_block(run, 0.1)
    assert found.passed[0, 0] == pytest.approx(30.0, abs=1e-9)
    assert found.roll_max[0] == pytest.approx(1.0, abs=1e-9)


@pytest.mark.parametrize("accuracy", [0.01, 0.001])
@pytest.mark.parametrize("kg", [5.3, 5.659, 5.75])
def test_an_undisturbed_ship_upright_stays_exactly_upright(kg: float, accuracy: float) -> None:
    run = calm(COASTER, 300.0, gravity=Gravity(kg), accuracy=math.radians(accuracy))
    found = by_block(run, 0.1)
    assert not np.any(found.histories[:2])
    assert (found.roll_max[0], found.roll_min[0]) == (0.0, 0.0)
    assert found.upcrossings == [0.0]


@pytest.mark.parametrize("rate", [0.45, -0.45, -0.6])
def test_a_lopsided_hull_goes_as_by_the_reference(rate: float) -> None:
    """Levers of both sides that end at unlike heels; the least push to port takes her over."""
    heel = [-70.03, -50.0, -30.0, -15.0, -5.0, 0.0, 10.0, 20.0, 35.0, 60.0, 90.0]
    kn = [-4.1, -3.9, -2.8, -1.42, -0.45, 0.03, 0.97, 1.95, 3.2, 4.4, 4.2]
    limits = Limits(roll=0.6, capsize=math.radians(70.0))
    run = calm(
        from_kn_table(np.radians(heel), kn), 60.0, inertia=2.9, start=(0.0, rate), limits=limits,
        gravity=Gravity(5.0),
    )  # fmt: skip
    case = case_of(run)
    exact = ScipyEngine(case, SHARP).measured(runs_of(case, 1), histories=True)
    found = by_block(run, 0.05)
    until = times_of(run) <= exact.end_time[0]
    assert found.histories[0, until, 0] == pytest.approx(exact.histories[0, until, 0], abs=2e-4)
    assert found.end_time == pytest.approx(exact.end_time, abs=2e-3)
    assert found.passed[0] == pytest.approx(exact.passed[0], abs=2e-3, nan_ok=True)
    assert found.roll_max == pytest.approx(exact.roll_max, abs=1e-4)


QUICKLY: dict[str, dict[str, object]] = {
    "G across": {"changes": [Change(5.0, 4.0, across_moment=0.1)]},
    "G upwards": {"changes": [Change(5.0, 4.0, height_moment=-0.3)]},
    "mass": {"changes": [Change(5.0, 4.0, 0.1, 0.5, -0.02)]},
    "a lever": {"changes": [Change(5.0, 4.0, lever=0.1)]},
    "a free surface": {"settings": [Setting("free_surface", 0.1, 5.0, 4.0)]},
}


@pytest.mark.parametrize("what", QUICKLY)
def test_what_moves_quickly_is_felt_where_it_is(what: str) -> None:
    """Against DOP853; a loading half a step late shows in the fifth digit of the roll."""
    run = calm(
        COASTER, 25.0, inertia=2.86, gravity=Gravity(5.2), start=(0.1, 0.05), wind_speed=20.0,
        gusts=(Gust(12.0, 2.0, 3.0, 1.4),), output_step=0.1, **QUICKLY[what],
    )  # fmt: skip
    case = case_of(run)
    exact = ScipyEngine(case, SHARP).measured(runs_of(case, 1), histories=True)
    found = by_block(run, 0.1)
    assert found.histories[:2, :, 0] == pytest.approx(exact.histories[:2, :, 0], abs=1e-6)
    assert found.histories[3, :, 0] == pytest.approx(exact.histories[3, :, 0], abs=1e-6)
