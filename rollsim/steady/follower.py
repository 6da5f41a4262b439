"""A branch of periodic solutions, followed by pseudo-arclength continuation (Keller 1977).

The unknowns are y, y′ at phase 0 and the key's value, each over a scale of its own. The way ahead
is extrapolated from the last two points, the point found by Newton's method with the exact
derivatives of the pass, on the plane across the way.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from rollsim.map_names import BranchEnd
from rollsim.steady.branch import Branch, Point, Special
from rollsim.steady.family import Family
from rollsim.steady.orbit import Pass, course_of, shoot

Floats = NDArray[np.float64]

ANGLE_SCALE = 0.5
"""An angle [rad] that counts as much as the whole range of the key."""
LONGEST, SHORTEST, NEAR_CAPSIZE = 0.02, 1e-5, 5e-4
"""Steps along a branch, in its scales, and that at which a capsize ahead ends it."""
CLOSED = 1e-8
"""Miss of a pass, in the scales, from which the solution counts as periodic."""
MOST_TRIES = 7
LEAST_COSINE, LEAST_AT_FIRST = 0.97, 0.5
"""Of the angle between the directions at two neighbours; at a branch's very beginning: damping that
goes as |p| p lets it leave at an angle, not straight across."""
MOST_POINTS = 800


class Range(NamedTuple):
    """Between which values a branch is followed, and how long its steps may be."""

    low: float
    high: float
    step: float = LONGEST

    def holds(self, value: float) -> bool:
        """Whether `value` lies between, the ends included."""
        return self.low <= value <= self.high


class Follower:
    """Follows branches of one family of one period ratio; `capsize` [rad] ends them.

    `stop_if_asked` is called at every point and may raise.
    """

    def __init__(
        self,
        family: Family,
        within: Range,
        capsize: float,
        ratio: int = 1,
        stop_if_asked: Callable[[], None] = lambda: None,
    ) -> None:
        self.family, self.within, self.capsize, self.ratio = family, within, capsize, ratio
        self.stop_if_asked = stop_if_asked
        span = within.high - within.low
        frequency = abs(family.wave(0.5 * (within.low + within.high)).frequency)
        self.scale = np.array([ANGLE_SCALE, ANGLE_SCALE * frequency, span])

    # Places: (y, y′, value) over the scales.

    def place(self, made: Pass) -> Floats:
        """A pass as a place."""
        return np.asarray(np.append(made.start, made.value) / self.scale)

    def _miss(self, place: Floats) -> tuple[Pass, Floats, Floats]:
        """The pass from a place, its miss (2,) and the derivatives of that (2, 3)."""
        *start, value = place * self.scale
        made = shoot(self.family, np.array(start), float(value), self.ratio)
        miss = (made.end - made.start) / self.scale[:2]
        slopes = np.column_stack((made.matrix - np.eye(2), made.by_value))
        return made, miss, slopes * self.scale / self.scale[:2, None]

    def corrected(self, guess: Floats, across: Floats) -> tuple[Point, int] | None:
        """The periodic solution on the plane through `guess` across a direction; None where none
        is found. Beside it the number of passes that it took."""
        place = guess.copy()
        before = math.inf
        for tries in range(1, MOST_TRIES + 1):
            if place[2] * self.scale[2] <= 0.0 and self.within.low > 0.0:
                return None
            made, miss, slopes = self._miss(place)
            size = float(np.abs(miss).max())
            if not made.whole or not math.isfinite(size):
                return None
            if size < CLOSED:
                return self._point(made, slopes, across), tries
            if tries > 3 and size > 0.5 * before:
                return None
            before = size
            system = np.vstack((slopes, across))
            try:
                place = place + np.linalg.solve(system, np.append(-miss, across @ (guess - place)))
            except np.linalg.LinAlgError:
                return None
        return None

    def _point(self, made: Pass, slopes: Floats, ahead: Floats) -> Point:
        way = np.cross(slopes[0], slopes[1])
        size = float(np.linalg.norm(way))
        way = way / size if size > 0.0 else np.asarray(ahead)
        return Point(made, course_of(self.family, made), way if way @ ahead >= 0.0 else -way)

    def at_value(self, guess: Floats, value: float) -> Point | None:
        """The periodic solution of a value of the key near a guess (y [rad], y′ [rad/s])."""
        place = np.append(guess, value) / self.scale
        done = self.corrected(place, np.array([0.0, 0.0, 1.0]))
        return done[0] if done else None

    def good(self, point: Point) -> bool:
        """Whether a ship that follows it does not capsize."""
        return point.course.reach < self.capsize

    # The way along a branch.

    def follow(
        self,
        first: Point,
        way: Floats,
        ended: Callable[[Point, Point], Point | None] = lambda before, after: None,
    ) -> Branch:
        """The branch from a point on along a direction, to the end of the range.

        `ended` may say that between two neighbours the branch meets another, and where.
        """
        start = replace(first, way=first.way if first.way @ way >= 0.0 else -first.way)
        branch = Branch(self.ratio, [start])
        step, heading = 0.25 * self.within.step, way
        while len(branch.points) < MOST_POINTS:
            self.stop_if_asked()
            last = branch.points[-1]
            guess = self._ahead(branch.points, step, heading)
            done = self.corrected(guess, heading)
            least = LEAST_COSINE if len(branch.points) > 1 else LEAST_AT_FIRST
            far = done is None or float(done[0].way @ heading) < least
            if done is None or far or not self.good(done[0]):
                over = done is not None and not far
                step *= 0.5
                if step < (NEAR_CAPSIZE if over else SHORTEST):
                    return _ended(branch, BranchEnd.CAPSIZE if over else BranchEnd.STEP_TOO_SMALL)
                continue
            point, tries = done
            if not self.within.holds(point.value):
                self._to_the_border(branch, point)
                return _ended(branch, BranchEnd.RANGE)
            meets = ended(last, point)
            if meets is not None:
                branch.points.append(meets)
                return _ended(branch, BranchEnd.JOINED)
            self._note(branch, point)
            heading = point.way
            step = min(step * (1.4 if tries <= 3 else 1.0 if tries == 4 else 0.6), self.within.step)
        return _ended(branch, BranchEnd.TOO_MANY_POINTS)

    def _ahead(self, points: list[Point], step: float, heading: Floats) -> Floats:
        """A place `step` ahead: along the cubic through the last two points and their ways."""
        here = self.place(points[-1].made)
        if len(points) < 3:
            return np.asarray(here + step * heading)
        before = self.place(points[-2].made)
        h = float(np.linalg.norm(here - before))
        return _hermite((before, points[-2].way), (here, points[-1].way), h, 1.0 + step / h)

    def _to_the_border(self, branch: Branch, beyond: Point) -> None:
        """Add the last point, on the border of the range."""
        last = branch.points[-1]
        border = self.within.high if beyond.value > self.within.high else self.within.low
        part = (border - last.value) / (beyond.value - last.value)
        guess = (1.0 - part) * last.made.start + part * beyond.made.start
        point = self.at_value(guess, border) if abs(part) > 1e-9 else None
        if point is not None and self.good(point):
            way = point.way if point.way @ last.way >= 0.0 else -point.way
            self._note(branch, replace(point, way=way))

    def _note(self, branch: Branch, point: Point) -> None:
        """Add a point, and what happens between it and the last."""
        last = branch.points[-1]
        if len(branch.points) > 1:
            branch.specials += self._between(last, point)
        branch.points.append(point)

    def _between(self, a: Point, b: Point) -> list[Special]:
        folds = a.way[2] * b.way[2] < 0.0
        specials = []
        for kind, test in (("fold", _of_fold), ("branching", _of_one), ("flip", _of_minus_one)):
            if kind == "branching" and folds:
                continue
            if test(a) * test(b) < 0.0:
                place = self._located(a, b, test)
                if place is not None:
                    specials.append(Special(kind, place))
        return specials

    def _located(self, a: Point, b: Point, test: Callable[[Point], float]) -> Point | None:
        """Where between two neighbours a test function is zero."""
        from scipy.optimize import brentq

        ends = (self.place(a.made), a.way), (self.place(b.made), b.way)
        h = float(np.linalg.norm(ends[1][0] - ends[0][0]))
        made: dict[float, Point] = {0.0: a, 1.0: b}

        def at(part: float) -> float:
            if part not in made:
                guess = _hermite(*ends, h, part)
                across = (1.0 - part) * a.way + part * b.way
                done = self.corrected(guess, across / np.linalg.norm(across))
                if done is None:
                    raise ArithmeticError
                made[part] = done[0]
            return test(made[part])

        try:
            part = float(brentq(at, 0.0, 1.0, xtol=1e-7, rtol=1e-7))
            at(part)
        except ArithmeticError:
            # So near a crossing of branches that Newton's plane does not tell them apart.
            return a if abs(test(a)) < abs(test(b)) else b
        return made[part]


def _ended(branch: Branch, why: BranchEnd) -> Branch:
    branch.ends = (branch.ends[0], why)
    return branch


def _hermite(a: tuple[Floats, Floats], b: tuple[Floats, Floats], h: float, part: float) -> Floats:
    """The cubic through two places and their ways, `h` apart, at a part of the way."""
    x, z = part, 1.0 - part
    values = z * z * (1.0 + 2.0 * x) * a[0] + x * x * (1.0 + 2.0 * z) * b[0]
    return np.asarray(values + h * x * z * (z * a[1] - x * b[1]))


def _of_fold(point: Point) -> float:
    """Turns where the value does: two responses meet and end."""
    return float(point.way[2])


def _of_one(point: Point) -> float:
    """det(M − 1): zero where a multiplier is 1."""
    matrix = point.made.matrix
    return float(1.0 - np.trace(matrix) + np.linalg.det(matrix))


def _of_minus_one(point: Point) -> float:
    """det(M + 1): zero where a multiplier is −1 and the period doubles."""
    matrix = point.made.matrix
    return float(1.0 + np.trace(matrix) + np.linalg.det(matrix))
