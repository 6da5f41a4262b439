"""Where nothing is random: the value at which an event first happens, by bisection."""

from __future__ import annotations

from rollsim.map_names import Search
from rollsim.study.critical.trials import (
    Answer,
    Passing,
    SpentError,
    Trial,
    Trials,
    passings,
)

SCAN = 32
"""Even parts of the range whose ends are tried first; what happens within one only is not seen."""
AROUND = 4
"""Values to either side of a middle that are tried where its run is not solved."""


def first_happening(trials: Trials) -> Answer:
    """The first value from `first` towards `last` at which it is otherwise than before.

    The limits are the last value before and the first after, a cell of the grid apart; the value
    is their middle.
    """
    changes: list[Passing] = []
    try:
        sides = {i: side(trials.at(i, 1)) for i in range(0, trials.cells + 1, trials.cells // SCAN)}
        changes = passings(sides)
        if not changes:
            unsolved = sides[0] == 0 or sides[trials.cells] == 0
            ending = Search.NOT_SOLVED if unsolved else Search.NOT_PASSED
            return Answer(ending, trials.in_order())
        _halve(trials, changes[0])
    except SpentError:
        if not changes:
            return Answer(Search.UNDECIDED, trials.in_order())
    here = _closest(trials, changes[0])
    lower, upper = trials.value(here.before), trials.value(here.after)
    return Answer(
        Search.FOUND,
        trials.in_order(),
        0.5 * (lower + upper),
        lower,
        upper,
        rising=side(trials.tried[here.after]) > 0,
        others=trials.between(changes[1:]),
    )


def side(trial: Trial) -> int:
    """1 where the event happened, -1 where not, 0 where the run was not solved."""
    return (1 if trial.events else -1) if trial.solved else 0


def _closest(trials: Trials, change: Passing) -> Passing:
    """The first change of side among all values tried between two."""
    within = {i: side(t) for i, t in trials.tried.items() if change.before <= i <= change.after}
    return passings(within)[0]


def _halve(trials: Trials, change: Passing) -> None:
    """Try middles until neighbours on the grid differ, or no run between them can be solved."""
    while change.after - change.before > 1:
        middle = (change.before + change.after) // 2
        low, high = max(change.before + 1, middle - AROUND), min(change.after, middle + AROUND)
        near = sorted(range(low, high), key=lambda index: abs(index - middle))
        if all(side(trials.at(index, 1)) == 0 for index in near):
            return
        change = _closest(trials, change)
