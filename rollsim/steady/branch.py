"""What a branch of steady responses is: its points, what happens between them, how it ends."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from rollsim.map_names import BranchEnd, FoundBy
from rollsim.steady.orbit import Course, Pass

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Point:
    """A periodic solution: the pass over its period, what it shows, and the branch's direction."""

    made: Pass
    course: Course
    way: Floats

    @property
    def value(self) -> float:
        """Of the key."""
        return self.made.value

    @property
    def multipliers(self) -> NDArray[np.complex128]:
        """Eigenvalues of the map over the response's period."""
        values = np.linalg.eigvals(self.made.matrix).astype(np.complex128)
        return np.asarray(values[np.argsort(-np.abs(values), kind="stable")])

    @property
    def stable(self) -> bool:
        """Whether every multiplier lies within the unit circle."""
        return bool(np.all(np.abs(self.multipliers) < 1.0))


class Special(NamedTuple):
    """A point at which something happens: "fold", "flip" or "branching"."""

    kind: str
    point: Point


@dataclass(eq=False)
class Branch:
    """Points in order, what happens between them, why it goes no further at either end, from where
    it was met, and whether it is an island: no branch from calm water leads to it."""

    ratio: int
    points: list[Point] = field(default_factory=list)
    specials: list[Special] = field(default_factory=list)
    ends: tuple[BranchEnd, BranchEnd] = (BranchEnd.NO_BRANCH, BranchEnd.NO_BRANCH)
    found_by: FoundBy = FoundBy.CALM_WATER
    island: bool = False

    def reversed(self) -> Branch:
        """The same, from its other end."""
        points = [replace(p, way=-p.way) for p in self.points[::-1]]
        return Branch(self.ratio, points, self.specials[::-1], self.ends[::-1])
