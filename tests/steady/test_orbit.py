"""One pass: its derivatives against differences, its course against the reference engine."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from steady_samples import sample

from rollsim.engines.base import Case, run_list
from rollsim.engines.limits import Tolerances
from rollsim.engines.scipy.engine import ScipyEngine
from rollsim.motion.timeline import Base, Change, timeline
from rollsim.ship.levers import Gravity
from rollsim.steady.family import PERIOD, WAVE_HEIGHT, Family, last_loading, resting_curve
from rollsim.steady.follower import Follower, Range
from rollsim.steady.orbit import course_of, shoot
from rollsim.steady.sweep import with_share

CASES: dict[str, Case] = {
    "beam": sample(),
    "quarter, with speed": sample(heading=math.radians(50.0), speed=3.0, gm_per_m=-0.03),
    "overtaking": sample(heading=math.radians(10.0), speed=9.0, period=4.0, gm_per_m=-0.03),
    "following inertia": sample(added_share=0.2),
}


@pytest.mark.parametrize("name", CASES)
@pytest.mark.parametrize("key", [PERIOD, WAVE_HEIGHT])
@pytest.mark.parametrize("ratio", [1, 2])
def test_the_derivatives_of_a_pass(name: str, key: str, ratio: int) -> None:
    family = Family(CASES[name], key)
    wave = CASES[name].storm.sea.waves
    value = wave.period if key == PERIOD else wave.height  # type: ignore[union-attr]
    start, step = np.array([0.1, -0.05]), 1e-5
    made = shoot(family, start, value, ratio)
    assert made.whole
    for column, shift in enumerate(np.eye(2) * step):
        ends = [shoot(family, start + side * shift, value, ratio).end for side in (1.0, -1.0)]
        difference = (ends[0] - ends[1]) / (2.0 * step)
        assert made.matrix[:, column] == pytest.approx(difference, abs=2e-5)
    ends = [shoot(family, start, value + side * step, ratio).end for side in (1.0, -1.0)]
    assert made.by_value == pytest.approx((ends[0] - ends[1]) / (2.0 * step), abs=2e-5)


@pytest.mark.parametrize("name", CASES)
def test_a_pass_is_a_run_of_the_engine(name: str) -> None:
    case, key = CASES[name], PERIOD
    family = Family(case, key)
    value = case.storm.sea.waves.period  # type: ignore[union-attr]
    period = family.wave(value).period
    start = np.array([0.1, -0.05])
    made = shoot(family, start, value, 2)
    course = course_of(family, made)
    duration = 2.0 * period
    long = replace(
        case,
        segments=timeline(duration, Base(case.gravity, 8.0)),
        storm=replace(case.storm, sea=replace(case.storm.sea, duration=duration)),
        output_step=period,
        tolerances=Tolerances("DOP853", 1e-11, 1e-12),
    )
    measured = ScipyEngine(long).measured(
        run_list(0, with_share(family, value, start)), histories=True
    )
    end = measured.histories[:2, :, 0].astype(np.float64)
    for i, state in enumerate((made.start, made.half, made.end)):
        assert end[:, i] == pytest.approx(with_share(family, value, state), abs=1e-6)
    assert measured.roll_max[0] - measured.roll_min[0] == pytest.approx(
        2.0 * course.amplitude, rel=1e-5
    )
    assert measured.roll_mean[0] == pytest.approx(course.mean, abs=1e-6)
    assert course.reach >= max(measured.roll_max[0], -measured.roll_min[0]) - 1e-6


def test_events_count_as_complete() -> None:
    base = Base(Gravity(3.3), 8.0)
    case = replace(
        sample(), segments=timeline(100.0, base, [Change(10.0, 20.0, 0.1, 0.35, 0.05, 0.02)])
    )
    row = last_loading(case)
    assert row[[2, 4, 6, 8]] == pytest.approx([1.1, 3.65, 0.05, 0.02])
    curve = resting_curve(case)
    assert curve.gravity.kg == pytest.approx(3.65 / 1.1)
    assert curve.gravity.off_centre == pytest.approx(0.05 / 1.1)
    assert curve.heeling.lever == pytest.approx(0.02)


def test_a_solution_is_found_near_a_guess_and_repeats() -> None:
    follower = Follower(Family(sample(), PERIOD), Range(8.0, 14.0), math.radians(60.0))
    point = follower.at_value(np.array([0.0, 0.0]), 9.0)
    assert point is not None
    assert point.made.end == pytest.approx(point.made.start, abs=1e-8)
    assert point.stable
    # Abel: what the damping takes from an area in a period.
    time = point.made.turns * follower.family.wave(9.0).period
    assert 0.0 < np.linalg.det(point.made.matrix) < math.exp(-0.02 * time[-1])


def test_a_pass_that_leads_nowhere_is_given_up_without_a_word() -> None:
    family = Family(sample(), PERIOD)
    made = shoot(family, np.array([3.9, 40.0]), 9.0, 2)
    assert not made.whole
    follower = Follower(family, Range(8.0, 14.0), math.radians(60.0), 2)
    assert follower.at_value(np.array([3.9, 40.0]), 9.0) is None
