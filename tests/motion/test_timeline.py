"""Gusts and events in time: segments that are linear inside, exact at every moment."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st

from rollsim.motion.timeline import (
    COLUMNS,
    Base,
    Change,
    Setting,
    loading,
    loading_at,
    mean_wind,
    mean_wind_at,
    timeline,
    wave_factor,
)
from rollsim.ship.levers import Gravity
from rollsim.weather.wind import Gust

UPRIGHT = Base(Gravity(5.0))
WINDY = Base(Gravity(5.0), 20.0)
MASS, KG, ACROSS, LEVER, FREE_SURFACE, WIND = range(6)


def at(segments: np.ndarray, time: float) -> list[float]:
    """Mass ratio, KG, off-centre G, lever, free surface and wind speed at a time."""
    return [float(value) for value in loading_at(np.array([time]), segments)[0]]


def borders(segments: np.ndarray) -> list[float]:
    return [*segments[:, 0], segments[-1, 1]]


# Segments


def test_a_quiet_run_is_one_segment() -> None:
    segments = timeline(100.0, Base(Gravity(5.3, 0.02, 0.1), 20.0))
    assert segments.shape == (1, COLUMNS)
    assert borders(segments) == [0.0, 100.0]
    for time in (0.0, 33.3, 100.0):
        assert at(segments, time) == pytest.approx([1.0, 5.3, 0.02, 0.0, 0.1, 20.0], abs=1e-15)


def test_every_corner_is_a_border() -> None:
    segments = timeline(
        100.0,
        WINDY,
        [Change(10.0, 5.0, lever=0.1), Change(50.0, 0.0, lever=0.1), Change(200.0, 1.0)],
        (),
        (Gust(20.0, 2.0, 3.0, 1.5), Gust(95.0, 1.0, 10.0, 1.5)),
        (30.0, 45.0, 0.0, 100.0, 300.0),
    )
    expected = [0.0, 10.0, 15.0, 20.0, 22.0, 25.0, 27.0, 30.0, 45.0, 50.0, 95.0, 96.0, 100.0]
    assert borders(segments) == expected
    assert np.array_equal(segments[1:, 0], segments[:-1, 1])


def test_borders_that_differ_by_rounding_are_one() -> None:
    """0.1 + 0.2 is not 0.3: a segment of one rounding error is a trap for solvers."""
    changes = [Change(0.1, 0.2, lever=0.1), Change(0.3, 0.0, lever=0.2)]
    for corner in (0.3, 0.1 + 0.2, 0.3 - 5e-17):
        segments = timeline(1.0, UPRIGHT, changes, corners=(corner,))
        assert borders(segments) == pytest.approx([0.0, 0.1, 0.3, 1.0], abs=1e-15)
        assert np.min(np.diff(borders(segments))) > 0.09
        assert at(segments, 0.2)[LEVER] == pytest.approx(0.05, abs=1e-14)
        assert at(segments, 0.5)[LEVER] == pytest.approx(0.3, abs=1e-14)


# Events


def test_a_gradual_event_grows_linearly_and_stays() -> None:
    segments = timeline(100.0, UPRIGHT, [Change(10.0, 20.0, lever=0.4)])
    for time, lever in (
        (0.0, 0.0),
        (10.0, 0.0),
        (15.0, 0.1),
        (29.0, 0.38),
        (30.0, 0.4),
        (99.0, 0.4),
    ):
        assert at(segments, time)[LEVER] == pytest.approx(lever, abs=1e-14)


def test_a_sudden_event_acts_from_its_moment_on() -> None:
    segments = timeline(100.0, UPRIGHT, [Change(10.0, 0.0, lever=0.4)])
    assert at(segments, math.nextafter(10.0, 0.0))[LEVER] == 0.0
    assert at(segments, 10.0)[LEVER] == pytest.approx(0.4, abs=1e-15)
    assert at(segments, 10.0 + 1e-9)[LEVER] == pytest.approx(0.4, abs=1e-15)


def test_an_event_at_the_start_acts_at_once() -> None:
    segments = timeline(100.0, UPRIGHT, [Change(0.0, 0.0, lever=0.4)])
    assert at(segments, 0.0)[LEVER] == 0.4


def test_an_event_may_outlast_the_run() -> None:
    segments = timeline(100.0, UPRIGHT, [Change(60.0, 80.0, lever=0.4)])
    assert borders(segments) == [0.0, 60.0, 100.0]
    assert at(segments, 100.0)[LEVER] == pytest.approx(0.2, abs=1e-15)


def test_events_add_up() -> None:
    changes = [
        Change(10.0, 10.0, lever=0.4),
        Change(15.0, 0.0, lever=-0.1),
        Change(12.0, 4.0, lever=0.2),
    ]
    segments = timeline(100.0, UPRIGHT, changes)
    assert at(segments, 14.0)[LEVER] == pytest.approx(0.16 + 0.1, abs=1e-14)
    assert at(segments, 15.0)[LEVER] == pytest.approx(0.2 - 0.1 + 0.15, abs=1e-14)
    assert at(segments, 50.0)[LEVER] == pytest.approx(0.5, abs=1e-14)


def test_a_moved_weight_shifts_g_by_its_moment() -> None:
    """40 t of 4250 t, 2 m across and 1 m up: GG1 = w d / W (common practice)."""
    share = 40.0 / 4250.0
    segments = timeline(
        100.0, Base(Gravity(5.3, 0.01)), [Change(10.0, 0.0, 0.0, share * 1.0, share * 2.0)]
    )
    assert at(segments, 50.0)[:3] == pytest.approx([1.0, 5.309411765, 0.028823529], abs=1e-9)


def test_an_added_weight_by_moments() -> None:
    """4250 t at 5.3 m and 250 t at 9 m, 2 m to starboard: KG 24775/4500 = 5.505556 m."""
    share = 250.0 / 4250.0
    segments = timeline(
        100.0, Base(Gravity(5.3, 0.01)), [Change(10.0, 0.0, share, share * 9.0, share * 2.0)]
    )
    expected = [4500.0 / 4250.0, 24775.0 / 4500.0, (42.5 + 500.0) / 4500.0]
    assert at(segments, 50.0)[:3] == pytest.approx(expected, abs=1e-14)
    assert at(segments, 5.0)[:3] == pytest.approx([1.0, 5.3, 0.01], abs=1e-15)


@settings(deadline=None)
@given(
    share=st.floats(0.001, 0.3),
    height=st.floats(0.0, 15.0),
    across=st.floats(-8.0, 8.0),
    over=st.sampled_from([0.0, 7.0]),
)
def test_a_weight_added_and_removed_leaves_nothing_behind(
    share: float, height: float, across: float, over: float
) -> None:
    on = Change(10.0, over, share, share * height, share * across)
    off = Change(50.0, over, -share, -share * height, -share * across)
    segments = timeline(100.0, Base(Gravity(5.3, 0.01)), [on, off])
    assert at(segments, 80.0)[:3] == pytest.approx([1.0, 5.3, 0.01], abs=1e-13)
    between = [1.0 + share, (5.3 + share * height) / (1.0 + share)]
    assert at(segments, 30.0)[:2] == pytest.approx(between, abs=1e-13)


def test_a_weight_that_grows_goes_by_moments_at_every_moment() -> None:
    segments = timeline(100.0, Base(Gravity(5.0)), [Change(0.0, 100.0, 0.2, 0.2 * 9.0, 0.2 * 3.0)])
    for time in (10.0, 50.0, 75.0):
        on = 0.2 * time / 100.0
        expected = [1.0 + on, (5.0 + 9.0 * on) / (1.0 + on), 3.0 * on / (1.0 + on)]
        assert at(segments, time)[:3] == pytest.approx(expected, abs=1e-14)


# Gusts


def test_a_gust_rises_holds_and_returns() -> None:
    segments = timeline(100.0, WINDY, gusts=(Gust(10.0, 4.0, 6.0, 1.5),))
    speeds = {9.0: 20.0, 10.0: 20.0, 11.0: 22.5, 14.0: 30.0, 17.0: 30.0, 20.0: 30.0, 22.0: 25.0}
    speeds |= {24.0: 20.0, 60.0: 20.0}
    for time, speed in speeds.items():
        assert at(segments, time)[WIND] == pytest.approx(speed, abs=1e-13)


def test_a_gust_without_rise_stands_like_a_wall() -> None:
    segments = timeline(100.0, WINDY, gusts=(Gust(10.0, 0.0, 6.0, 1.5),))
    assert borders(segments) == [0.0, 10.0, 16.0, 100.0]
    for time, speed in {9.999: 20.0, 10.0: 30.0, 15.999: 30.0, 16.0: 20.0}.items():
        assert at(segments, time)[WIND] == pytest.approx(speed, abs=1e-13)


def test_a_gust_without_hold_is_a_peak() -> None:
    segments = timeline(100.0, WINDY, gusts=(Gust(10.0, 2.0, 0.0, 1.5),))
    assert borders(segments) == [0.0, 10.0, 12.0, 14.0, 100.0]
    assert at(segments, 12.0)[WIND] == pytest.approx(30.0, abs=1e-13)
    assert at(segments, 13.0)[WIND] == pytest.approx(25.0, abs=1e-13)


def test_gusts_that_follow_on_each_other() -> None:
    gusts = (Gust(30.0, 1.0, 2.0, 0.5), Gust(10.0, 0.0, 6.0, 1.5), Gust(16.0, 2.0, 2.0, 1.2))
    segments = timeline(100.0, WINDY, gusts=gusts)
    speeds = {12.0: 30.0, 16.0: 20.0, 17.0: 22.0, 19.0: 24.0, 25.0: 20.0, 32.0: 10.0, 34.0: 20.0}
    for time, speed in speeds.items():
        assert at(segments, time)[WIND] == pytest.approx(speed, abs=1e-13)


def test_a_gust_already_blowing_and_one_cut_off_by_the_end() -> None:
    gusts = (Gust(0.0, 0.0, 5.0, 1.5), Gust(98.0, 4.0, 5.0, 1.5))
    segments = timeline(100.0, WINDY, gusts=gusts)
    assert at(segments, 0.0)[WIND] == 30.0
    assert at(segments, 100.0)[WIND] == pytest.approx(25.0, abs=1e-13)


# Reading


def test_loading_at_many_times_is_loading_of_each() -> None:
    changes = [Change(10.0, 5.0, 0.1, 0.8, 0.1), Change(40.0, 0.0, lever=0.2)]
    gusts = (Gust(20.0, 2.0, 3.0, 1.5),)
    segments = timeline(60.0, Base(Gravity(5.3, 0.01), 20.0), changes, (), gusts)
    times = np.arange(0.0, 60.5, 0.5)
    found = loading_at(times, segments)
    assert found.shape == (times.size, 6)
    for time, row in zip(times, found, strict=True):
        segment = [s for s in segments if s[0] <= time][-1]
        assert np.array_equal(row, loading(time, segment))


def test_no_times_no_rows() -> None:
    assert loading_at(np.zeros(0), timeline(10.0, UPRIGHT)).shape == (0, 6)


# Events that set a value


def test_a_set_value_goes_linearly_from_the_one_then_in_force_and_stays() -> None:
    settings_ = [Setting("kg", 5.6, 10.0, 20.0), Setting("kg", 5.2, 50.0, 10.0)]
    segments = timeline(100.0, UPRIGHT, settings=settings_)
    heights = {0.0: 5.0, 10.0: 5.0, 15.0: 5.15, 29.0: 5.57, 30.0: 5.6, 49.0: 5.6, 55.0: 5.4}
    heights |= {60.0: 5.2, 100.0: 5.2}
    for time, kg in heights.items():
        assert at(segments, time)[KG] == pytest.approx(kg, abs=1e-13)


def test_settings_in_any_order_act_by_their_times() -> None:
    one, other = Setting("kg", 5.6, 10.0, 20.0), Setting("kg", 5.2, 50.0, 10.0)
    forwards, backwards = (
        timeline(100.0, UPRIGHT, (), both) for both in ([one, other], [other, one])
    )
    assert np.array_equal(forwards, backwards)


@pytest.mark.parametrize(
    ("what", "place", "before"), [("off_centre", ACROSS, 0.02), ("free_surface", FREE_SURFACE, 0.1)]
)
def test_off_centre_and_free_surface_are_set_alike(what: str, place: int, before: float) -> None:
    base = Base(Gravity(5.0, 0.02, 0.1))
    segments = timeline(100.0, base, settings=[Setting(what, 0.3, 10.0, 20.0)])
    assert at(segments, 5.0)[place] == pytest.approx(before, abs=1e-15)
    assert at(segments, 20.0)[place] == pytest.approx(0.5 * (before + 0.3), abs=1e-14)
    assert at(segments, 70.0)[place] == pytest.approx(0.3, abs=1e-14)
    others = [name for name in range(6) if name != place]
    assert np.array(at(segments, 70.0))[others] == pytest.approx(
        np.array(at(segments, 5.0))[others], abs=1e-15
    )


def test_a_sudden_setting_acts_from_its_moment_on() -> None:
    segments = timeline(100.0, UPRIGHT, settings=[Setting("kg", 5.6, 10.0, 0.0)])
    assert at(segments, math.nextafter(10.0, 0.0))[KG] == pytest.approx(5.0, abs=1e-14)
    assert at(segments, 10.0)[KG] == pytest.approx(5.6, abs=1e-14)


def test_the_moments_of_weights_act_on_the_value_that_was_set() -> None:
    """250 t of 4250 t at 9 m, 2 m to starboard, from 20 s on; KG set from 5.3 to 5.5 m by 40 s."""
    share = 250.0 / 4250.0
    weight = Change(20.0, 0.0, share, share * 9.0, share * 2.0)
    segments = timeline(100.0, Base(Gravity(5.3, 0.01)), [weight], [Setting("kg", 5.5, 30.0, 10.0)])
    for time, set_to in ((25.0, 5.3), (35.0, 5.4), (60.0, 5.5)):
        expected = (set_to + share * 9.0) / (1.0 + share)
        assert at(segments, time)[KG] == pytest.approx(expected, abs=1e-13)


def test_the_factor_on_the_waves_and_its_rate() -> None:
    segments = timeline(100.0, UPRIGHT, settings=[Setting("waves", 3.0, 10.0, 20.0)])
    for time, factor, rate in ((5.0, 1.0, 0.0), (20.0, 2.0, 0.1), (50.0, 3.0, 0.0)):
        segment = next(s for s in segments if s[0] <= time < s[1])
        assert wave_factor(time, segment) == pytest.approx((factor, rate), abs=1e-13)


@settings(deadline=None)
@given(
    to=st.floats(0.0, 40.0),
    at_s=st.floats(0.0, 60.0),
    over=st.sampled_from([0.0, 7.0, 50.0]),
    rise=st.sampled_from([0.0, 4.0, 15.0]),
    factor=st.floats(0.2, 2.0),
    time=st.floats(0.0, 99.9),
)
@example(to=35.0, at_s=25.0, over=50.0, rise=15.0, factor=1.5, time=37.0)
def test_a_gust_on_a_wind_that_changes_is_their_product(
    to: float, at_s: float, over: float, rise: float, factor: float, time: float
) -> None:
    """Two lines multiplied: a parabola in time, exact at every moment of every segment."""
    gust = Gust(30.0, rise, 10.0, factor)
    segments = timeline(100.0, WINDY, (), [Setting("wind", to, at_s, over)], (gust,))
    # At a sudden change either side may be meant.
    corners = np.array([*gust.corners, at_s, at_s + over])
    assume(np.min(np.abs(corners - time)) > 1e-6)
    came = (time >= at_s) if over == 0.0 else min(max((time - at_s) / over, 0.0), 1.0)
    mean = 20.0 + came * (to - 20.0)
    expected = mean * float(gust.speed_factor(np.array(time)))
    assert at(segments, time)[WIND] == pytest.approx(expected, abs=1e-9)


def test_the_mean_wind_has_no_gusts() -> None:
    changes = [Setting("wind", 10.0, 60.0, 0.0), Setting("wind", 30.0, 10.0, 20.0)]
    rows = mean_wind(100.0, WINDY, [*changes, Setting("kg", 5.5, 5.0, 5.0)])
    assert rows[0] == pytest.approx([0.0, 20.0])
    assert rows[-1] == pytest.approx([100.0, 10.0])
    times = np.array([0.0, 10.0, 15.0, 30.0, 59.999, 60.0, 99.0, 100.0])
    expected = [20.0, 20.0, 22.5, 30.0, 30.0, 10.0, 10.0, 10.0]
    assert mean_wind_at(rows, times) == pytest.approx(expected, abs=1e-12)


@pytest.mark.parametrize("over", [0.0, 30.0])
def test_the_mean_wind_of_a_change_at_the_start_and_of_one_past_the_end(over: float) -> None:
    rows = mean_wind(100.0, WINDY, [Setting("wind", 10.0, 0.0, over)])
    start = 10.0 if over == 0.0 else 20.0
    assert mean_wind_at(rows, np.array([0.0, 100.0])) == pytest.approx([start, 10.0])
    late = mean_wind(100.0, WINDY, [Setting("wind", 40.0, 90.0, 20.0)])
    assert mean_wind_at(late, np.array([80.0, 95.0, 100.0])) == pytest.approx([20.0, 25.0, 30.0])


def test_a_steady_wind_is_steady() -> None:
    rows = mean_wind(100.0, WINDY)
    assert mean_wind_at(rows, np.array([0.0, 50.0, 100.0])) == pytest.approx([20.0] * 3)
