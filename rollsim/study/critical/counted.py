"""Where storms are random: the value at which an event has a set probability, by counting.

All values are tried in the same storms, the first n of the study, so that the counts at two
neighbouring values are nearly one count: many values tried do not make the root surer, storms do.
Its limits are therefore those of a single count, turned round: all values x at which k(x) events in
n storms do not exclude the probability p, that is, at which p lies within the exact binomial limits
of k(x) (C. J. Clopper and E. S. Pearson, Biometrika 26, 1934; a confidence set by inversion of a
test, G. Casella and R. L. Berger, "Statistical Inference", 2nd ed., Duxbury 2002, theorem 9.2.2).
At the true value the count is binomial with just this p, whatever the curve, so the limits cover it
in at least 95 % of all samples of storms. Where each storm has one value of its own beyond which
the event happens, they are the distribution-free limits of a quantile of these values.

The search is for three values: those at which the count of so many storms is n p, and at which it
just excludes p from either side; each is read off between two values tried. What is tried next is
proposed by a straight line through the probits of all counts; no limit rests on that line.
"""

from __future__ import annotations

import math
from contextlib import suppress
from itertools import count

import numpy as np
from scipy.special import ndtr, ndtri
from scipy.stats import binom

from rollsim.map_names import Search
from rollsim.measures.probability import clopper_pearson
from rollsim.study.critical.trials import (
    Answer,
    Passing,
    SpentError,
    Trial,
    Trials,
    passings,
)

BLOCK = 64
"""Storms are taken by whole blocks of the engine."""
SCAN = 16
"""Even parts of the range whose ends are tried first, to see where the answer lies."""
PILOT_EVENTS = 10.0
"""Events to expect of the scan at the root; half as many on the rarer side tell little."""
SURE, LEVEL = 0.99, 0.95
"""Confidence of a side in the scan, and of the limits."""
MORE = 4
"""By how much the storms of an end grow that lies too near to the probability."""
STAGE = 4
"""Values that a stage takes, roughly, to foresee what it costs."""
LEAST_GROWTH, MOST_GROWTH, ROOM = 1.2, 8.0, 0.9
"""Growth of the storms from stage to stage, and the share of the tolerance that is aimed at."""
ATTEMPTS = 3
"""Values that are proposed by counts for a root or a limit; then intervals are halved."""
BEYOND, CLOSE = 0.1, 1.4
"""Shares of the way from the probability to the count that excludes it: what a limit is tried
beyond it, and how close together two counts lie between which it is read off."""
NEAR = 0.5
"""Probits within which counts tell where the root lies."""


def counted_root(trials: Trials) -> Answer:
    """The first value from `first` towards `last` at which the probability is passed."""
    ask = trials.question
    p, changes = ask.probability, []
    assert p is not None
    try:
        sides = scanned(trials, p)
        changes = passings(sides)
        if not changes:
            return Answer(_why_none(trials, sides), trials.in_order())
    except SpentError:
        return Answer(Search.UNDECIDED, trials.in_order())
    root = _Root(trials, p, changes[0])
    with suppress(SpentError):
        root.narrow()
    lower, value, upper = root.limits
    return Answer(
        Search.FOUND if value == value else root.ending,
        trials.in_order(),
        value,
        lower,
        upper,
        rising=root.rise > 0,
        others=trials.between(changes[1:]),
    )


def side(trial: Trial, p: float, level: float = LEVEL) -> int:
    """-1 where the count excludes `p` from below, 1 from above, 0 where it leaves it open."""
    lower, upper = clopper_pearson(trial.events, trial.solved, level)
    return int(lower > p) - int(upper < p)


def blocks(storms: float) -> int:
    """Whole blocks that hold so many storms."""
    return BLOCK * max(1, math.ceil(storms / BLOCK - 1e-9))


def pilot(p: float, most: int) -> int:
    """Storms of the scan where a value lies near the root; less where that would take it all."""
    wanted = PILOT_EVENTS / min(p, 1.0 - p)
    return blocks(min(wanted, most / (2.0 * SCAN)))


def scanned(trials: Trials, p: float) -> dict[int, int]:
    """The sides of the ends of SCAN even parts: a block of storms each, more where that is open."""
    ask = trials.question
    ends = range(0, trials.cells + 1, trials.cells // SCAN)
    most = pilot(p, ask.most)
    sides = dict.fromkeys(ends, 0)
    for storms in dict.fromkeys((BLOCK, most)):
        for index in [index for index in ends if not sides[index]]:
            sides[index] = side(trials.at(index, storms), p, SURE)
    for index in (0, trials.cells):
        storms = MORE * most
        while not sides[index] and trials.tried[index].solved and storms * STAGE <= ask.most:
            sides[index] = side(trials.at(index, storms), p, SURE)
            storms *= MORE
    return sides


def _why_none(trials: Trials, sides: dict[int, int]) -> Search:
    ends = [trials.tried[index] for index in (0, trials.cells)]
    if any(trial.solved == 0 for trial in ends):
        return Search.NOT_SOLVED
    return Search.NOT_PASSED if sides[0] and sides[trials.cells] else Search.UNDECIDED


def excluded(p: float, storms: int) -> tuple[float, float]:
    """The shares of events in so many storms below and above which a count excludes `p`.

    Its exact 95 % limits leave `p` out there. Half an event from a count; outside 0 to 1 where
    none excludes it.
    """
    tail = 0.5 * (1.0 - LEVEL)
    below, above = binom.ppf(tail, storms, p) - 0.5, binom.isf(tail, storms, p) + 0.5
    return float(below) / storms, float(above) / storms


class _Root:
    """The root between two values of the scan; its limits, with ever more storms.

    `limits`: lower, value, upper; NaN where one does not lie between `low` and `high` on the grid.
    `ending` is how the search ends without a value.
    """

    def __init__(self, trials: Trials, p: float, here: Passing) -> None:
        self.trials, self.p, self.here = trials, p, here
        self.rise = side(trials.tried[here.after], p)
        part = trials.cells // SCAN
        self.low = max(0, here.before - part)
        self.high = min(trials.cells, here.after + part)
        self.limits = (math.nan, math.nan, math.nan)
        self.ending = Search.UNDECIDED

    def narrow(self) -> None:
        """Take more storms until half the interval is within the tolerance; SpentError before."""
        ask = self.trials.question
        storms = pilot(self.p, ask.most)
        while True:
            half = self._stage(storms)
            if half <= ask.tolerance:
                return
            growth = (half / (ROOM * ask.tolerance)) ** 2 if half == half else MOST_GROWTH
            room = (ask.most - self.trials.spent) // STAGE
            more = min(storms * min(growth, MOST_GROWTH), room)
            if more < LEAST_GROWTH * storms:
                raise SpentError
            storms = blocks(more)

    def _stage(self, storms: int) -> float:
        """Try values in so many storms until they tell root and limits; half the interval."""
        solved = self._try(self._proposed(self.p, storms), storms).solved
        before, after = excluded(self.p, solved)[:: self.rise]
        shares = before, self.p, after
        close = CLOSE * min(self.p - min(shares), max(shares) - self.p)
        try:
            for edge in (before, after):
                self._try(self._proposed(edge + BEYOND * (edge - self.p), storms), storms)
            for share in shares:
                self._approach(share, storms, close)
        finally:
            lower, value, upper = (
                self._read(share, storms, outward)
                for share, outward in zip(shares, (-1, 0, 1), strict=True)
            )
            half = 0.5 * (upper - lower)
            if not math.isnan(half + value) or math.isnan(self.limits[1]):
                self.limits = lower, value, upper
        return half

    def _approach(self, share: float, storms: int, close: float) -> None:
        """Try values until two on either side of `share` lie as `close` to each other by theirs.

        Or side by side on the grid, or until the reach of the root is left.
        """
        for attempt in count():
            before, after = self._neighbours(share, storms)
            low = self.low - 1 if before is None else before
            high = self.high + 1 if after is None else after
            if before is not None and after is not None:
                one, other = self.trials.tried[before], self.trials.tried[after]
                if abs(other.share - one.share) <= close:
                    return
            # Without a neighbour on one side the end of the reach comes last.
            if high - low < 2 or before == self.high or after == self.low:
                return
            index = self._proposed(share, storms) if attempt < ATTEMPTS else (low + high) // 2
            self._try(min(max(index, low + 1), high - 1), storms)

    def _read(self, share: float, storms: int, outward: int) -> float:
        """Where the share of events in these storms passes `share`, by the probits beside it.

        Between neighbours on the grid a limit is the outer of them: what lies within is not known.
        """
        before, after = self._neighbours(share, storms)
        if before is None or after is None:
            return math.nan
        one, other = self.trials.tried[before], self.trials.tried[after]
        if outward and after - before == 1:
            return one.value if outward < 0 else other.value
        part = (float(ndtri(share)) - one.probit) / (other.probit - one.probit)
        return one.value + min(max(part, 0.0), 1.0) * (other.value - one.value)

    def _try(self, index: int, storms: int) -> Trial:
        trial = self.trials.at(index, storms)
        if not trial.solved:
            self.ending = Search.NOT_SOLVED
            raise SpentError
        return trial

    def _known(self, index: int, storms: int) -> Trial | None:
        """The trial at a number of the grid, if it counts in so many storms."""
        trial = self.trials.tried.get(index)
        return trial if trial is not None and trial.runs >= storms and trial.solved else None

    def _neighbours(self, share: float, storms: int) -> tuple[int | None, int | None]:
        """The last tried value before the first passing of `share`, and the first after it."""
        before = None
        for index in sorted(self.trials.tried):
            trial = self._known(index, storms) if self.low <= index <= self.high else None
            if trial is None:
                continue
            if self.rise * (trial.share - share) >= 0.0:
                return before, index
            before = index
        return before, None

    def _proposed(self, share: float, storms: int) -> int:
        """Where the share of events in so many storms is likely `share`.

        Between its neighbours in these storms; from one of them by the slope of all counts, for
        other samples of storms lie a little beside these; by all counts at first.
        """
        goal = float(ndtri(min(max(share, 0.5 / storms), 1.0 - 0.5 / storms)))
        near = [index for index in self._neighbours(share, storms) if index is not None]
        probits = [self.trials.tried[index].probit for index in near]
        at, slope = self._line(goal)
        if len(near) == 2:
            slope = (probits[1] - probits[0]) / (near[1] - near[0])
        if near:
            at = near[0] + (goal - probits[0]) / slope
        return round(min(max(at, self.low), self.high))

    def _line(self, goal: float) -> tuple[float, float]:
        """Where the probits of all counts come to `goal` by a straight line about it; its slope."""
        tried = [i for i in sorted(self.trials.tried) if self.low <= i <= self.high]
        index = np.array(tried, dtype=float)
        probit = np.array([self.trials.tried[i].probit for i in tried])
        solved = np.array([self.trials.tried[i].solved for i in tried], dtype=float)
        # The weight of a probit from a binomial count, and less the farther it is from the goal.
        share = ndtr(probit)
        weight = solved * np.exp(-(probit**2)) / (share * (1.0 - share))
        weight /= (1.0 + ((probit - goal) / NEAR) ** 2) ** 2
        weight /= weight.sum()
        middle, level = float(weight @ index), float(weight @ probit)
        spread = float(weight @ (index - middle) ** 2)
        slope = float(weight @ ((index - middle) * (probit - level))) / max(spread, 1e-300)
        if slope * self.rise <= 0.0:
            one, other = (tried.index(end) for end in self.here)
            slope = float((probit[other] - probit[one]) / (index[other] - index[one]))
        return middle + (goal - level) / slope, slope
