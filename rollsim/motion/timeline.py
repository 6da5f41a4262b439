"""What changes in time besides the storm: weights, levers, gusts, set values, cut into segments.

Within a segment mass, mass moments, levers and factors are linear in time and the wind speed is at
most quadratic, so the equation is smooth there; solvers restart at every border and never step
over a corner unseen.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from rollsim.compiled import compiled
from rollsim.motion.filling import ACROSS as ROW_ACROSS
from rollsim.motion.filling import COORDINATE, RISE, FillingPath
from rollsim.ship.levers import Gravity
from rollsim.weather.wind import Gust, speed_factor

Floats = NDArray[np.float64]

START, END, MASS, HEIGHT, ACROSS, LEVER, FREE_SURFACE, WAVES, WIND = 0, 1, 2, 4, 6, 8, 10, 12, 14
"""Columns of a segment: start and end [s], then pairs of value at the start and rate of change; the
wind has its second coefficient behind its pair."""
FILLING = 17
"""The pair of the coordinate of tanks that fill, 0 where none does."""
JOINS = 19
"""1 where a segment goes on from the one before without a corner that an event made: only the
straight pieces of tanks that fill meet there, nearly in one line."""
COLUMNS = 20
FREE, BLOWS = 4, 6
"""Places of free surface and wind in what is in force at a time: one for each pair."""
SET = {"kg": 1, "off_centre": 2, "free_surface": FREE, "waves": 5, "wind": BLOWS}
"""Places of the values that a `Setting` takes."""
ROWS_OF_G = ROW_ACROSS + 1
"""Mass and its two moments stand first in a row of a path."""
SAME_TIME = 1e-9
"""Times nearer than this [s] are one."""


class Change(NamedTuple):
    """An event that grows linearly from `at` over `over` [s] and stays.

    `mass` [share of the displacement at t = 0], its moments about keel and centreline [m, per that
    displacement], and a heeling `lever` [m].
    """

    at: float
    over: float
    mass: float = 0.0
    height_moment: float = 0.0
    across_moment: float = 0.0
    lever: float = 0.0


class Setting(NamedTuple):
    """An event that takes a value from the one then in force to `to`, linearly, and leaves it.

    `what`: "kg", "off_centre", "free_surface" [m], "wind" [m/s] or "waves", the factor on the
    waves' height.
    """

    what: str
    to: float
    at: float
    over: float


def _share(at: float, over: float, times: Floats) -> Floats:
    """Share of an event over [`at`, `at` + `over`] that has come at `times` [s] from `at` on."""
    if over == 0.0:
        return np.ones(times.size)
    return np.minimum((times - at) / over, 1.0)


class Base(NamedTuple):
    """What is in force at t = 0: where G lies, and the mean wind [m/s]."""

    gravity: Gravity
    wind_speed: float = 0.0


def timeline(
    duration: float,
    base: Base,
    changes: Sequence[Change] = (),
    settings: Sequence[Setting] = (),
    gusts: tuple[Gust, ...] = (),
    corners: Sequence[float] = (),
    filling: FillingPath | None = None,
) -> Floats:
    """The segments of a run of `duration` [s], shape (n, 20); `corners` [s] are further borders."""
    spans = [(each.at, each.over) for each in changes] + [(each.at, each.over) for each in settings]
    borders = {0.0, duration, *corners}
    borders.update(t for at, over in spans for t in (at, at + over))
    borders.update(t for gust in gusts for t in gust.corners)
    corners_of_events = np.array(sorted(borders))
    borders.update(filling.times.ravel().tolist() if filling else ())
    times = np.array(sorted(t for t in borders if 0.0 <= t <= duration))
    # Two borders that differ by rounding are one; the run's own end stands as it is.
    times = np.append(times[:-1][np.diff(times) > SAME_TIME], duration)
    times[0] = 0.0
    # Points inside give the line without asking which side of a sudden change they are.
    quarter = 0.25 * np.diff(times)
    inside = times[:-1, np.newaxis] + quarter[:, np.newaxis] * (1.0, 2.0, 3.0)
    state = _in_force(inside.ravel(), base, changes, settings, gusts)
    if filling:
        tanks = filling.at(inside.ravel()).T
        state[:ROWS_OF_G] += tanks[:ROWS_OF_G]
        state[FREE] += tanks[RISE]
        state = np.vstack((state, tanks[COORDINATE]))
    rows = _segments(times, quarter, state.reshape(len(state), -1, 3))
    if filling:
        for row in rows:
            apart = float(np.min(np.abs(corners_of_events - row[START])))
            row[JOINS] = apart > SAME_TIME and filling.goes_on(row[START])
    return rows


def _segments(times: Floats, quarter: Floats, state: Floats) -> Floats:
    """The segments between `times` [s] from what is in force at three points of each, (k, n, 3)."""
    first, middle, last = state[..., 0], state[..., 1], state[..., 2]
    rate = (last - first) / (2.0 * quarter)
    start = first - rate * quarter
    bend = (last - 2.0 * middle + first)[BLOWS] / (2.0 * quarter**2)
    # Only a gust on a wind that changes bends; elsewhere it is rounding.
    rounding = 1e-9 * (1.0 + np.abs(middle[BLOWS]))
    bend = np.where(np.abs(bend) * np.diff(times) ** 2 > rounding, bend, 0.0)
    slope = rate[BLOWS] - 4.0 * quarter * bend
    rows = np.zeros((quarter.size, COLUMNS))
    rows[:, START], rows[:, END] = times[:-1], times[1:]
    rows[:, MASS:WIND:2], rows[:, MASS + 1 : WIND : 2] = start[:BLOWS].T, rate[:BLOWS].T
    rows[:, WIND] = first[BLOWS] - quarter * (slope + bend * quarter)
    rows[:, WIND + 1], rows[:, WIND + 2] = slope, bend
    if len(state) > BLOWS + 1:
        rows[:, FILLING], rows[:, FILLING + 1] = start[-1], rate[-1]
    return rows


def _in_force(
    times: Floats,
    base: Base,
    changes: Sequence[Change],
    settings: Sequence[Setting],
    gusts: tuple[Gust, ...],
) -> Floats:
    """Mass, moments about keel and centreline, lever, free surface, wave factor and wind at rising
    `times`, shape (7, n)."""
    state = np.zeros((BLOWS + 1, times.size))
    g = base.gravity
    state.T[:] = 1.0, g.kg, g.off_centre, 0.0, g.free_surface, 1.0, base.wind_speed
    for setting in sorted(settings, key=lambda each: each.at):
        later = np.searchsorted(times, setting.at)
        row = state[SET[setting.what], later:]
        row += _share(setting.at, setting.over, times[later:]) * (setting.to - row)
    for change in changes:
        later = np.searchsorted(times, change.at)
        share = _share(change.at, change.over, times[later:])
        for row, whole in zip(state, change[2:], strict=False):
            if whole:
                row[later:] += share * whole
    state[BLOWS] *= speed_factor(gusts, times)
    return state


def mean_wind(duration: float, base: Base, settings: Sequence[Setting] = ()) -> Floats:
    """The wind without gusts: rows of time [s] and speed [m/s], straight in between, (n, 2).

    A sudden change stands as two rows of one time.
    """
    winds = [each for each in settings if each.what == "wind"]
    rows, speed = [(0.0, base.wind_speed)], base.wind_speed
    for setting in sorted(winds, key=lambda each: each.at):
        rows += [(setting.at, speed), (setting.at + setting.over, setting.to)]
        speed = setting.to
    return np.array([*rows, (max(duration, rows[-1][0]), speed)])


def mean_wind_at(rows: Floats, times: Floats) -> Floats:
    """Wind speed [m/s] at `times` [s] from the rows of `mean_wind`."""
    if np.all(rows[:, 1] == rows[0, 1]):
        return np.full(times.shape, rows[0, 1])
    after = np.minimum(np.searchsorted(rows[:, 0], times, side="right"), len(rows) - 1)
    left, right = rows[after - 1], rows[after]
    span = right[:, 0] - left[:, 0]
    share = np.clip((times - left[:, 0]) / np.where(span > 0.0, span, 1.0), 0.0, 1.0)
    return np.asarray(left[:, 1] + np.where(span > 0.0, share, 1.0) * (right[:, 1] - left[:, 1]))


class Loading(NamedTuple):
    """What is in force at a time: mass over that at t = 0, G [m], lever [m], wind [m/s]."""

    mass: float
    kg: float
    off_centre: float
    lever: float
    free_surface: float
    wind: float


def _loading(time: float, segment: Floats) -> Loading:
    """What is in force at `time` [s]; the wind with its gusts, without turbulence."""
    passed = time - segment[START]
    mass = segment[MASS] + segment[MASS + 1] * passed
    return Loading(
        mass,
        (segment[HEIGHT] + segment[HEIGHT + 1] * passed) / mass,
        (segment[ACROSS] + segment[ACROSS + 1] * passed) / mass,
        segment[LEVER] + segment[LEVER + 1] * passed,
        segment[FREE_SURFACE] + segment[FREE_SURFACE + 1] * passed,
        segment[WIND] + passed * (segment[WIND + 1] + passed * segment[WIND + 2]),
    )


loading = compiled(_loading)


@compiled
def wave_factor(time: float, segment: Floats) -> tuple[float, float]:
    """Factor on the waves by events at `time` [s], and its rate [1/s]."""
    return segment[WAVES] + segment[WAVES + 1] * (time - segment[START]), segment[WAVES + 1]


@compiled
def filling_at(time: float, segment: Floats) -> float:
    """Coordinate of the tanks that fill at `time` [s]."""
    coordinate: float = segment[FILLING] + segment[FILLING + 1] * (time - segment[START])
    return coordinate


def segment_at(times: Floats, segments: Floats) -> NDArray[np.int64]:
    """Number of the segment of each time [s]; at a border the later one: a sudden change acts."""
    index = np.searchsorted(segments[:, START], times, side="right") - 1
    return np.maximum(index, 0).astype(np.int64)


def loading_at(times: Floats, segments: Floats) -> Floats:
    """Rows of a `Loading` at each of `times` [s], shape (n, 6)."""
    # The same formula on columns: not one call of compiled code a time.
    chosen = segments[segment_at(times, segments)].T
    return np.stack(_loading(times, chosen), axis=1)  # type: ignore[arg-type]
