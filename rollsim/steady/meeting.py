"""Where branches meet: others, or themselves."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from rollsim.map_names import BranchEnd
from rollsim.steady.branch import Branch, Point, Special
from rollsim.steady.follower import Follower
from rollsim.steady.orbit import Pass, shoot

Floats = NDArray[np.float64]

SAME_PLACE = 0.02
"""Places nearer than this, in the scales, may be one solution."""


def repeated(point: Point, ratio: int) -> Pass:
    """The pass of a point taken as one of a multiple of its period: its map is a power."""
    made = point.made
    matrix = np.linalg.matrix_power(made.matrix, ratio // made.ratio)
    return made._replace(ratio=ratio, half=made.start, matrix=matrix)


class Home:
    """Tells when a branch comes round to where it began, from whichever of its waves."""

    def __init__(self, follower: Follower, point: Point) -> None:
        self.follower, self.point, self.count = follower, point, 0
        self.places = [
            follower.place(point.made._replace(start=s)) for s in starts_of(point, follower)
        ]
        self.came = BranchEnd.CLOSED

    def met(self, before: Point, after: Point) -> Point | None:
        """The point where it began, if that lies between two neighbours, or where a response of
        twice the period loses its doubling; `came` says which."""
        self.count += 1
        if _halves(self.follower, before, after):
            self.came = BranchEnd.JOINED
            return after
        if self.count < 5:
            return None
        a, b = self.follower.place(before.made), self.follower.place(after.made)
        near = min(_distance(place, a, b) for place in self.places)
        return self.point if near < 0.2 * np.linalg.norm(b - a) else None


class Ends:
    """Tells when a branch that began at a special point comes to the branch that it came from."""

    def __init__(self, follower: Follower, special: Special, branches: Sequence[Branch]) -> None:
        self.follower, self.special, self.count = follower, special, 0
        self.doubled = special.kind == "flip"
        self.others = [
            s.point
            for branch in branches
            for s in branch.specials
            if s.kind == special.kind and s.point.made.ratio == special.point.made.ratio
        ]

    def met(self, before: Point, after: Point) -> Point | None:
        """Where between two neighbours the branch ends on the other, None where it does not."""
        self.count += 1
        if self.count < 3:
            return None
        if self.doubled:
            return self._nearest(after) if _halves(self.follower, before, after) else None
        a, b = self.follower.place(before.made), self.follower.place(after.made)
        for other in self.others:
            place = self.follower.place(other.made)
            if _distance(place, a, b) < 0.2 * float(np.linalg.norm(b - a)):
                return replace(other, way=after.way)
        return None

    def _nearest(self, after: Point) -> Point:
        """The special point that a doubled branch shrinks to, or where it lost its doubling."""
        here = self.follower.place(after.made)
        if self.others:
            gaps = [float(np.linalg.norm(self.follower.place(p.made) - here)) for p in self.others]
            if min(gaps) < 5.0 * SAME_PLACE:
                nearest = self.others[int(np.argmin(gaps))]
                made = repeated(nearest, after.made.ratio)
                return Point(made, nearest.course, after.way)
        return after


def _halves(follower: Follower, before: Point, after: Point) -> bool:
    """Whether between two neighbours of even period the state half-way through passes the start:
    there the response has half the period, and goes on as its own other half."""
    if before.made.ratio % 2:
        return False
    gaps = [(p.made.half - p.made.start) / follower.scale[:2] for p in (before, after)]
    return float(gaps[0] @ gaps[1]) < 0.0


def _distance(point: Floats, a: Floats, b: Floats) -> float:
    """Distance of a place from the straight line between two others."""
    along = b - a
    part = float(np.clip((point - a) @ along / max(float(along @ along), 1e-300), 0.0, 1.0))
    return float(np.linalg.norm(point - a - part * along))


def starts_of(point: Point, follower: Follower) -> list[Floats]:
    """The states y, y′ of a solution at the beginning of each of its waves."""
    starts = [point.made.start]
    for _ in range(point.made.ratio - 1):
        starts.append(shoot(follower.family, starts[-1], point.value, 1).end)
    return starts


def lies_on(follower: Follower, point: Point, branch: Branch) -> bool:
    """Whether a solution, from whichever of its waves, is one of a branch."""
    if branch.ratio != point.made.ratio or len(branch.points) < 2:
        return False
    starts = starts_of(point, follower)
    values = np.array([p.value for p in branch.points])
    places = np.array([follower.place(p.made) for p in branch.points])
    reach = SAME_PLACE * follower.scale[2]
    near = (np.minimum(values[:-1], values[1:]) <= point.value + reach) & (
        np.maximum(values[:-1], values[1:]) >= point.value - reach
    )
    for start in starts:
        here = np.append(start, point.value) / follower.scale
        for i in np.flatnonzero(near):
            a, b = places[i], places[i + 1]
            gap = float(np.linalg.norm(b - a))
            if _distance(here, a, b) < max(0.15 * gap, 1e-4):
                return True
    return False
