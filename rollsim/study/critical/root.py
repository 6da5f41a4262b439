"""The value at which an event has a set probability, with the limits that counting leaves.

All values are tried in the same storms, the first n of the study, so that the counts at two
neighbouring values are nearly one count: many values tried do not make the root surer, storms do.
Its limits are therefore those of a single count, turned round: all values x at which k(x) events in
n storms do not exclude the probability p, that is, at which p lies within the exact binomial limits
of k(x) (C. J. Clopper and E. S. Pearson, Biometrika 26, 1934; a confidence set by inversion of a
test, G. Casella and R. L. Berger, "Statistical Inference", 2nd ed., Duxbury 2002, section 9.2).
At the true value the count is binomial with just this p, whatever the curve, so the limits cover it
in at least 95 % of all samples of storms. Where each storm has one value of its own beyond which
the event happens, they are the distribution-free limits of a quantile of these values.

The search is for three values: those at which the count of so many storms is n p, and at which it
just excludes p from either side; each is read off between two values tried. What is tried next is
proposed by a straight line through the probits of all counts; no limit rests on that line.
"""

from __future__ import annotations

import math
from itertools import count

import numpy as np
from scipy.special import ndtr, ndtri

from rollsim.map_names import Search
from rollsim.study.critical.counts import BLOCK, SCAN, blocks, excluded, pilot, side
from rollsim.study.critical.trials import Passing, SpentError, Trial, Trials

STAGE = 4
"""Values that a stage takes, roughly, to foresee what it costs."""
LEAST_GROWTH, AGAIN, MOST_GROWTH = 1.05, 2.0, 8.0
"""Growth of the storms from stage to stage; up to AGAIN the values in use are tried again."""
ROOM = 0.9
"""Share of the tolerance that is aimed at."""
ATTEMPTS = 3
"""Values that are proposed by counts for a root or a limit; then intervals are halved."""
BEYOND, CLOSE = 0.1, 1.4
"""Shares of the way from the probability to the count that excludes it: what a limit is tried
beyond it, and how close together two counts lie between which it is read off."""
NEAR = 0.5
"""Probits within which counts tell where the root lies."""


class Root:
    """The root between two values of the scan; its limits, with ever more storms.

    `limits`: lower, value, upper; NaN where one does not lie between `low` and `high` on the grid.
    `shares` of events were read off for them; `ending` is how the search ends without a value.
    """

    def __init__(self, trials: Trials, p: float, here: Passing) -> None:
        self.trials, self.p, self.here = trials, p, here
        self.rise = side(trials.tried[here.after], p)
        part = trials.cells // SCAN
        self.low = max(0, here.before - part)
        self.high = min(trials.cells, here.after + part)
        self.limits = self.shares = (math.nan, math.nan, math.nan)
        self.ending = Search.UNDECIDED

    def narrow(self) -> None:
        """Take more storms until half the interval is within the tolerance; SpentError before."""
        ask = self.trials.question
        storms, again = pilot(self.p, ask.most), list[int]()
        while True:
            half = self._stage(storms, again)
            if half <= ask.tolerance:
                return
            growth = (half / (ROOM * ask.tolerance)) ** 2 if half == half else MOST_GROWTH
            storms, again = self._grown(storms, min(growth, MOST_GROWTH))

    def _grown(self, storms: int, growth: float) -> tuple[int, list[int]]:
        """More storms, and the values to try again in them: where there are few more, all in use.

        New values start from nothing; SpentError where the runs left do not suffice.
        """
        left = self.trials.question.most - self.trials.spent
        beside = (self._neighbours(share, storms) for share in self.shares)
        used = sorted({index for pair in beside for index in pair if index is not None})
        longer = (left + storms * len(used)) / (len(used) + 1.0)  # room for one new value besides
        if min(growth * storms, left / STAGE) > AGAIN * storms:
            return blocks(min(growth * storms, left / STAGE)), []
        more = min(blocks(growth * storms), BLOCK * int(min(longer, AGAIN * storms) // BLOCK))
        if more < LEAST_GROWTH * storms:
            raise SpentError
        return more, used

    def _stage(self, storms: int, again: list[int]) -> float:
        """Try values in so many storms until they tell root and limits; half the interval."""
        first = again or [self._proposed(self.p, storms)]
        solved = min(self._try(index, storms).solved for index in first)
        before, after = excluded(self.p, solved)[:: self.rise]
        self.shares = before, self.p, after
        close = CLOSE * min(self.p - min(self.shares), max(self.shares) - self.p)
        try:
            for edge in () if again else (before, after):
                self._try(self._proposed(edge + BEYOND * (edge - self.p), storms), storms)
            for share in self.shares:
                self._approach(share, storms, close)
        finally:
            lower, value, upper = (
                self._read(share, storms, outward)
                for share, outward in zip(self.shares, (-1, 0, 1), strict=True)
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
