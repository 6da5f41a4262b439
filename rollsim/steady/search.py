"""All steady responses of a case in a range of a key that can be reached: from rest, from the ends
of branches, and from where periods double."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from rollsim.engines.base import Case
from rollsim.ship.equilibria import equilibria
from rollsim.steady.branch import Branch, Follower, Point, Range, Special
from rollsim.steady.family import WAVE_HEIGHT, Family, resting_curve
from rollsim.steady.orbit import Pass, shoot
from rollsim.steady.sweep import Sweep

Floats = NDArray[np.float64]

GREATEST_RATIO, LONGEST_RATIO = 4, 6
"""Wave periods of the longest responses that are followed from doublings, and from a simulation."""
SAME_SIGHT = 0.02
"""Share by which amplitudes of one response may differ between simulation and branch."""
MOST_BRANCHES = 24
OVERSHOOT = 1.6
"""How far beyond its height the way from calm water goes on, to come back through folds."""
HOMOTOPY_STEP = 0.04
SAME_PLACE = 0.02
"""Places nearer than this, in the scales, may be one solution."""
PROPER = 1e-6
"""A solution of a multiple period that returns nearer than this, in the scales, sooner is none."""


@dataclass(eq=False)
class Search:
    """Steady responses of `case` over `key` between `low` and `high`."""

    case: Case
    key: str
    low: float
    high: float
    branches: list[Branch] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.family = Family(self.case, self.key)
        self.capsize = self.case.limits.capsize
        self._followers: dict[int, Follower] = {}

    def follower(self, ratio: int) -> Follower:
        """What follows branches of a period ratio."""
        if ratio not in self._followers:
            within = Range(self.low, self.high)
            self._followers[ratio] = Follower(self.family, within, self.capsize, ratio)
        return self._followers[ratio]

    def run(self, beside: Sequence[float] = ()) -> list[Branch]:
        """Follow all: from calm water at both ends of the range and `beside`, then the doublings."""
        values = [self.low, self.high, *(v for v in beside if self.low < v < self.high)]
        for value in values:
            for start in from_rest(self.case, self.key, value):
                self.from_seed(start, value, 1)
        return self.branches

    def from_seed(self, start: Floats, value: float, ratio: int) -> bool:
        """Follow the branch through a solution near `start`; whether there is a new one."""
        point = self.follower(ratio).at_value(start, value)
        if point is None or not self._new(point):
            return False
        self._both_ways(point)
        return True

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

    def _both_ways(self, point: Point) -> None:
        """Follow a branch from a point on it to either side."""
        follower = self.follower(point.made.ratio)
        ways = [point.way, -point.way]
        if point.value in (self.low, self.high):
            inward = 1.0 if point.value == self.low else -1.0
            ways = [way for way in ways if way[2] * inward > 0.0] or ways[:1]
        home = _Home(follower, point)
        first = follower.follow(point, ways[0], home.met)
        whole = first
        if len(ways) == 2 and first.ends[1] != "joined":
            other = follower.follow(point, ways[1]).reversed()
            ends = (other.ends[0], first.ends[1])
            specials = other.specials + first.specials
            whole = Branch(first.ratio, other.points[:-1] + first.points, specials, ends)
        else:
            border = "range" if len(ways) == 1 else first.ends[1]
            whole.ends = (border, first.ends[1])
        self._keep(whole)

    def _keep(self, branch: Branch) -> None:
        if len(branch.points) < 2:
            return
        self.branches.append(branch)
        for special in branch.specials:
            if len(self.branches) < MOST_BRANCHES and special.kind != "fold":
                self._from_special(special)

    def _from_special(self, special: Special) -> None:
        """Follow what begins at a flip or where branches cross, unless it ended there."""
        ratio = special.point.made.ratio
        if special.kind == "flip":
            ratio *= 2
        if ratio > GREATEST_RATIO or self._reached(special, ratio):
            return
        eigenvalue = -1.0 if special.kind == "flip" else 1.0
        follower = self.follower(ratio)
        way = np.append(_eigenvector(special.point.made.matrix, eigenvalue), 0.0) / follower.scale
        way = way / np.linalg.norm(way)
        first = Point(_repeated(special.point, ratio), special.point.course, way)
        # A doubled solution is the same from either side; branches that cross have two.
        for side in (1.0, -1.0) if special.kind == "branching" else (1.0,):
            ended = _Ends(self, follower, special, ratio)
            branch = follower.follow(first, side * way, ended.met)
            if len(branch.points) < 3 or not self._proper(branch.points[2]):
                continue
            if any(lies_on(follower, branch.points[2], other) for other in self.branches):
                continue
            branch.ends = ("joined", branch.ends[1])
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
                self.from_seed(state, float(value), int(ratio))

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
        return len(self.branches) >= MOST_BRANCHES

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


def _repeated(point: Point, ratio: int) -> Pass:
    """The pass of a point taken as one of a multiple of its period: its map is a power."""
    made = point.made
    matrix = np.linalg.matrix_power(made.matrix, ratio // made.ratio)
    return made._replace(ratio=ratio, half=made.start, matrix=matrix)


class _Home:
    """Tells when a branch comes round to where it began."""

    def __init__(self, follower: Follower, point: Point) -> None:
        self.follower, self.point, self.count = follower, point, 0
        self.place = follower.place(point.made)

    def met(self, before: Point, after: Point) -> Point | None:
        self.count += 1
        if self.count < 5:
            return None
        a, b = self.follower.place(before.made), self.follower.place(after.made)
        return self.point if _distance(self.place, a, b) < 0.2 * np.linalg.norm(b - a) else None


class _Ends:
    """Tells when a branch that began at a special point comes to the branch that it came from."""

    def __init__(self, search: Search, follower: Follower, special: Special, ratio: int) -> None:
        self.follower, self.special, self.count = follower, special, 0
        self.doubled = special.kind == "flip"
        self.others = [
            s.point
            for branch in search.branches
            for s in branch.specials
            if s.kind == special.kind and s.point.made.ratio == special.point.made.ratio
        ]

    def met(self, before: Point, after: Point) -> Point | None:
        self.count += 1
        if self.count < 3:
            return None
        if self.doubled:
            gaps = [(p.made.half - p.made.start) / self.follower.scale[:2] for p in (before, after)]
            if float(gaps[0] @ gaps[1]) >= 0.0:
                return None
            return self._nearest(after)
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
                made = _repeated(nearest, after.made.ratio)
                return Point(made, nearest.course, after.way)
        return after


def _distance(point: Floats, a: Floats, b: Floats) -> float:
    """Distance of a place from the straight line between two others."""
    along = b - a
    part = float(np.clip((point - a) @ along / max(float(along @ along), 1e-300), 0.0, 1.0))
    return float(np.linalg.norm(point - a - part * along))


def _eigenvector(matrix: Floats, eigenvalue: float) -> Floats:
    values, vectors = np.linalg.eig(matrix)
    vector = np.real(vectors[:, int(np.argmin(np.abs(values - eigenvalue)))])
    return np.asarray(vector / np.linalg.norm(vector))


def lies_on(follower: Follower, point: Point, branch: Branch) -> bool:
    """Whether a solution, from whichever of its waves, is one of a branch."""
    if branch.ratio != point.made.ratio or len(branch.points) < 2:
        return False
    starts = [point.made.start]
    for _ in range(point.made.ratio - 1):
        starts.append(shoot(follower.family, starts[-1], point.value, 1).end)
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


def from_rest(case: Case, key: str, value: float) -> Iterable[Floats]:
    """States at phase 0 of solutions at `value` of the key that calm water grows into.

    Each heel of rest but the outermost crests is followed while the wave grows to its height and
    somewhat beyond; where the way comes back through folds, it passes the height more than once.
    """
    family = Family(case, key)
    height = value if key == WAVE_HEIGHT else family.sea(value).waves.height  # type: ignore[union-attr]
    if key != WAVE_HEIGHT:
        storm = replace(case.storm, sea=family.sea(value))
        case = replace(case, storm=storm)
    grown = Family(case, WAVE_HEIGHT)
    follower = Follower(grown, Range(0.0, OVERSHOOT * height, HOMOTOPY_STEP), case.limits.capsize)
    for heel in _heels(case):
        first = follower.at_value(np.array([heel, 0.0]), 0.0)
        if first is None or not follower.good(first):
            continue
        upward = first.way if first.way[2] > 0.0 else -first.way
        branch = follower.follow(replace(first, way=upward), upward)
        for a, b in pairwise(branch.points):
            if (a.value - height) * (b.value - height) <= 0.0 < abs(a.value - b.value):
                part = (height - a.value) / (b.value - a.value)
                yield (1.0 - part) * a.made.start + part * b.made.start


def _heels(case: Case) -> list[float]:
    """Heels of rest [rad] within the capsize angle: stable ones, and the crests between them."""
    at = [e for e in equilibria(resting_curve(case)) if abs(e.heel) < case.limits.capsize]
    stable = [e.heel for e in at if e.kind == "stable"]
    if not stable:
        return []
    return [e.heel for e in at if min(stable) <= e.heel <= max(stable)]


def free_period(case: Case) -> float:
    """Period [s] of small free rolls about the first stable heel; infinite where none."""
    curve = resting_curve(case)
    stable = [h for h in _heels(case) if float(curve.slope(h)) > 0.0]
    if not stable:
        return math.inf
    return math.tau * math.sqrt(case.coefficients.inertia / float(curve.slope(stable[0])))
