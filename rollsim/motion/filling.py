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
from rollsim.ship.liquid import FillingLevers, LiquidLever, liquids
from rollsim.ship.tanks.cells import Cells

Floats = NDArray[np.float64]

MOST_OFF = 1e-5
"""How far a straight piece may be off in the height of G and its free surface, or a lever [m]."""
DEEPEST = 10
"""Halvings of a piece at most."""
HEELS: Floats = np.geomspace(1e-3, 1.5, 32)
"""Heels [rad] at which pieces of levers are compared."""
MIDDLE, QUARTERS = (0.5,), (0.25, 0.5, 0.75)
"""Where a piece is compared: in boxes what bends does so evenly, by sections it need not."""
EDGE = 1e-9
"""Filling short of empty or full whose free surface is that of a tank which just leaves it."""

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

    def goes_on(self, time: float) -> bool:
        """Whether one piece goes on in the next at a time [s], while a tank fills or flows."""
        i = int(np.argmin(np.abs(self.times[:, 0] - time)))
        if i == 0 or abs(self.times[i, 0] - time) > 1e-9:
            return False
        before, after = self.rows[i - 1, :, COORDINATE], self.rows[i, :, COORDINATE]
        return bool(before[0] < before[1] == after[0] < after[1])

    def at(self, times: Floats) -> Floats:
        """The five numbers at times within pieces, shape (n, 5)."""
        i = np.maximum(np.searchsorted(self.times[:, 0], times, side="right") - 1, 0)
        start, end = self.times[i].T
        part = np.clip((times - start) / (end - start), 0.0, 1.0)[:, np.newaxis]
        # In this form what stays the same does so to the last bit.
        return np.asarray(self.rows[i, 0] + part * (self.rows[i, 1] - self.rows[i, 0]))


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
    at, ends = _coordinates(pieces)
    rows[:, :, COORDINATE] = at
    times = np.array([[first.time, last.time] for first, last, _ in pieces])
    return FillingPath(times, rows, states.levers(ends))


Piece = tuple[Level, Level, NDArray[np.bool_]]
"""Start, end, and which tanks are slack in between."""


End = tuple[Floats, NDArray[np.bool_]]
"""Fillings, and which tanks are slack on the way there."""


def _coordinates(pieces: Sequence[Piece]) -> tuple[NDArray[np.intp], list[End]]:
    """Coordinates (n, 2) of the pieces' ends, and what stands at each; one where nothing moves."""
    at = np.zeros((len(pieces), 2), dtype=np.intp)
    ends: list[End] = []
    for numbers, (first, last, slack) in zip(at, pieces, strict=True):
        for i, filling in enumerate((first.filling, last.filling)):
            end = filling, slack
            if not ends or not all(map(np.array_equal, ends[-1], end)):
                ends.append(end)
            numbers[i] = len(ends) - 1
    return at, ends


def _pieces(
    states: _States, first: Level, last: Level, slack: NDArray[np.bool_], depth: int = 0
) -> Iterator[Piece]:
    middle = Level(0.5 * (first.time + last.time), 0.5 * (first.filling + last.filling))
    if depth == DEEPEST or states.straight(first, last, slack):
        yield first, last, slack
        return
    yield from _pieces(states, first, middle, slack, depth + 1)
    yield from _pieces(states, middle, last, slack, depth + 1)


class _States:
    """What fillings make of mass, moments, rise and levers."""

    def __init__(self, tanks: Sequence[Filling], displacement: float) -> None:
        self.tanks = [filling.tank for filling in tanks]
        self.displacement = displacement
        self.capacity = np.array([tank.capacity for tank in self.tanks]) / displacement
        self.start = np.array([filling.start for filling in tanks])
        self.liquid = np.array([filling.liquid for filling in tanks])
        self.moving = [tank.tank for tank in tanks if tank.liquid]
        self.cells = Cells(tuple(cell for tank in self.moving for cell in tank.cells))
        boxes = Cells(tuple(cell for tank in self.tanks for cell in tank.cells)).all_boxes
        self.between = MIDDLE if boxes else QUARTERS
        self.first = np.array(self._moments(self.start))
        self.rise = self._rise(self.start, self.slack(self.start, self.start))

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
        height, across = np.array(self._moments(filling)) - self.first
        rise = self._rise(filling, slack) / mass - self.rise
        return np.array([mass - 1.0, height, across, rise, 0.0])

    def _moments(self, filling: Floats) -> tuple[float, float]:
        """Moments of the liquids about keel and centreline [m]."""
        at = [tank.centroid(part) for tank, part in zip(self.tanks, filling.tolist(), strict=True)]
        shares = self.capacity * filling
        height, across = (np.array([getattr(each, name) for each in at])
                          for name in ("height", "across"))  # fmt: skip
        return float(np.sum(shares * height)), float(np.sum(shares * across))

    def _rise(self, filling: Floats, slack: NDArray[np.bool_]) -> float:
        """Rise by free surfaces over the mass at t = 0 [m]; at an end that of the level near it."""
        near = np.clip(filling, EDGE, 1.0 - EDGE).tolist()
        each = zip(self.tanks, near, slack, strict=True)
        moments = [tank.free_surface_moment(part) for tank, part, on in each if on]
        return float(np.sum(moments)) / self.displacement

    def lever(self, filling: Floats, slack: NDArray[np.bool_]) -> LiquidLever:
        """The moving liquid."""
        on, mass = self.liquid, self.mass(filling) * self.displacement
        share, parts, _ = liquids(self.moving, filling[on].tolist(), mass)
        near = np.where(slack, np.clip(filling, EDGE, 1.0 - EDGE), 0.0)[on]
        return LiquidLever(self.cells, share, parts, liquids(self.moving, near.tolist(), mass)[2])

    def straight(self, first: Level, last: Level, slack: NDArray[np.bool_]) -> bool:
        """Whether what lies between two levels is on the line between them."""
        ends = [self.row(each.filling, slack) for each in (first, last)]
        inside = [(part, (1.0 - part) * first.filling + part * last.filling)
                  for part in self.between]  # fmt: skip
        for part, filling in inside:
            on_line = (1.0 - part) * ends[0] + part * ends[1]
            if np.max(np.abs(self.row(filling, slack) - on_line)) > MOST_OFF:
                return False
        if not np.any(self.liquid):
            return True
        low, high = (self.lever(each.filling, slack).value(HEELS) for each in (first, last))
        return all(
            np.max(np.abs(self.lever(filling, slack).value(HEELS) - (1.0 - part) * low
                          - part * high)) <= MOST_OFF
            for part, filling in inside
        )  # fmt: skip

    def levers(self, ends: Sequence[End]) -> FillingLevers | None:
        """The levers of moving liquid at the ends of pieces."""
        if not np.any(self.liquid):
            return None
        at = [self.lever(*end) for end in ends]
        return FillingLevers(
            self.cells,
            np.array([lever.share for lever in at]),
            np.array([lever.filling for lever in at]),
            np.array([lever.rises for lever in at]),
            self.lever(self.start, self.slack(self.start, self.start)),
        )
