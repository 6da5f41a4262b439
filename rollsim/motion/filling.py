"""Tanks that fill, empty or flow into each other: what they make of mass, G and levers in time.

Levels go straight between an event's ends, and by an exponential through a pipe. Moments and levers
are not linear in the levels: they are cut into pieces within which they go straight to MOST_OFF.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from rollsim.motion.levels import Fill, Filling, Flow, Level, levels
from rollsim.ship.liquid import FillingLevers, LiquidLever

Floats = NDArray[np.float64]

MOST_OFF = 1e-5
"""How far a straight piece may be off in the height of G and its free surface, or a lever [m]."""
DEEPEST = 10
"""Halvings of a piece at most."""
HEELS: Floats = np.geomspace(1e-3, 1.5, 32)
"""Heels [rad] at which pieces of levers are compared."""

MASS, HEIGHT, ACROSS, RISE, COORDINATE = range(5)


@dataclass(frozen=True, eq=False)
class FillingPath:
    """What tanks add to the loading of t = 0, in pieces that are straight in time.

    `times` (n, 2) are start and end of the pieces [s]. `rows` (n, 2, 5) hold there the mass [share
    of that at t = 0], its moments about keel and centreline [m], the rise by free surfaces [m], and
    the coordinate of `levers`.
    """

    times: Floats
    rows: Floats
    levers: FillingLevers | None

    def at(self, times: Floats) -> Floats:
        """The five numbers at times within pieces, shape (n, 5)."""
        i = np.maximum(np.searchsorted(self.times[:, 0], times, side="right") - 1, 0)
        start, end = self.times[i].T
        part = np.clip((times - start) / (end - start), 0.0, 1.0)[:, np.newaxis]
        return np.asarray((1.0 - part) * self.rows[i, 0] + part * self.rows[i, 1])


def filling_path(
    tanks: Sequence[Filling],
    fills: Sequence[Fill],
    flows: Sequence[Flow],
    displacement: float,
    duration: float,
) -> FillingPath | None:
    """The path of tanks on a ship of `displacement` [kg] at t = 0; None where nothing changes."""
    if not tanks or not (fills or flows):
        return None
    states = _States(tanks, displacement)
    nodes = list(levels(tanks, fills, flows, duration))
    if all(np.array_equal(node.filling, nodes[0].filling) for node in nodes):
        return None
    pieces = [
        piece
        for first, last in pairwise(nodes)
        if last.time > first.time
        for piece in _pieces(states, first, last, states.slack(first.filling, last.filling))
    ]
    rows = np.array([[states.row(each.filling, slack) for each in ends] for *ends, slack in pieces])
    goes_on = [
        np.array_equal(before[1].filling, after[0].filling) and np.array_equal(before[2], after[2])
        for before, after in pairwise(pieces)
    ]
    ends = np.cumsum([1, *(1 if on else 2 for on in goes_on)])
    rows[:, 0, COORDINATE], rows[:, 1, COORDINATE] = ends - 1, ends
    times = np.array([[first.time, last.time] for first, last, _ in pieces])
    return FillingPath(times, rows, states.levers(pieces, ends))


Piece = tuple[Level, Level, NDArray[np.bool_]]
"""Start, end, and which tanks are slack in between."""


def _pieces(
    states: _States, first: Level, last: Level, slack: NDArray[np.bool_], depth: int = 0
) -> Iterator[Piece]:
    middle = Level(0.5 * (first.time + last.time), 0.5 * (first.filling + last.filling))
    if depth == DEEPEST or states.straight(first, middle, last, slack):
        yield first, last, slack
        return
    yield from _pieces(states, first, middle, slack, depth + 1)
    yield from _pieces(states, middle, last, slack, depth + 1)


class _States:
    """What fillings make of mass, moments, rise and levers."""

    def __init__(self, tanks: Sequence[Filling], displacement: float) -> None:
        each = [filling.tank for filling in tanks]
        self.capacity = np.array([tank.capacity for tank in each]) / displacement
        self.bottom = np.array([tank.bottom for tank in each])
        self.height = np.array([tank.height for tank in each])
        self.across = np.array([tank.across for tank in each])
        self.breadth = np.array([tank.breadth for tank in each])
        self.surface = np.array([tank.free_surface_moment(0.5) for tank in each]) / displacement
        self.start = np.array([filling.start for filling in tanks])
        self.liquid = np.array([filling.liquid for filling in tanks])
        self.rise = float(np.sum(self.surface[(self.start > 0.0) & (self.start < 1.0)]))

    def slack(self, first: Floats, last: Floats) -> NDArray[np.bool_]:
        """Which tanks have a free surface between two fillings."""
        middle = 0.5 * (first + last)
        return np.asarray((middle > 0.0) & (middle < 1.0))

    def mass(self, filling: Floats) -> float:
        """Mass over that at t = 0."""
        return 1.0 + float(np.sum(self.capacity * (filling - self.start)))

    def row(self, filling: Floats, slack: NDArray[np.bool_]) -> Floats:
        """Added mass, its moments, and the rise beyond that of t = 0."""
        mass = self.mass(filling)
        height = self._height(filling) - self._height(self.start)
        across = float(np.sum(self.capacity * (filling - self.start) * self.across))
        rise = float(np.sum(self.surface[slack])) / mass - self.rise
        return np.array([mass - 1.0, height, across, rise, 0.0])

    def _height(self, filling: Floats) -> float:
        at = self.bottom + 0.5 * filling * self.height
        return float(np.sum(self.capacity * filling * at))

    def lever(self, filling: Floats, slack: NDArray[np.bool_]) -> LiquidLever:
        """The moving liquid."""
        on, mass = self.liquid, self.mass(filling)
        return LiquidLever(
            self.capacity[on] * filling[on] / mass,
            self.breadth[on],
            self.height[on],
            filling[on],
            np.where(slack, self.surface, 0.0)[on] / mass,
        )

    def straight(self, first: Level, middle: Level, last: Level, slack: NDArray[np.bool_]) -> bool:
        """Whether the middle lies on the line between the ends."""
        ends = [self.row(each.filling, slack) for each in (first, last)]
        off = np.abs(self.row(middle.filling, slack) - 0.5 * (ends[0] + ends[1]))
        if np.max(off) > MOST_OFF:
            return False
        if not np.any(self.liquid):
            return True
        low, mid, high = (
            self.lever(each.filling, slack).value(HEELS) for each in (first, middle, last)
        )
        return bool(np.max(np.abs(mid - 0.5 * (low + high))) <= MOST_OFF)

    def levers(self, pieces: Sequence[Piece], at: NDArray[np.intp]) -> FillingLevers | None:
        """The levers of moving liquid at both ends of every piece, `at` the coordinates of ends."""
        if not np.any(self.liquid):
            return None
        ends: list[LiquidLever] = []
        for (first, last, slack), end in zip(pieces, at, strict=True):
            if len(ends) < end:  # else it is where the piece before ended
                ends.append(self.lever(first.filling, slack))
            ends.append(self.lever(last.filling, slack))
        slack = (self.start > 0.0) & (self.start < 1.0)
        return FillingLevers(
            np.array([end.share for end in ends]),
            ends[0].breadth,
            ends[0].height,
            np.array([end.filling for end in ends]),
            np.array([end.rises for end in ends]),
            self.lever(self.start, slack),
        )
