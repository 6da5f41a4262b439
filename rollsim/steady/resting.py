"""Heels of rest over one key: branches followed by pseudo-arclength continuation (Keller 1977).

At rest the residual lever f(value, heel) is zero. Where two equilibria meet and end (a fold) its
slope along the heel is zero; where branches cross, as at the pitchfork of a centred ship, its slope
along the key as well.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from rollsim.map_names import BranchEnd

Floats = NDArray[np.float64]

Residual = Callable[[float, float], tuple[float, float, float]]
"""Of value and heel [rad]: the residual lever [m], its slopes along the value and the heel."""

LONGEST, SHORTEST = 0.02, 1e-7
"""Steps along a branch: in ranges of the key, and in radians."""
LEAST_COSINE = 0.985
"""Of the angle between the directions at two neighbours."""
MOST_TRIES, MOST_POINTS = 8, 4000
CLOSED = 1e-13
"""A last correction below this, in the scales, is none."""
SAME = 1e-6
"""Heels nearer than this [rad] at one value are one."""


class Bounds(NamedTuple):
    """Between which values of the key and which heels [rad] branches are followed."""

    low: float
    high: float
    port: float
    starboard: float

    @property
    def span(self) -> float:
        """Length of the range of the key."""
        return self.high - self.low


class Point(NamedTuple):
    """Where she rests: value of the key, heel [rad], slopes of the lever along both."""

    value: float
    heel: float
    by_value: float
    by_heel: float

    @property
    def stable(self) -> bool:
        """Whether the lever brings her back."""
        return self.by_heel > 0.0


class Meeting(NamedTuple):
    """A "fold" or a "branching" at a value of the key and a heel [rad]."""

    kind: str
    value: float
    heel: float


@dataclass(eq=False)
class Branch:
    """Points in order, what happens between them, and why it goes no further at either end."""

    points: list[Point] = field(default_factory=list)
    meetings: list[Meeting] = field(default_factory=list)
    ends: tuple[BranchEnd, BranchEnd] = (BranchEnd.NO_BRANCH, BranchEnd.NO_BRANCH)


class Follower:
    """Follows the branches of one residual lever within bounds.

    Places are (value over the range, heel).
    """

    def __init__(self, residual: Residual, bounds: Bounds) -> None:
        self.residual, self.bounds = residual, bounds

    def branches(self, starts: Iterable[tuple[float, float]]) -> list[Branch]:
        """The branches through starts (value, heel), each once."""
        found: list[Branch] = []
        for value, heel in starts:
            if not any(self._on(branch, value, heel) for branch in found):
                found.append(self.through(value, heel))
        return [branch for branch in found if len(branch.points) > 1]

    def through(self, value: float, heel: float) -> Branch:
        """The branch through a point of rest, both ways."""
        first = self._point(self._place(value, heel))
        ahead = self._way(first)
        forth = self._followed(first, ahead)
        if forth.ends[1] == BranchEnd.CLOSED:
            forth.ends = (BranchEnd.CLOSED, BranchEnd.CLOSED)
            return forth
        back = self._followed(first, -ahead)
        points = [*back.points[:0:-1], *forth.points]
        meetings = [*back.meetings[::-1], *forth.meetings]
        return Branch(points, meetings, (back.ends[1], forth.ends[1]))

    def _followed(self, first: Point, way: Floats) -> Branch:
        """The branch from a point on along a direction; `ends[1]` says why it goes no further."""
        branch, step = Branch([first]), 0.1 * LONGEST
        while len(branch.points) < MOST_POINTS and step > SHORTEST:
            last = branch.points[-1]
            done = self._corrected(self._at(last) + step * way, way)
            if done is None:
                step *= 0.5
                continue
            point, tries = done
            turned = self._way(point)
            turned = turned if turned @ way >= 0.0 else -turned
            if turned @ way < LEAST_COSINE and step > 1e-4:
                step *= 0.5
                continue
            if not self._inside(point):
                border, end = self._border(last, point)
                if border is not None:
                    branch.points.append(border)
                return _ended(branch, end)
            if (meeting := self._between(last, point, way, turned)) is not None:
                branch.meetings.append(meeting)
            branch.points.append(point)
            if len(branch.points) > 4 and self._home(branch):
                branch.points[-1] = first
                return _ended(branch, BranchEnd.CLOSED)
            way = turned
            step = min(LONGEST, step * (1.5 if tries <= 3 else 0.8))
        if step > SHORTEST:
            return _ended(branch, BranchEnd.TOO_MANY_POINTS)
        return _ended(branch, self._lost(branch.points[-1], way))

    # Places and points.

    def _place(self, value: float, heel: float) -> Floats:
        return np.array([(value - self.bounds.low) / self.bounds.span, heel])

    def _at(self, point: Point) -> Floats:
        return self._place(point.value, point.heel)

    def _point(self, place: Floats) -> Point:
        value, heel = self.bounds.low + float(place[0]) * self.bounds.span, float(place[1])
        return Point(value, heel, *self.residual(value, heel)[1:])

    def _gradient(self, point: Point) -> Floats:
        return np.array([point.by_value * self.bounds.span, point.by_heel])

    def _way(self, point: Point) -> Floats:
        """The direction of the branch, one of the two."""
        along, across = self._gradient(point)
        size = math.hypot(along, across)
        return np.array([-across, along]) / size if size > 0.0 else np.array([1.0, 0.0])

    def _corrected(self, guess: Floats, across: Floats) -> tuple[Point, int] | None:
        """The point of rest on the line through `guess` across a direction, by Newton's method."""
        place = guess
        for tries in range(1, MOST_TRIES + 1):
            value, heel = self.bounds.low + float(place[0]) * self.bounds.span, float(place[1])
            if not self._known(value, heel):
                return None
            lever, by_value, by_heel = self.residual(value, heel)
            system = np.array([[by_value * self.bounds.span, by_heel], across])
            miss = np.array([-lever, across @ (guess - place)])
            try:
                move = np.linalg.solve(system, miss)
            except np.linalg.LinAlgError:
                # At a crossing itself: it is a point of rest as it stands.
                return (self._point(place), tries) if abs(lever) < CLOSED else None
            place = place + move
            if float(np.abs(move).max()) < CLOSED * (1.0 + float(np.abs(place).max())) * 1e3:
                return self._point(place), tries
            if tries > 2 and float(np.abs(move).max()) > LONGEST:
                return None
        return None

    def _known(self, value: float, heel: float) -> bool:
        """Whether the lever is known there; a little past the bounds it is asked for."""
        b = self.bounds
        near = 0.05 * b.span
        return b.low - near <= value <= b.high + near and b.port <= heel <= b.starboard

    def _inside(self, point: Point) -> bool:
        b = self.bounds
        return b.low <= point.value <= b.high and b.port < point.heel < b.starboard

    def _border(self, last: Point, beyond: Point) -> tuple[Point | None, BranchEnd]:
        """The point on the border between two neighbours, None within rounding, and which border:
        that of the range or that of the levers."""
        b = self.bounds
        if b.low <= beyond.value <= b.high:
            heel = b.starboard if beyond.heel >= b.starboard else b.port
            return self._at_heel(last, beyond, heel), BranchEnd.LEVERS
        border = b.high if beyond.value > b.high else b.low
        if abs(last.value - border) < 1e-12 * b.span:
            return None, BranchEnd.RANGE
        part = (border - last.value) / (beyond.value - last.value)
        guess = self._place(border, last.heel + part * (beyond.heel - last.heel))
        done = self._corrected(guess, np.array([1.0, 0.0]))
        return done[0]._replace(value=border) if done else None, BranchEnd.RANGE

    def _at_heel(self, last: Point, beyond: Point, heel: float) -> Point | None:
        """The point between two neighbours at a heel."""
        if abs(beyond.heel - last.heel) < SAME:
            return None
        part = (heel - last.heel) / (beyond.heel - last.heel)
        guess = self._place(last.value + part * (beyond.value - last.value), heel)
        done = self._corrected(guess, np.array([0.0, 1.0]))
        return done[0] if done and self._known(*done[0][:2]) else None

    def _lost(self, last: Point, way: Floats) -> BranchEnd:
        """Why no point is found ahead of the last: beyond the levers there is none to find."""
        heel = last.heel + 10.0 * SHORTEST * float(way[1])
        within = self.bounds.port < heel < self.bounds.starboard
        return BranchEnd.STEP_TOO_SMALL if within else BranchEnd.LEVERS

    # What happens on the way.

    def _between(self, a: Point, b: Point, before: Floats, after: Floats) -> Meeting | None:
        """What happens between two neighbours whose ways are `before` and `after`."""
        turns, changes = before[0] * after[0] < 0.0, a.by_heel * b.by_heel < 0.0
        if not (turns or changes):
            return None
        if turns and changes and self._of_fold(a, b):
            return self._fold(a, b)
        return self._branching(a, b)

    def _of_fold(self, a: Point, b: Point) -> bool:
        """Whether the slope along the key keeps its sign while that along the heel changes it."""
        return a.by_value * b.by_value > 0.0

    def _fold(self, a: Point, b: Point) -> Meeting | None:
        from scipy.optimize import brentq

        ends = self._at(a), self._at(b)
        chord = (ends[1] - ends[0]) / np.linalg.norm(ends[1] - ends[0])

        def at(part: float) -> Point:
            done = self._corrected((1.0 - part) * ends[0] + part * ends[1], chord)
            return done[0] if done else (a if part < 0.5 else b)

        part = float(brentq(lambda x: at(x).by_heel, 0.0, 1.0, xtol=1e-13))
        return Meeting("fold", *at(part)[:2])

    def _branching(self, a: Point, b: Point) -> Meeting | None:
        """Where both slopes are zero, by Newton's method on them."""
        place = 0.5 * (self._at(a) + self._at(b))
        h = 1e-5
        for _ in range(20):
            columns = [
                (self._gradient_at(place + move) - self._gradient_at(place - move)) / (2.0 * h)
                for move in h * np.eye(2)
            ]
            try:
                move = np.linalg.solve(np.column_stack(columns), -self._gradient_at(place))
            except np.linalg.LinAlgError:
                return None
            place = place + move
            if float(np.abs(move).max()) < 1e-11:
                break
        near = max(0.02, float(np.linalg.norm(self._at(b) - self._at(a))))
        if float(np.linalg.norm(place - 0.5 * (self._at(a) + self._at(b)))) > near:
            return None
        return Meeting("branching", *self._point(place)[:2])

    def _gradient_at(self, place: Floats) -> Floats:
        heel = min(max(float(place[1]), self.bounds.port), self.bounds.starboard)
        return self._gradient(self._point(np.array([place[0], heel])))

    def _home(self, branch: Branch) -> bool:
        """Whether a branch has come round to where it began."""
        first, a, b = (self._at(branch.points[i]) for i in (0, -2, -1))
        along = b - a
        part = float((first - a) @ along / (along @ along))
        off = float(np.linalg.norm(first - a - part * along))
        return 0.0 < part <= 1.0 and off < 0.1 * float(np.linalg.norm(along))

    def _on(self, branch: Branch, value: float, heel: float) -> bool:
        """Whether a point of rest lies on a branch."""
        for heel_there in heels_at(branch.points, value):
            if abs(heel_there - heel) > LONGEST:
                continue
            done = self._corrected(self._place(value, heel_there), np.array([1.0, 0.0]))
            if abs((done[0].heel if done else heel_there) - heel) < SAME:
                return True
        return False


def _ended(branch: Branch, why: BranchEnd) -> Branch:
    branch.ends = (branch.ends[0], why)
    return branch


def heels_at(points: Sequence[Point], value: float) -> list[float]:
    """The heels [rad] at which a branch passes a value, straight between its points."""
    heels = []
    for a, b in pairwise(points):
        low, high = sorted((a.value, b.value))
        if low <= value <= high:
            part = (value - a.value) / (b.value - a.value) if b.value != a.value else 0.5
            heels.append(a.heel + part * (b.heel - a.heel))
    return heels
