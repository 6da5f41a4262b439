"""All steady responses of a case in a range of a key that can be reached: from rest, from where
periods double and branches cross, and from what simulations come to."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from rollsim.engines.base import Case
from rollsim.map_names import BranchEnd, FoundBy
from rollsim.steady.branch import Branch, Point, Special
from rollsim.steady.family import Family
from rollsim.steady.follower import Follower, Range
from rollsim.steady.meeting import SAME_PLACE, Ends, Home, lies_on, repeated
from rollsim.steady.orbit import shoot
from rollsim.steady.rest import from_rest
from rollsim.steady.sweep import Sweep

Floats = NDArray[np.float64]

GREATEST_RATIO, LONGEST_RATIO = 4, 6
"""Wave periods of the longest responses that are followed from doublings, and from a simulation."""
SAME_SIGHT = 0.02
"""Share by which amplitudes of one response may differ between simulation and branch."""
MOST_BRANCHES = 24
SIMULATED = (FoundBy.SLOW_SWEEP, FoundBy.GRID_OF_STARTS)
PROPER = 1e-6
"""A solution of a multiple period that returns nearer than this, in the scales, sooner is none."""


@dataclass(eq=False)
class Search:
    """Steady responses of `case` over `key` between `low` and `high`."""

    case: Case
    key: str
    low: float
    high: float
    stop_if_asked: Callable[[], None] = lambda: None
    branches: list[Branch] = field(default_factory=list)
    not_followed: int = 0
    """Flips, crossings and states found that no branch was followed from, and ways from calm water
    that were lost."""

    def __post_init__(self) -> None:
        self.family = Family(self.case, self.key)
        self.capsize = self.case.limits.capsize
        self._followers: dict[int, Follower] = {}

    def follower(self, ratio: int) -> Follower:
        """What follows branches of a period ratio."""
        if ratio not in self._followers:
            within = Range(self.low, self.high)
            self._followers[ratio] = Follower(
                self.family, within, self.capsize, ratio, self.stop_if_asked
            )
        return self._followers[ratio]

    def run(self, beside: Sequence[float] = ()) -> list[Branch]:
        """Follow all: from calm water at both ends of the range and `beside`, and the doublings."""
        values = [self.low, self.high, *(v for v in beside if self.low < v < self.high)]
        for value in values:
            for start in from_rest(self.case, self.key, value, self.stop_if_asked, self._lose):
                self.from_seed(start, value, 1, FoundBy.CALM_WATER)
        return self.branches

    def _lose(self) -> None:
        self.not_followed += 1

    def from_seed(self, start: Floats, value: float, ratio: int, found_by: FoundBy) -> None:
        """Follow the branch through a solution near `start`, if that is a new one."""
        point = self.follower(ratio).at_value(start, value)
        if point is None or not self._new(point):
            return
        if len(self.branches) < MOST_BRANCHES:
            self._both_ways(point, found_by)
        else:
            self.not_followed += 1

    def _new(self, point: Point) -> bool:
        """Whether a solution has its proper period, does not capsize and is on no branch yet."""
        follower = self.follower(point.made.ratio)
        known = any(lies_on(follower, point, branch) for branch in self.branches)
        return follower.good(point) and not known and self._proper(point)

    def _proper(self, point: Point) -> bool:
        made = point.made
        if made.ratio == 1:
            return True
        scale = self.follower(1).scale[:2]
        state = made.start
        for _ in range(made.ratio - 1):
            state = shoot(self.family, state, made.value, 1).end
            if float(np.abs((state - made.start) / scale).max()) < PROPER:
                return False
        return True

    def _both_ways(self, point: Point, found_by: FoundBy) -> None:
        """Follow a branch from a point on it to either side."""
        follower = self.follower(point.made.ratio)
        ways = [point.way, -point.way]
        if point.value in (self.low, self.high):
            inward = 1.0 if point.value == self.low else -1.0
            ways = [way for way in ways if way[2] * inward > 0.0] or ways[:1]
        branch = self._one_way(point, ways[0])
        if branch.ends[1] == BranchEnd.CLOSED:
            branch.ends = (BranchEnd.CLOSED, BranchEnd.CLOSED)
        elif len(ways) == 2:
            other = self._one_way(point, ways[1]).reversed()
            branch.points = other.points[:-1] + branch.points
            branch.specials = other.specials + branch.specials
            branch.ends = (other.ends[0], branch.ends[1])
        else:
            branch.ends = (BranchEnd.RANGE, branch.ends[1])
        branch.found_by = found_by
        branch.island = found_by in SIMULATED and not self._leads_on(branch, follower)
        self._keep(branch)

    def _one_way(self, point: Point, way: Floats) -> Branch:
        """The branch from a point on along a direction; closed where it comes round."""
        follower = self.follower(point.made.ratio)
        home = Home(follower, point)
        branch = follower.follow(point, way, home.met)
        if branch.ends[1] == BranchEnd.JOINED:
            branch.ends = (branch.ends[0], home.came)
        return branch

    def _leads_on(self, branch: Branch, follower: Follower) -> bool:
        """Whether a branch is joined to another: at an end, or where branches cross."""
        return BranchEnd.JOINED in branch.ends or any(
            lies_on(follower, special.point, other)
            for special in branch.specials
            if special.kind == "branching"
            for other in self.branches
        )

    def _keep(self, branch: Branch) -> None:
        if len(branch.points) < 2:
            self.not_followed += 1
            return
        self.branches.append(branch)
        for special in branch.specials:
            if special.kind != "fold":
                self._from_special(special, branch)

    def _from_special(self, special: Special, parent: Branch) -> None:
        """Follow what begins at a flip or where branches cross, unless it ended there."""
        ratio = special.point.made.ratio
        if special.kind == "flip":
            ratio *= 2
        if ratio > GREATEST_RATIO or self._reached(special, ratio):
            return
        if len(self.branches) >= MOST_BRANCHES:
            self.not_followed += 1
            return
        eigenvalue = -1.0 if special.kind == "flip" else 1.0
        follower = self.follower(ratio)
        way = np.append(_eigenvector(special.point.made.matrix, eigenvalue), 0.0) / follower.scale
        way = way / np.linalg.norm(way)
        first = Point(repeated(special.point, ratio), special.point.course, way)
        # A doubled solution is the same from either side; branches that cross have two.
        for side in (1.0, -1.0) if special.kind == "branching" else (1.0,):
            ended = Ends(follower, special, self.branches)
            branch = follower.follow(first, side * way, ended.met)
            if len(branch.points) < 3:
                self.not_followed += branch.ends[1] == BranchEnd.STEP_TOO_SMALL
                continue
            third = branch.points[2]
            if not self._proper(third) or any(lies_on(follower, third, b) for b in self.branches):
                continue
            branch.ends = (BranchEnd.JOINED, branch.ends[1])
            branch.found_by = FoundBy.FLIP if special.kind == "flip" else FoundBy.CROSSING
            branch.island = parent.island
            self._keep(branch)

    def _reached(self, special: Special, ratio: int) -> bool:
        """Whether a branch of that ratio already begins or ends there."""
        follower = self.follower(ratio)
        here = follower.place(special.point.made)
        for branch in self.branches:
            ends = (branch.points[0], branch.points[-1])
            if branch.ratio == ratio and branch.ratio != special.point.made.ratio:
                gap = min(float(np.linalg.norm(follower.place(p.made) - here)) for p in ends)
                if gap < SAME_PLACE:
                    return True
        return False

    def from_attractors(self, values: Floats, sweep: Sweep) -> None:
        """Follow what a simulation has come to at `values` and is on no branch yet."""
        for value, amplitude, state, ratio in zip(values, *sweep, strict=True):
            if 0 < ratio <= LONGEST_RATIO and not self._seen(float(value), float(amplitude), ratio):
                self.from_seed(state, float(value), int(ratio), FoundBy.SLOW_SWEEP)

    def from_grid(self, value: float, states: Floats, ratios: NDArray[np.int64]) -> None:
        """Follow what a grid of starts has come to at a value and is on no branch yet."""
        for state, ratio in zip(states, ratios, strict=True):
            if ratio <= LONGEST_RATIO:
                self.stop_if_asked()
                self.from_seed(state, value, int(ratio), FoundBy.GRID_OF_STARTS)

    def _seen(self, value: float, amplitude: float, ratio: int) -> bool:
        """Whether a branch of that ratio has about that amplitude [rad] at a value."""
        for branch in self.branches:
            if branch.ratio != ratio:
                continue
            for a, b in pairwise(branch.points):
                if (a.value - value) * (b.value - value) <= 0.0 < abs(b.value - a.value):
                    part = (value - a.value) / (b.value - a.value)
                    here = (1.0 - part) * a.course.amplitude + part * b.course.amplitude
                    if abs(here - amplitude) < SAME_SIGHT * (0.1 + amplitude):
                        return True
        return False

    def specials(self, kind: str) -> list[Special]:
        """What of a kind happens, in order of the key, each once."""
        found = [s for branch in self.branches for s in branch.specials if s.kind == kind]
        near = 1e-4 * (self.high - self.low)
        each: list[Special] = []
        for special in sorted(found, key=lambda s: s.point.value):
            point = special.point
            if not any(
                point.value - other.point.value < near
                and abs(point.course.amplitude - other.point.course.amplitude) < 1e-4
                for other in each
            ):
                each.append(special)
        return each


def _eigenvector(matrix: Floats, eigenvalue: float) -> Floats:
    values, vectors = np.linalg.eig(matrix)
    vector = np.real(vectors[:, int(np.argmin(np.abs(values - eigenvalue)))])
    return np.asarray(vector / np.linalg.norm(vector))
