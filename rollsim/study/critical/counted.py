"""Where storms are random: the value at which an event has a set probability, by counting.

First a scan over the range, to see on which side of the probability its parts lie; then the root.
"""

from __future__ import annotations

from contextlib import suppress

from rollsim.map_names import Search
from rollsim.study.critical.counts import BLOCK, SCAN, pilot, side
from rollsim.study.critical.root import STAGE, Root
from rollsim.study.critical.trials import Answer, SpentError, Trials, passings

SURE = 0.99
"""Confidence of a side in the scan."""
MORE = 4
"""By how much the storms of an end grow that lies too near to the probability."""


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
    root = Root(trials, p, changes[0])
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
