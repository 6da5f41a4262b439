"""What changes in time besides the sea: weights, heeling levers and gusts, cut into segments.

Within a segment mass, mass moments, lever and wind speed are linear in time, so the equation is
smooth there; solvers restart at every border and never step over a corner unseen.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from rollsim.compiled import compiled
from rollsim.ship.levers import Gravity
from rollsim.weather.wind import Gust, speed_factor

Floats = NDArray[np.float64]

START, END, MASS, HEIGHT, ACROSS, LEVER, WIND = 0, 1, 2, 4, 6, 8, 10
"""Columns of a segment: start and end [s], then pairs of value at the start and rate of change."""
COLUMNS = 12
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

    def share(self, time: float) -> float:
        """How much of the change has come at `time` [s], away from a sudden one's moment."""
        if self.over == 0.0:
            return 1.0 if time >= self.at else 0.0
        return min(max((time - self.at) / self.over, 0.0), 1.0)


def timeline(
    duration: float,
    gravity: Gravity,
    changes: Sequence[Change] = (),
    wind_speed: float = 0.0,
    gusts: tuple[Gust, ...] = (),
    corners: Sequence[float] = (),
) -> Floats:
    """The segments of a run of `duration` [s], shape (n, 12); `corners` [s] are further borders."""
    borders = {0.0, duration, *corners}
    borders.update(t for change in changes for t in (change.at, change.at + change.over))
    borders.update(t for gust in gusts for t in gust.corners)
    times = np.array(sorted(t for t in borders if 0.0 <= t <= duration))
    # Two borders that differ by rounding are one; the run's own end stands as it is.
    times = np.append(times[:-1][np.diff(times) > SAME_TIME], duration)
    times[0] = 0.0

    def state(time: float) -> Floats:
        shares = [change.share(time) for change in changes]
        total = np.array([1.0, gravity.kg, gravity.off_centre, 0.0])
        for share, change in zip(shares, changes, strict=True):
            total += share * np.array(change[2:])
        return np.append(total, wind_speed * speed_factor(gusts, time))

    rows = np.zeros((times.size - 1, COLUMNS))
    for row, start, end in zip(rows, times[:-1], times[1:], strict=True):
        # Two points inside give the line without asking which side of a sudden change they are.
        quarter = 0.25 * (end - start)
        first, second = state(start + quarter), state(end - quarter)
        rate = (second - first) / (2.0 * quarter)
        row[START], row[END] = start, end
        row[MASS::2] = first - rate * quarter
        row[MASS + 1 :: 2] = rate
    return rows


@compiled
def loading(time: float, segment: Floats) -> tuple[float, float, float, float, float]:
    """Mass ratio, KG, off-centre G, heeling lever [m] and wind speed [m/s] at `time` [s]."""
    passed = time - segment[START]
    mass = segment[MASS] + segment[MASS + 1] * passed
    kg = (segment[HEIGHT] + segment[HEIGHT + 1] * passed) / mass
    off_centre = (segment[ACROSS] + segment[ACROSS + 1] * passed) / mass
    lever = segment[LEVER] + segment[LEVER + 1] * passed
    return mass, kg, off_centre, lever, segment[WIND] + segment[WIND + 1] * passed


def loading_at(times: Floats, segments: Floats) -> Floats:
    """Rows of mass ratio, KG, off-centre G, lever, wind speed at each of `times`, shape (n, 5).

    At a border the later segment counts: a sudden change acts from its moment on.
    """
    index = np.searchsorted(segments[:, START], times, side="right") - 1
    return np.array(
        [loading(t, segments[i]) for t, i in zip(times, np.maximum(index, 0), strict=True)]
    ).reshape(len(times), 5)
