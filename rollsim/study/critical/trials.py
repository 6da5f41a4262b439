"""What a search asks, the values that it has tried, and what it answers."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from itertools import pairwise
from typing import NamedTuple

from scipy.special import ndtri

from rollsim.map_names import Search

FINE = 16
"""Values within a tolerance: those that are tried lie on a grid, so that trials meet again."""
LEAST_CELLS = 64

Counter = Callable[[float, int, int], tuple[int, int]]
"""count(value, first, last): events and solved runs among the storms first to last - 1."""


@dataclass(frozen=True)
class Question:
    """What is searched for from `first` to `last`: `probability` None where nothing is random.

    `tolerance` is half the interval wanted, in the unit of the key; `most` the runs allowed.
    """

    first: float
    last: float
    probability: float | None
    tolerance: float
    most: int


class Trial(NamedTuple):
    """A value that was tried in the first `runs` storms; unsolved runs are no outcome."""

    value: float
    runs: int
    events: int
    solved: int

    @property
    def share(self) -> float:
        """Events ÷ solved runs."""
        return self.events / self.solved

    @property
    def probit(self) -> float:
        """The normal quantile of the share, finite also where nothing or everything happened."""
        return float(ndtri((self.events + 0.5) / (self.solved + 1.0)))


class Passing(NamedTuple):
    """Two values between which the answer is passed: the last before it and the first after."""

    before: int
    after: int


@dataclass(frozen=True)
class Answer:
    """What a search came to; NaN where it has none.

    `rising`: the event becomes more likely. `others` are further passings, each between two values.
    """

    search: Search
    trials: tuple[Trial, ...]
    value: float = math.nan
    lower: float = math.nan
    upper: float = math.nan
    rising: bool = True
    others: tuple[tuple[float, float], ...] = ()

    @property
    def half(self) -> float:
        """Half the interval; NaN where a limit is missing."""
        return 0.5 * (self.upper - self.lower)


class SpentError(Exception):
    """The runs allowed do not suffice for the next trial."""


class Trials:
    """The values tried, by their number on a grid from `first` (0) to `last` (`cells`)."""

    def __init__(self, question: Question, count: Counter) -> None:
        self.question, self._count = question, count
        spread = question.last - question.first
        cells = max(LEAST_CELLS, FINE * spread / question.tolerance)
        self.cells = 1 << math.ceil(math.log2(cells) - 1e-9)
        self.spent = 0
        self.tried: dict[int, Trial] = {}

    def value(self, index: int) -> float:
        """The value at a number of the grid, without the noise of the 13th digit."""
        ask = self.question
        inner = ask.first + (ask.last - ask.first) * (index / self.cells)
        return ask.last if index == self.cells else float(f"{inner:.12g}")

    def at(self, index: int, storms: int) -> Trial:
        """The trial at a number of the grid in at least so many storms; SpentError beyond most."""
        trial = self.tried.get(index) or Trial(self.value(index), 0, 0, 0)
        if trial.runs < storms:
            if self.spent + storms - trial.runs > self.question.most:
                raise SpentError
            events, solved = self._count(trial.value, trial.runs, storms)
            self.spent += storms - trial.runs
            trial = Trial(trial.value, storms, trial.events + events, trial.solved + solved)
            self.tried[index] = trial
        return trial

    def in_order(self) -> tuple[Trial, ...]:
        """All trials in the order of their values."""
        return tuple(self.tried[index] for index in sorted(self.tried))

    def between(self, passings: Iterable[Passing]) -> tuple[tuple[float, float], ...]:
        """Passings by their values."""
        return tuple((self.value(each.before), self.value(each.after)) for each in passings)


def passings(sides: dict[int, int]) -> list[Passing]:
    """Where the side (-1 below, 1 above, 0 not known) changes, from one known side to the other."""
    known = [(index, side) for index, side in sorted(sides.items()) if side]
    return [Passing(a, b) for (a, one), (b, other) in pairwise(known) if one != other]
